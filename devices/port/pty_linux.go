package port

import "golang.org/x/sys/unix"

// ptyDevice tells a pseudo-terminal by its device number, for one that stands
// under another name. Numbers from Linux's list of device numbers: 136 to 143
// for the usual kind, 3 for the old.
func ptyDevice(resolved string) bool {
	var st unix.Stat_t
	if err := unix.Stat(resolved, &st); err != nil || st.Mode&unix.S_IFMT != unix.S_IFCHR {
		return false
	}
	major := unix.Major(uint64(st.Rdev))
	return major == 3 || major >= 136 && major <= 143
}
