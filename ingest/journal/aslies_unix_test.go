//go:build unix

package journal

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
)

// looks reads a journal once, and once more behind a line of its input, and says
// what came of it.
func looks(path string) int {
	r, err := OpenReader(path)
	if err != nil {
		fmt.Printf("refused, read-only %v: %v\n", errors.Is(err, ErrReadOnly), err)
		return 0
	}
	defer r.Close()
	again := bufio.NewReader(os.Stdin)
	for {
		n := 0
		err := r.Read(context.Background(), "", 0, func(Stored) error { n++; return nil })
		if err == nil {
			err = r.Verify(context.Background(), nil)
		}
		fmt.Printf("as it lies %v, %d facts, %v, busy %v\n", r.AsItLies(), n, err, errors.Is(err, ErrBusy))
		if _, err := again.ReadString('\n'); err != nil {
			return 0
		}
	}
}

// looking is another program that looks at a journal, as a user who may not write
// beside it.
type looking struct {
	t   *testing.T
	in  io.WriteCloser
	out *bufio.Reader
	end func()
}

// barred makes a folder that the program which looks may not write in, with that
// program beside it.
func barred(t *testing.T) (folder, program string) {
	t.Helper()
	top := t.TempDir()
	for _, open := range []string{top, filepath.Dir(top)} { // for another user to come by
		if err := os.Chmod(open, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	folder, program = filepath.Join(top, "journals"), filepath.Join(top, "looks")
	b, err := os.ReadFile(os.Args[0])
	if err == nil {
		err = errors.Join(os.WriteFile(program, b, 0o755), os.Mkdir(folder, 0o755))
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.Chmod(folder, 0o755) })
	return folder, program
}

func look(t *testing.T, program, path string) *looking {
	t.Helper()
	cmd := exec.Command(program, "-test.run=^$")
	cmd.Env = append(os.Environ(), victimEnv+"="+path, victimDoEnv+"=look")
	if os.Geteuid() == 0 { // who may write everywhere
		const nobody = 65534
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
		cmd.Dir = "/"
	}
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		if errors.Is(err, syscall.EPERM) {
			t.Skipf("this user may write everywhere and may not become another: run this test as another user (%v)", err)
		}
		t.Fatal(err)
	}
	l := &looking{t, in, bufio.NewReader(out), sync.OnceFunc(func() { _ = in.Close(); _ = cmd.Wait() })}
	t.Cleanup(l.end)
	return l
}

func (l *looking) wants(words ...string) {
	l.t.Helper()
	line, err := l.out.ReadString('\n')
	for _, w := range words {
		if err != nil || !strings.Contains(line, w) {
			l.t.Errorf("%q, %v\nwant %q", line, err, w)
		}
	}
}

func (l *looking) again() {
	l.t.Helper()
	if _, err := io.WriteString(l.in, "\n"); err != nil {
		l.t.Fatal(err)
	}
}

// A copied journal in a folder that this user may not write is read as it lies,
// until a bench writes in it; with newer facts beside it, it is refused in words.
func TestReadAsItLies(t *testing.T) {
	content, _ := sample(t, 300)
	folder, program := barred(t)
	path := filepath.Join(folder, "copy.journal")
	beside := func(name string, b []byte) {
		t.Helper()
		if err := os.Chmod(folder, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path+name, b, 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(folder, 0o555); err != nil {
			t.Fatal(err)
		}
	}
	beside("", content)
	before := folderOf(t, folder)
	l := look(t, program, path)
	l.wants("as it lies true, 300 facts, <nil>, busy false")
	l.again()
	l.wants("as it lies true, 300 facts, <nil>, busy false")
	if len(folderOf(t, folder)) != len(before) {
		t.Error("something was written beside it")
	}
	if err := os.Chmod(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	j, err := Open(path, options())
	if err != nil {
		t.Fatal(err)
	}
	put(t, j, press(1, "meanwhile"))
	if err := os.Chmod(folder, 0o555); err != nil {
		t.Fatal(err)
	}
	l.again()
	l.wants("a bench began to write in it while it was read as it lay", "busy true")
	l.end()
	l = look(t, program, path) // beside the bench
	l.wants("as it lies false, 301 facts, <nil>, busy false")
	l.end()
	log := read(t, path+"-wal")
	if err := os.Chmod(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(j.Close(), os.Chmod(folder, 0o555)); err != nil {
		t.Fatal(err)
	}
	look(t, program, path).wants("as it lies true, 301 facts, <nil>, busy false")
	beside("", content)
	beside("-wal", log)
	look(t, program, path).wants("refused, read-only true", "its newest facts lie in copy.journal-wal beside it", "copy it by shimwright backup")
	beside("-wal", nil)
	look(t, program, path).wants("as it lies true, 300 facts, <nil>, busy false")
}
