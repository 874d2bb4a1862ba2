package register

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/correct"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

func post(size string) fact.Certified {
	return fact.Certified{Standard: "tall posts", Size: figure(size), Uncertainty: pointer("0.002 mm"), K: pointer("2")}
}

// A post certified anew has its new size from then on, and the old one before.
func TestPieceAsOfATime(t *testing.T) {
	first := post("75.004 mm")
	first.Certificate = fact.Certificate{Number: "C-1", Dated: day3(1), Due: day3(9)}
	r := then(t, New(), "piece/S-31", at(1, 8), first)
	r2 := then(t, r, "piece/S-31", at(10, 8), post("75.006 mm"))
	r3 := then(t, r2, "piece/S-31", at(20, 8), fact.Withdrawn{Reason: "dropped"})
	for _, c := range []struct {
		r         *Register
		when      time.Time
		size, why string
	}{
		{r, at(5, 0), "75.004 mm", ""},
		{r, at(9, 23), "75.004 mm", ""},
		{r, at(10, 0), "75.004 mm", "piece S-31 was due on 2026-03-09: take another, or have it certified anew (shimwright pieces certify)"},
		{r2, at(10, 7), "75.004 mm", "was due on"},
		{r2, at(10, 8), "75.006 mm", ""},
		{r3, at(5, 0), "75.004 mm", ""},
		{r3, at(20, 7), "75.006 mm", ""},
		{r3, at(20, 8), "75.006 mm", "piece S-31 is withdrawn: dropped: take another"},
		{then(t, r3, "piece/S-31", at(21, 8), post("75.000 mm")), at(22, 0), "75.000 mm", ""},
	} {
		p, err := c.r.Piece("S-31", c.when)
		if err != nil || p.Size.String() != c.size {
			t.Errorf("%s: %v, %v", c.when, p.Size, err)
		}
		if err := p.Usable(c.when); c.why == "" && err != nil || c.why != "" && (err == nil || !strings.Contains(err.Error(), c.why)) {
			t.Errorf("%s: want %q, got %v", c.when, c.why, err)
		}
	}
	_, err := r.Piece("S-31", at(1, 7))
	refused(t, "before it was known", err, "piece S-31 is not in the register at 2026-03-01 07:00:00: it was certified at")
	_, err = r.Piece("S-3\x1b", at(5, 0))
	refused(t, "another", err, `piece "S-3\x1b" is not in the register: certify it (shimwright pieces certify), or write one of S-31`)
	_, err = New().Piece("S-31", at(5, 0))
	if !errors.Is(err, ErrUnknown) || !strings.HasSuffix(err.Error(), "or write one of none") {
		t.Error(err)
	}
	if got := r3.Pieces(at(12, 0)); len(got) != 1 || got[0].Withdrawn != "" {
		t.Errorf("%+v", got)
	}
}

// The day a due date falls on is the bench's, not Greenwich's.
func TestDueInTheBenchsZone(t *testing.T) {
	east := time.FixedZone("east", 9*3600)
	late := at(9, 20) // 05:00 on the 10th there
	if Overdue(day3(9), late) || !Overdue(day3(9), late.In(east)) || Overdue(fact.Day{}, late) {
		t.Error("due dates")
	}
}

func TestGaugeAndDrift(t *testing.T) {
	check := func(reading string) fact.Checked {
		return fact.Checked{Piece: "S-31", Size: figure("75.004 mm"), Reading: figure(reading), Arrived: at(2, 8), Source: devices.SourceGauge}
	}
	limit := fact.GaugeCertified{GaugeKind: "depth gauge", Limit: pointer("0.020 mm"), Certificate: fact.Certificate{Due: day3(30)}}
	r := then(t, New(), "gauge/D07", at(1, 8), fact.Bound{USBSerial: "A1"}, check("75.500 mm"))
	if _, err := r.Gauge("D07", at(1, 9)); err != nil {
		t.Error("a gauge that was checked and never certified is not known", err)
	}
	_, err := r.Drift("D07", at(2, 0))
	refused(t, "no limit", err, "gauge D07 has no limit of error: write the one it is held to (shimwright gauges certify)")
	r = then(t, r, "gauge/D07", at(3, 8), limit)
	_, err = r.Drift("D07", at(4, 0))
	refused(t, "no check", err, "gauge D07 was not checked on a piece since it was certified")
	for i, reading := range []string{"75.004 mm", "75.010 mm", "75.016 mm", "75.022 mm", "75.028 mm"} {
		r = then(t, r, "gauge/D07", at(4+i, 8), check(reading))
	}
	for _, c := range []struct {
		until time.Time
		want  correct.State
		good  int
	}{{at(5, 8), correct.Within, 1}, {at(7, 8), correct.Nearing, 3}, {at(9, 0), correct.Beyond, 3}} {
		if d, err := r.Drift("D07", c.until); err != nil || d.State != c.want || d.LastGood != c.good {
			t.Errorf("until %s: %+v %v", c.until, d, err)
		}
	}
	r = then(t, r, "gauge/D07", at(10, 8), fact.Withdrawn{Reason: "out by 0.024 mm"})
	if d, err := r.Drift("D07", at(11, 8)); err != nil || len(d.Errors) != 5 {
		t.Errorf("being withdrawn begins the checks anew: %v %v", d, err)
	}
	g, err := r.Gauge("D07", at(11, 8))
	if err != nil || g.GaugeKind != "depth gauge" {
		t.Error(g, err)
	}
	refused(t, "withdrawn", g.Usable(at(11, 8)), "gauge D07 is withdrawn: out by 0.024 mm")
	r = then(t, r, "gauge/D07", at(12, 8), fact.ZeroChecked{Reading: figure("0.00 mm")}, fact.ZeroChecked{Reading: figure("0.01 mm")})
	if z, ok := r.Zero("D07"); !ok || z.Reading.String() != "0.01 mm" || !z.At.Equal(at(12, 8)) {
		t.Error(z, ok)
	}
	if _, ok := r.Zero("D08"); ok {
		t.Error("a zero of no gauge")
	}
}

