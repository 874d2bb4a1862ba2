//go:build unix

package bench

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/overhaul"
	"shimwright/ingest/fact"
)

// The model is what a person with a notepad would keep of jobs by sheet tw2: it
// knows nothing of facts, folds or the sheet's arithmetic.
type (
	model struct {
		jobs  map[string]*noted
		front string
		stock map[string]int
		seq   int // jobs ever opened
	}
	noted struct {
		presses map[string][]*notedPress // by step
		answers map[string]string
		build   int
		leaves  []string // of the pack that is in
		fitted  bool
		holds   map[string]bool // by step, "" is the job
		used    int64           // when it was last used
	}
	notedPress struct {
		seq   int64
		spot  string
		build int
		held  bool
	}
)

func (n *noted) onHold(step string) bool { return n.holds[""] || n.holds[step] }

// taken are the presses that count, and whether each spot has one of the present
// build; measuring steps have two that never grow old.
func (n *noted) taken(step string) (count map[string]int, fresh map[string]bool, stale bool) {
	count, fresh = map[string]int{}, map[string]bool{}
	for _, p := range n.presses[step] {
		if !p.held {
			count[p.spot]++
			fresh[p.spot] = fresh[p.spot] || step != floatFound || p.build == n.build
		}
	}
	for spot := range count {
		stale = stale || !fresh[spot]
	}
	return count, fresh, stale
}

const (
	floatFound   = "end float found"
	floatAsFound = "end float as found"
)

// wants says at which spot the next press lands; false where the step is full.
func (n *noted) wants(step string) (string, bool) {
	count, fresh, _ := n.taken(step)
	if step == floatFound || step == floatAsFound {
		for _, spot := range []string{"pull", "push"} {
			if !fresh[spot] {
				return spot, true
			}
		}
		return "", false
	}
	return "", count[""] < 2
}

func (n *noted) status(step string) overhaul.Status {
	_, _, stale := n.taken(step)
	_, wants := n.wants(step)
	switch {
	case stale:
		return overhaul.Stale
	case wants:
		return overhaul.Waiting
	}
	return overhaul.Done
}

// gauges are those that the steps want, with a figure that fits and one that does
// not.
func gaugeAt(step, spot string) (gauge, fits, odd string) {
	switch {
	case step == "casing depth":
		return "D07", "41.00 mm", "45.00 mm"
	case step == "shaft height":
		return "M02", "39.60 mm", "45.00 mm"
	case spot == "push":
		return "I03", "1.10 mm", "9.00 mm"
	}
	return "I03", "1.00 mm", "9.00 mm"
}

func pressed() []string {
	return []string{floatAsFound, "casing depth", "shaft height", floatFound}
}

// done tells whether nothing keeps the job from being signed off.
func (n *noted) done() bool {
	for _, step := range pressed() {
		if n.status(step) != overhaul.Done {
			return false
		}
		if slices.ContainsFunc(n.presses[step], func(p *notedPress) bool { return p.held }) {
			return false
		}
	}
	return n.fitted && len(n.holds) == 0 && n.answers["front number"] != "" && n.answers["back number"] != ""
}

// A walk does things at random to a bench and to the model.
type walk struct {
	*counter
	model
	chance *rand.Rand
	log    []string
	signed int
}

func (w *walk) note(format string, args ...any) { w.log = append(w.log, fmt.Sprintf(format, args...)) }

// try carries a command out that the model says is taken or refused.
func (w *walk) try(cmd Command, taken bool) {
	w.t.Helper()
	w.note("%+v, taken %v", cmd, taken)
	_, err := w.apply(w.t.Context(), cmd)
	w.publish()
	if (err == nil) != taken {
		w.fail("%+v: %v", cmd, err)
	}
}

func (w *walk) fail(format string, args ...any) {
	w.t.Helper()
	for _, l := range w.log[max(0, len(w.log)-25):] {
		w.t.Log(l)
	}
	w.t.Fatalf(format, args...)
}

func (w *walk) job() *noted { return w.jobs[w.front] }

func (w *walk) step() {
	steps := []func(){w.pressSome, w.pressSome, w.answer, w.fit, w.hold, w.lift, w.takeOrStrike, w.retake, w.sign, w.choose, w.leave}
	for range 2 * len(steps) {
		steps = append(steps, w.goOn)
	}
	if w.job() == nil {
		steps = []func(){w.openOne, w.choose}
	} else if len(w.jobs) < 3 {
		steps = append(steps, w.openOne)
	}
	steps[w.chance.IntN(len(steps))]()
	w.used()
}

