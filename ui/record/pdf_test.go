package record

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// The same job gives the same bytes, twice made from its facts.
func TestPDFIsTheSameEachTime(t *testing.T) {
	for name, make := range jobs() {
		c := make(t)
		var made [2][2][]byte
		for i := range made {
			r := recordOf(t, c)
			var err error
			if made[i][0], err = r.PDF(); err != nil {
				t.Fatal(err)
			}
			if made[i][1], err = r.LabelPDF(); err != nil {
				t.Fatal(err)
			}
		}
		if !bytes.Equal(made[0][0], made[1][0]) || !bytes.Equal(made[0][1], made[1][1]) {
			t.Errorf("%s: the same job gives other bytes", name)
		}
		if dir := os.Getenv("RECORD_PDFS"); dir != "" { // to be looked at
			for i, kind := range []string{"", "-label"} {
				if err := os.WriteFile(filepath.Join(dir, name+kind+".pdf"), made[0][i], 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}
