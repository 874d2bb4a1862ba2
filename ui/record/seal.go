package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"strings"
)

// The seal of a JSON record is its last field, the SHA-256 of the whole file with
// noughts in place of the digits. It shows that a byte changed which no fact tells
// of: a blank, the version that wrote it. Whoever writes a file anew can seal it
// anew, so it proves nothing more.

const sealDigits = 2 * sha256.Size

func noSeal() string { return strings.Repeat("0", sealDigits) }

// sealed puts the digest in place of the noughts, which stand last in the text.
func sealed(text string) string {
	i := strings.LastIndex(text, noSeal())
	if i < 0 {
		return text
	}
	sum := sha256.Sum256([]byte(text))
	return text[:i] + hex.EncodeToString(sum[:]) + text[i+sealDigits:]
}

// keeps tells whether a file gives the digest that it says of itself.
func keeps(file []byte, digest string) bool {
	i := bytes.LastIndex(file, []byte(digest))
	if len(digest) != sealDigits || i < 0 {
		return false
	}
	noughts := append(append(append([]byte{}, file[:i]...), noSeal()...), file[i+sealDigits:]...)
	sum := sha256.Sum256(noughts)
	return hex.EncodeToString(sum[:]) == digest
}

// seal holds a file to its digest, and says where it is first other than this
// program writes the same record.
func (v *Verification) seal(f *File, made *Record) {
	switch {
	case f.Form < 2:
		v.Proved = append(v.Proved, "it is of form 1, which has no digest of the whole file: blanks and the version that wrote it are held to nothing")
		return
	case keeps(f.bytes, f.Digest):
		v.Proved = append(v.Proved, "the whole file gives its own digest: no byte of it was changed but by whoever wrote the digest anew")
		return
	}
	var b strings.Builder
	if made == nil || v.found > 0 || made.JSON(&b, f.Facts, f.Program) != nil {
		// where facts changed, what follows from them is written otherwise in many a line
		v.differs("the file does not give its own digest: some byte of it was changed")
		return
	}
	was, is := strings.Split(string(f.bytes), "\n"), strings.Split(b.String(), "\n")
	for i := range max(len(was), len(is)) {
		if a, b := lineAt(was, i), lineAt(is, i); a != b && !strings.Contains(b, `"sha256": "`) {
			v.differs("the file does not give its own digest: it was changed in line %d, %s, where this program writes %s", i+1, whole(shown(a, b)), whole(shown(b, a)))
			return
		}
	}
	v.differs(`the file does not give its own digest: what was changed is what nothing else tells, the digest itself or the version that wrote it ("program")`)
}

func lineAt(lines []string, i int) string {
	if i < len(lines) {
		return lines[i]
	}
	return ""
}