func (w *walk) used() {
	if n := w.job(); n != nil && w.counter.job != nil {
		n.used = w.counter.job.Last
	}
}

func (w *walk) openOne() {
	w.model.seq++
	id := fmt.Sprintf("%04d", w.model.seq)
	w.try(OpenJob{Sheet: "tw2", Serial: id}, true)
	w.jobs[id], w.front = &noted{presses: map[string][]*notedPress{}, answers: map[string]string{}, holds: map[string]bool{}, build: 1}, id
}

func (w *walk) choose() {
	ids := slices.Sorted(maps.Keys(w.jobs))
	if len(ids) == 0 {
		w.try(ChooseJob{"0001"}, false)
		return
	}
	id := ids[w.chance.IntN(len(ids))]
	w.try(ChooseJob{id}, true)
	w.front = id
}

// goOn does what a fitter would do next who wants to be done.
func (w *walk) goOn() {
	n := w.job()
	if len(n.holds) > 0 {
		w.lift()
		return
	}
	for _, step := range pressed() {
		for i, p := range n.presses[step] {
			if p.held {
				w.try(Strike{p.seq, "not meant"}, true)
				n.presses[step] = slices.Delete(n.presses[step], i, i+1)
				return
			}
		}
		if !n.fitted && step == floatFound {
			w.fit()
			return
		}
		if _, wants := n.wants(step); wants {
			w.pressAt(step, false)
			return
		}
	}
	if n.answers["front number"] == "" || n.answers["back number"] == "" {
		w.answer()
		return
	}
	w.sign()
}

func (w *walk) pressSome() { w.pressAt(pressed()[w.chance.IntN(4)], w.chance.IntN(4) == 0) }

// pressAt presses the gauge that a step wants, with a figure that fits or not.
func (w *walk) pressAt(step string, wrong bool) {
	n := w.job()
	w.try(ChooseStep{step}, true)
	spot, wants := n.wants(step)
	gauge, value, odd := gaugeAt(step, spot)
	held := n.onHold(step)
	if wrong {
		value, held = odd, true
	}
	if !wants {
		if n.onHold(step) || held {
			return // either may come first: kept, and not asked about here
		}
		w.press(gauge, value)
		w.note("%s at %s is aside", value, step)
		if o := w.Snapshot().Last.Press.Outcome; o != fact.Aside {
			w.fail("a press at a full step is %s", o)
		}
		return
	}
	w.press(gauge, value)
	last := w.Snapshot().Last
	w.note("press %d: %s at %s %s, held %v", last.Seq, value, step, spot, held)
	if want := map[bool]fact.Outcome{true: fact.Held, false: fact.Taken}[held]; last.Press.Outcome != want || last.Press.Spot != spot {
		w.fail("press %d at %s %q is %s at %q: %s", last.Seq, step, spot, last.Press.Outcome, last.Press.Spot, last.Press.Sentence)
	}
	n.presses[step] = append(n.presses[step], &notedPress{last.Seq, spot, n.build, held})
}

func (w *walk) answer() {
	step := []string{"front number", "back number"}[w.chance.IntN(2)]
	n := w.job()
	w.try(Record{step, "A7"}, !n.onHold(step))
	if !n.onHold(step) {
		n.answers[step] = "A7"
	}
}

func (w *walk) fit() {
	leaves := [][]string{{"1.00 mm", "0.30 mm"}, {"1.00 mm", "0.10 mm", "0.10 mm", "0.10 mm"}}[w.chance.IntN(2)]
	n := w.job()
	taken := !n.onHold("end pack")
	w.try(Fit{Step: "end pack", Leaves: leaves, Measured: []string{"1.30 mm"}}, taken)
	if !taken {
		return
	}
	for _, l := range n.leaves {
		w.stock[l]++
	}
	for _, l := range leaves {
		w.stock[l]--
	}
	n.leaves, n.fitted = leaves, true
	n.build++
}

func (w *walk) hold() {
	step := []string{"", "end pack", "casing depth", floatFound}[w.chance.IntN(4)]
	n := w.job()
	w.try(Hold{step, "not sure"}, !n.holds[step])
	n.holds[step] = true
}

func (w *walk) lift() {
	n := w.job()
	holds := w.counter.job.Holds()
	w.try(Lift{0, "sure"}, len(n.holds) > 0)
	if len(n.holds) > 0 {
		delete(n.holds, holds[0].Step) // the oldest
	}
}