// The log of checks in hand is bounded, and keeps the newest.
func TestChecksAreBounded(t *testing.T) {
	r := New()
	for i := range mostChecks + 5 {
		f := fact.Checked{Piece: "S-31", Size: figure("75.004 mm"), Reading: figure("75.00 mm"), Arrived: at(1, 0).Add(time.Duration(i) * time.Second)}
		if err := r.fold("gauge/D07", at(1, 0), f); err != nil {
			t.Fatal(err)
		}
	}
	got := r.Checks("D07")
	if len(got) != mostChecks || !got[0].Arrived.Equal(at(1, 0).Add(5*time.Second)) {
		t.Error(len(got), got[0].Arrived)
	}
}

func TestSheets(t *testing.T) {
	digest, other := strings.Repeat("ab", 32), strings.Repeat("cd", 32)
	yes := fact.Approved{Issue: 2, Digest: digest, Day: day3(1), By: fact.Signature{Initials: "RK", By: fact.ByPIN}}
	r := then(t, New(), "sheet/rd3", at(1, 8), yes)
	a, ok := r.Approved(digest)
	if !ok || a.Sheet != "rd3" || a.By.Initials != "RK" {
		t.Error(a, ok)
	}
	if _, ok := r.Approved(other); ok {
		t.Error("a text that nobody saw is approved")
	}
	if _, ok := then(t, r, "sheet/rd3", at(2, 8), fact.Withdrawn{Reason: "a limit was wrong"}).Approved(digest); ok {
		t.Error("an approval taken back holds")
	}
	_, err := r.Then("sheet/rd3", at(1, 8), fact.Approved{Issue: 2, Digest: digest})
	refused(t, "nobody's", err, "nobody approved it")
	_, err = r.Then("sheet/rd3", at(1, 8), fact.Approved{Issue: 2, Digest: "x", By: yes.By})
	refused(t, "no digest", err, "is no digest of its text")
}

