//go:build unix

package bench

import (
	"testing"
	"time"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/register"
)

// A job is told of a gauge's certificate and of the form of its bytes with the
// first press on it, once, and anew where either changed; of a piece's certificate
// when it is drawn.
func TestCertificatesComeIntoTheJob(t *testing.T) {
	paper := func(number, due string) fact.Certificate {
		d, err := fact.ParseDay(due)
		if err != nil {
			t.Fatal(err)
		}
		return fact.Certificate{Number: number, Due: d}
	}
	gauge := func(number string) about {
		return about{register.GaugeSubject("D07"), fact.GaugeCertified{GaugeKind: "depth gauge", Certificate: paper(number, "2999-03-01")}}
	}
	c := newCounter(t, approvedText(tw2(t)), gauge("G-9"))
	c.do(OpenJob{Sheet: "tw2", Serial: "17"})
	c.press("I03", "1.00 mm", "1.32 mm")
	c.do(Record{"front number", "A7"})
	c.do(Record{"back number", "A7"})
	c.press("D07", "41.00 mm")
	c.again()
	c.press("D07", "41.00 mm")
	c.shut()
	other := openJournal(t, c.path, func() time.Time { return c.now.Add(time.Minute) })
	put(t, other, gauge("G-10"))
	if err := other.Close(); err != nil {
		t.Fatal(err)
	}
	c.now = c.now.Add(2 * time.Minute)
	c.open()
	c.press("D07", "41.00 mm")
	told := map[string][]fact.GaugeKnown{}
	presses := map[string]int{}
	err := c.journal.Read(t.Context(), "job/0001", 0, func(s journal.Stored) error {
		f, err := fact.Decode(s)
		switch f := f.(type) {
		case fact.GaugeKnown:
			told[f.Gauge] = append(told[f.Gauge], f)
		case fact.Pressed:
			if len(told[f.Gauge]) == 0 {
				t.Errorf("press %d on %s comes before the job knows the gauge", s.Seq, f.Gauge)
			}
			presses[f.Gauge]++
		}
		return err
	})
	if err != nil || presses["D07"] != 3 || len(told["I03"]) != 1 || len(told["D07"]) != 2 {
		t.Fatalf("%v presses, told %+v, %v", presses, told, err)
	}
	if a, b := told["D07"][0], told["D07"][1]; a.Certificate.Number != "G-9" || b.Certificate.Number != "G-10" || a.Form == nil || len(a.Form.Parts) == 0 {
		t.Errorf("%+v, then %+v", a, b)
	}
	if told["I03"][0].Certificate != (fact.Certificate{}) {
		t.Errorf("%+v", told["I03"][0])
	}
}

// The piece that is drawn brings its certificate.
func TestPieceDrawnWithItsCertificate(t *testing.T) {
	want := fact.Certificate{Number: "2291-04", Dated: fact.DayOf(time.Now().AddDate(0, -1, 0)), Due: fact.DayOf(time.Now().AddDate(1, 0, 0))}
	r := newRigOver(t, []about{{register.PieceSubject("S-31"), fact.Certified{Size: figure("75.004 mm"), Certificate: want}}})
	r.do(OpenJob{Sheet: "fw3", Serial: "1"})
	r.do(DrawPiece{"tall post", "S-31"})
	for _, s := range r.stored() {
		if f, err := fact.Decode(s); err != nil {
			t.Fatal(err)
		} else if f, ok := f.(fact.Drew); ok {
			if f.Certificate != want || s.Version != 2 {
				t.Errorf("%+v, version %d", f, s.Version)
			}
			return
		}
	}
	t.Error("nothing was drawn")
}