// takeOrStrike decides on a press that counts or is held.
func (w *walk) takeOrStrike() {
	n := w.job()
	step := pressed()[w.chance.IntN(4)]
	of := n.presses[step]
	if len(of) == 0 {
		return
	}
	i := w.chance.IntN(len(of))
	if p := of[i]; w.chance.IntN(2) == 0 {
		w.try(Strike{p.seq, "a burr"}, true)
		n.presses[step] = slices.Delete(of, i, i+1)
	} else if !p.held {
		w.try(Take{p.seq, "looked at"}, false)
	}
}

func (w *walk) retake() {
	n := w.job()
	step := pressed()[w.chance.IntN(4)]
	w.try(Retake{step, "dirt"}, !n.onHold(step))
	if !n.onHold(step) {
		n.presses[step] = nil
	}
}

func (w *walk) sign() {
	done := w.job().done()
	w.try(By{"AB", "", SignOff{}}, done)
	if done {
		w.signed++
		w.over()
	}
}

func (w *walk) leave() {
	if w.chance.IntN(6) == 0 {
		w.try(Abandon{"enough"}, true)
		w.over()
	}
}

func (w *walk) over() { delete(w.jobs, w.front); w.front = "" }

// same holds the bench to the model.
func (w *walk) same() {
	w.t.Helper()
	s := w.Snapshot()
	var open []string
	for _, o := range s.Open {
		open = append(open, o.ID)
	}
	slices.Sort(open)
	if diff := cmp.Diff(slices.Sorted(maps.Keys(w.jobs)), open); diff != "" {
		w.fail("open jobs: %s", diff)
	}
	stock := map[string]int{}
	for _, l := range w.register.Leaves("shims") {
		stock[l.Size.String()] = l.Count
	}
	if diff := cmp.Diff(w.stock, stock); diff != "" {
		w.fail("stock: %s", diff)
	}
	n := w.job()
	if n == nil {
		if s.Job != nil {
			w.fail("job %s is in front", s.Job.ID)
		}
		return
	}
	if s.Job == nil || s.Job.ID != w.front || s.Results.Build != n.build {
		w.fail("job %v, build %v; want %s, %d", s.Job, s.Results, w.front, n.build)
	}
	held := map[int64]bool{}
	for _, step := range pressed() {
		if r := s.Results.Of(step); r.Status != n.status(step) {
			w.fail("%s is %s, want %s: %s %s", step, r.Status, n.status(step), r.Problem, r.Wants)
		}
		for _, p := range n.presses[step] {
			if p.held {
				held[p.seq] = true
			}
		}
	}
	for _, p := range s.Held {
		if !held[p.Seq] {
			w.fail("press %d is held", p.Seq)
		}
		delete(held, p.Seq)
	}
	if len(held) > 0 || len(s.Job.Holds()) != len(n.holds) || (len(s.Unfinished) == 0) != n.done() {
		w.fail("held %v, %d holds of %d, unfinished %q, done %v", held, len(s.Job.Holds()), len(n.holds), s.Unfinished, n.done())
	}
}

// reopen opens another bench: all is as it was, and the job last used is in front.
func (w *walk) reopen() {
	w.chosen = "" // choosing a step records nothing
	w.publish()
	before := w.Snapshot()
	w.again()
	w.note("opened again")
	if w.front == "" && len(w.jobs) > 0 {
		for id, n := range w.jobs {
			if w.front == "" || n.used > w.job().used {
				w.front = id
			}
		}
		return
	}
	got, want := *w.Snapshot(), *before
	got.Step, want.Step, got.Number, want.Number = nil, nil, 0, 0 // where the bench is may have been chosen
	if diff := cmp.Diff(picture(&want), picture(&got)); diff != "" {
		w.fail("opened again:\n%s", diff)
	}
}

// Whatever is pressed, fitted, held, struck, taken again and signed in whatever
// order, the bench agrees with a notepad after each step and after each start.
func TestAgainstNotepad(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	signed := 0
	for round := range rounds(3) {
		c := newCounter(t, approvedText(tw2(t)), stocked())
		w := &walk{counter: c, chance: rand.New(rand.NewPCG(seed, uint64(round))),
			model: model{jobs: map[string]*noted{}, stock: map[string]int{"1.00 mm": 3, "0.30 mm": 3, "0.25 mm": 3, "0.10 mm": 3}}}
		for n := range 250 {
			w.step()
			w.same()
			if n%25 == 24 {
				w.reopen()
				w.same()
			}
		}
		signed += w.signed
	}
	t.Logf("%d jobs were signed off", signed)
	if signed == 0 {
		t.Error("no job was signed off: the test does not get there")
	}
}