func TestRefusedFacts(t *testing.T) {
	c := func(change func(*fact.Certified)) fact.Certified {
		f := post("75.004 mm")
		change(&f)
		return f
	}
	for _, x := range []struct {
		subject string
		f       fact.Fact
		words   string
	}{
		{"piece/S-31", fact.Withdrawn{Reason: "lost"}, "S-31: not in the register: certify it first"},
		{"piece/S-31", fact.Confirmed{}, "it does not belong to a piece"},
		{"piece/", post("1 mm"), "the piece's number is empty: write it"},
		{"piece/S\x1b[2J", post("1 mm"), `"S\x1b[2J", holds characters that do not print`},
		{"piece/S\u202e", post("1 mm"), `do not print`},
		{"piece/Ś\u0301", post("1 mm"), `takes no room or the room of two`},
		{"piece/山31", post("1 mm"), `takes no room or the room of two`},
		{"piece/" + strings.Repeat("S", 10<<10), post("1 mm"), "has 10240 characters: write at most 40"},
		{"piece/S-31", post("0 mm"), "the certified size is 0 mm: write a length above nought"},
		{"piece/S-31", post("-75 mm"), "above nought"},
		{"piece/S-31", post("75"), "write a length with its unit"},
		{"piece/S-31", post("75 N"), "write a length with its unit"},
		{"piece/S-31", post("75004 mm"), "is the unit right?"},
		{"piece/S-31", c(func(f *fact.Certified) { f.K = nil }), "go together"},
		{"piece/S-31", c(func(f *fact.Certified) { f.K = pointer("2 mm") }), "the coverage factor is 2 mm"},
		{"piece/S-31", c(func(f *fact.Certified) { f.Uncertainty = pointer("0 mm") }), "the uncertainty is 0 mm"},
		{"piece/S-31", c(func(f *fact.Certified) { f.Standard = "a\nb" }), "the role"},
		{"piece/S-31", c(func(f *fact.Certified) { f.Certificate.Number = "a\x07" }), "the certificate's number"},
		{"piece/S-31", c(func(f *fact.Certified) { f.Certificate.Digest = "xyz" }), `"xyz" is no digest`},
		{"piece/S-31", c(func(f *fact.Certified) { f.Certificate.Digest = strings.Repeat("G", 64) }), `is no digest`},
		{"piece/S-31", c(func(f *fact.Certified) { f.Certificate = fact.Certificate{Dated: day3(2), Due: day3(1)} }), "before it was written"},
		{"gauge/D07", fact.GaugeCertified{}, "the kind of gauge is empty"},
		{"gauge/D07", fact.GaugeCertified{GaugeKind: "depth gauge", Limit: pointer("0.02")}, "with its unit, as in 0.02 mm"},
		{"gauge/D07", fact.Withdrawn{}, "the reason is empty"},
		{"gauge/D07", fact.Withdrawn{Reason: strings.Repeat("x", 10<<10)}, "has 10240 characters"},
		{"gauge/D07", fact.Checked{Piece: "S-31", Size: figure("75 mm"), Reading: figure("3 N")}, "a length is wanted"},
		{"gauge/D\x00", fact.Withdrawn{Reason: "lost"}, "do not print"},
		{"stock/shims", fact.Counted{Leaves: []fact.Heap{{Size: figure("0.3 mm"), Count: -1}}}, "-1 leaves of 0.3 mm: write a count from 0 to 10000"},
		{"stock/shims", fact.Counted{Leaves: []fact.Heap{{Size: figure("0.3 mm"), Count: 1 << 30}}}, "write a count from"},
		{"stock/shims", fact.Received{Leaves: []fact.Heap{{Size: figure("0.3")}}}, "with its unit"},
		{"stock/shims", fact.LowLimit{Size: figure("0.3 mm"), Count: 1}, "it holds no leaves of 0.3 mm: count them first"},
		{"stock/shims", fact.Seen{}, "does not belong to the stock"},
		{"stock/sh\tims", fact.Counted{}, "do not print"},
		{"sheet/rd3", fact.Seen{}, "does not belong to a sheet"},
		{"sheet/r\x1bd3", fact.Seen{}, `"r\x1bd3", holds characters that do not print`},
	} {
		r := New()
		next, err := r.Then(x.subject, at(1, 8), x.f)
		refused(t, x.subject, err, x.words)
		if next != r {
			t.Errorf("%.60s: refused, it gives another register", x.subject)
		}
	}
	for _, other := range []string{"job/0001", "bench", "person/AB", "", "piecework"} {
		if _, err := New().Then(other, at(1, 8), fact.Confirmed{}); err != nil {
			t.Error(other, err)
		}
	}
}

func TestLoad(t *testing.T) {
	now := at(1, 8)
	j := open(t, filepath.Join(t.TempDir(), "a.journal"), &now)
	want := New()
	add := func(subject string, f fact.Fact) {
		keep(t, j, subject, f)
		want = then(t, want, subject, now, f)
		now = now.Add(time.Hour)
	}
	add("piece/S-31", post("75.004 mm"))
	add("stock/shims", fact.Counted{Leaves: []fact.Heap{{Size: figure("0.30 mm"), Count: 4}}})
	add("gauge/D07", fact.GaugeCertified{GaugeKind: "depth gauge"})
	add("gauge/D07", fact.Looked{Unit: "mm"})
	add("stock/shims", fact.TakenOut{Job: "0001", Step: "pack", Leaves: []fact.Heap{{Size: figure("0.30 mm"), Count: 1}}})
	add("piece/S-31", post("75.006 mm"))
	add("job/0001", fact.Confirmed{Step: "x"})
	add("sheet/rd3", fact.Approved{Digest: strings.Repeat("a", 64), By: fact.Signature{Initials: "RK"}})
	got, err := Load(context.Background(), j.Reader)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []struct{ a, b any }{
		{want.Pieces(now), got.Pieces(now)}, {want.Pieces(at(1, 9)), got.Pieces(at(1, 9))},
		{want.Gauges(now), got.Gauges(now)}, {want.Leaves("shims"), got.Leaves("shims")},
	} {
		if d := cmp.Diff(r.a, r.b, cmp.AllowUnexported(Leaf{}), exact()); d != "" {
			t.Error(d)
		}
	}
	if _, ok := got.Approved(strings.Repeat("a", 64)); !ok {
		t.Error("the approval is not read")
	}
}
