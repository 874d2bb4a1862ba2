package board

import (
	"strings"
	"time"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/ingest/store"
	"shimwright/ui/draw"
)

// backlash is what a judgement of a ring is called.
const backlash = sheet.Backlash

// A Row is one job of the list: the job with what its judgements come to.
type Row struct {
	Job   store.Job
	Last  *store.Judgement // the newest of all; nil where there is none
	Ring  *store.Judgement // the newest of a ring
	Stage string           // of the sheet, of the newest judgement
	Loops int              // re-shims: build states in which its ring was judged, less one
	First string           // verdict on the ring as it was first judged

	wheel  wheel
	isRing bool
	unit   quantity.Unit
	places int32
	judged map[string]*store.Judgement // the newest by step
}

// judgedFrom gathers a job's judgements, newest first, into its row.
func (r *Row) judgedFrom(all []store.Judgement, s *sheet.Sheet) {
	r.unit, r.places = quantity.MM, 3
	if s != nil {
		r.unit, r.places = s.Unit, s.Places
	}
	r.judged = map[string]*store.Judgement{}
	builds := map[int]bool{}
	for i := range all {
		j := &all[i]
		if r.Last == nil {
			r.Last = j
		}
		if r.judged[j.Step] == nil {
			r.judged[j.Step] = j
		}
		if j.What != backlash || j.Spread == "" || j.Low == "" {
			continue // as found before the strip: nobody set it here
		}
		if r.Ring == nil {
			r.Ring = j
		}
		if j.Step == r.Ring.Step {
			builds[j.Build], r.First = true, j.Verdict
		}
	}
	r.Loops = max(0, len(builds)-1)
	r.wheel, r.isRing = wheelOf(r.Ring, allowed(s, r.Ring))
	if r.Last != nil {
		r.Stage = r.Last.Step
		if st, ok := stepOf(s, r.Last.Step); ok {
			r.Stage = st.Stage
		}
	}
}

func stepOf(s *sheet.Sheet, name string) (*sheet.Step, bool) {
	if s == nil {
		return nil, false
	}
	return s.Step(name)
}

// allowed is the spread that a sheet allows a ring; nil where it says none.
func allowed(s *sheet.Sheet, j *store.Judgement) *quantity.Exact {
	if j == nil {
		return nil
	}
	st, ok := stepOf(s, j.Step)
	if !ok || st.Check == nil || st.Check.Spread.Exact().Sign() <= 0 {
		return nil
	}
	x := st.Check.Spread.Exact()
	return &x
}

// verdict is the word that counts for the row: the ring's while something newer
// is not worse.
func (r *Row) verdict() string {
	worst, word := unjudged, ""
	if r.Ring != nil {
		worst, word = worthOf(r.Ring.Verdict), r.Ring.Verdict
	}
	for _, j := range r.judged {
		if w := worthOf(j.Verdict); w > worst && w > isGood {
			worst, word = w, j.Verdict
		}
	}
	return word
}

// fault is the judgement that wants looking at; nil where none does.
func (r *Row) fault() *store.Judgement {
	if r.Ring != nil && worthOf(r.Ring.Verdict) > isGood {
		return r.Ring
	}
	var found *store.Judgement
	for _, j := range r.judged {
		if worthOf(j.Verdict) > isGood && (found == nil || j.Seq > found.Seq) {
			found = j
		}
	}
	return found
}

// age is since when the job waits: its newest judgement or its opening, until
// now or its end.
func (r *Row) age(now time.Time) time.Duration {
	at := r.Job.Opened
	if !r.Job.Ended.IsZero() {
		at = r.Job.Ended
	}
	return max(0, now.Sub(at))
}

// pointsText is the ring's figures in the order of the sheet.
func (r *Row) pointsText() string {
	var out []string
	for _, p := range r.wheel.points {
		out = append(out, p.value.Show(r.unit, max(0, r.places-1)))
	}
	return strings.Join(out, " ")
}

func (r *Row) show(x quantity.Exact) string     { return x.Show(r.unit, r.places) }
func (r *Row) showUnit(x quantity.Exact) string { return x.ShowUnit(r.unit, r.places) }

// drawing is the row's ring as it is drawn round the wheel.
func (r *Row) drawing() draw.Ring {
	out := draw.Ring{Band: r.wheel.band, Fit: r.wheel.fit, Unit: r.unit, Places: r.places, Sense: ring.Clockwise}
	for i := range r.wheel.points {
		p := &r.wheel.points[i]
		out.Spots = append(out.Spots, draw.Spot{Angle: p.angle.Float(), Value: &p.value, Verdict: p.judged})
	}
	return out
}

// holds tells whether a job holds a text, whatever its case, in what says which
// job it is.
func holds(j store.Job, text string) bool {
	if text == "" {
		return true
	}
	text = strings.ToLower(text)
	for _, f := range []string{j.ID, j.Bench, j.Drive, j.Serial, j.Sheet, string(j.State)} {
		if strings.Contains(strings.ToLower(f), text) {
			return true
		}
	}
	return false
}
