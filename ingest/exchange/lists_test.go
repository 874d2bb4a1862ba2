package exchange_test

import (
	"strings"
	"testing"

	"shimwright/ingest/exchange"
	"shimwright/ingest/register"
)

func TestReadPieces(t *testing.T) {
	got, err := exchange.ReadPieces([]byte("\ufeffSize;Piece;k;uncertainty;due\r\n75.0010 mm;S-32;2;0.0012 mm;2099-01-13\r\n\"2.9528 in\";'=S-40;;;\r\n"))
	if err != nil || len(got) != 2 {
		t.Fatal(got, err)
	}
	if p := got[0]; p.ID != "S-32" || p.Fact.Size.String() != "75.0010 mm" || p.Fact.Uncertainty.String() != "0.0012 mm" || p.Fact.K.String() != "2" || p.Fact.Certificate.Due.String() != "2099-01-13" {
		t.Errorf("%+v", p)
	}
	if p := got[1]; p.ID != "=S-40" || p.Fact.Size.String() != "2.9528 in" || p.Fact.Uncertainty != nil {
		t.Errorf("%+v", p)
	}
}

func TestRefusedPieces(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"empty":            {"", "it is empty: the first line names the columns: piece, size"},
		"head alone":       {"piece,size\n", "it lists nothing"},
		"no size":          {"piece,role\nS-1,post\n", "there is no column size"},
		"strange column":   {"piece,size,colour\n", `"colour" is no column of it`},
		"twice a column":   {"piece,size,size\n", "two columns called size"},
		"no unit":          {"piece,size\nS-1,75.001\n", `line 2: the size: "75.001" has no unit`},
		"decimal comma":    {"piece;size\nS-1;75,001 mm\n", "line 2: the size: "},
		"no length":        {"piece,size\nS-1,3 N\n", "line 2: the certified size is 3 N: write a length"},
		"nought":           {"piece,size\nS-1,0 mm\n", "write a length above nought"},
		"no k":             {"piece,size,uncertainty\nS-1,75 mm,0.001 mm\n", "go together"},
		"k with a unit":    {"piece,size,uncertainty,k\nS-1,75 mm,0.001 mm,2 mm\n", "line 2: k: "},
		"no day":           {"piece,size,dated\nS-1,75 mm,1.2.2026\n", `line 2: dated: "1.2.2026" is no date`},
		"due before dated": {"piece,size,dated,due\nS-1,75 mm,2026-02-02,2026-02-01\n", "before it was written"},
		"twice a piece":    {"piece,size\nS-1,75 mm\nS-1,75 mm\n", "line 3: piece S-1 stands in line 2 already"},
		"hidden":           {"piece,size\nS-\u202e1,75 mm\n", "characters that do not print"},
		"long":             {"piece,size\n" + strings.Repeat("x", 401) + ",75 mm\n", "401 bytes, and at most 400"},
		"cells":            {"piece,size\nS-1,75 mm,3\n", "line 2: it has another number of cells"},
		"quotes":           {"piece,size\n\"S-1,75 mm\n", "it is no sound CSV"},
		"Latin 1":          {"piece,size\nS-\xe9,75 mm\n", "it is not in UTF-8"},
		"big":              {strings.Repeat("x", 1<<20+1), "more than 1024 KiB"},
		"many":             {"piece,size\n" + strings.Repeat("S,1 mm\n", 5001), "more than 5000 lines"},
	} {
		if _, err := exchange.ReadPieces([]byte(c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

func TestRefusedStock(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"no count":    {"tray,leaf,count\nshims,0.30 mm,\n", `line 2: the count is "": write a whole number`},
		"half":        {"tray,leaf,count\nshims,0.30 mm,1.5\n", "write a whole number"},
		"below":       {"tray,leaf,count\nshims,0.30 mm,-1\n", "write a whole number"},
		"too many":    {"tray,leaf,count\nshims,0.30 mm,10001\n", "write a count from 0 to 10000"},
		"no tray":     {"tray,leaf,count\n,0.30 mm,1\n", "the tray's name is empty"},
		"low":         {"tray,leaf,count,low\nshims,0.30 mm,1,few\n", `low is "few"`},
		"thick":       {"tray,leaf,count,measured\nshims,0.30 mm,1,0.3 N\n", "line 2: the thickness measured is 0.3 N"},
		"same leaves": {"tray,leaf,count\nshims,0.30 mm,1\nshims,0.300 mm,1\n", "stand in line 2 already"},
	} {
		if _, err := exchange.ReadStock([]byte(c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
	got, err := exchange.ReadStock([]byte("tray,leaf,count,low\nshims,0.30 mm,12,4\nspacers,10.00 mm,3,\nshims,0.10 mm,40,\n"))
	if err != nil || len(got) != 2 || len(got[0].Counts) != 2 || len(got[0].Lows) != 1 || got[1].Name != "spacers" {
		t.Errorf("%+v, %v", got, err)
	}
}

// Whatever comes, it is refused in words or is what the register takes.
func FuzzLists(f *testing.F) {
	f.Add([]byte("piece,size,uncertainty,k\nS-1,75.001 mm,0.001 mm,2\n"))
	f.Add([]byte("tray;leaf;count\nshims;0.30 mm;12\n"))
	f.Add([]byte("\ufeffpiece,size\n\"a\n\",1 mm"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if list, err := exchange.ReadPieces(b); err == nil {
			for _, p := range list {
				if _, err := register.New().Then(register.PieceSubject(p.ID), today(), p.Fact); err != nil {
					t.Error(err)
				}
			}
		}
		if list, err := exchange.ReadStock(b); err == nil {
			for _, tray := range list {
				if err := register.CheckHeaps(tray.Counts); err != nil {
					t.Error(err)
				}
			}
		}
	})
}
