package overhaul

import (
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/calc/stock"
)

// Results are all that follows from a sheet and the entries of a job.
type Results struct {
	Sheet    *sheet.Sheet
	Steps    []*Result // in the order of work
	Build    int       // the build state: 1, and one more each time metal changed
	Training bool      // a reading was virtual: this job cannot be released
	Places   []Standing
	Notes    []string // of the whole job: a gauge that drifts on its check piece
	// Differences are, of a what-if, what differs from the job as it is.
	Differences []Difference
}

// A Standing is where a wanted figure stands with the packs that are in (or,
// not yet fitted, as worked): one figure, or a range where the shaft's state is
// not said.
type Standing struct {
	Wanted    string
	Low, High *Figure
	State     string
}

// A Status is how far a step is.
type Status string

// The statuses of a step.
const (
	Waiting Status = "waiting" // wants entries
	Done    Status = "done"
	Stopped Status = "stopped" // must not go on: Problem says why
	Held    Status = "held"    // entries are in, the figure is not believed: Problem says why
	Stale   Status = "stale"   // metal, a mark or a reading it rests on changed since
)

// A Result is one step's.
type Result struct {
	Step    *sheet.Step
	Status  Status
	Wants   string // what it waits for, in words
	Spot    string // the spot the next press is for
	Left    int    // presses still wanted
	Problem string
	Presses []Press
	Figure  *Figure // the length found or marked
	Text    string  // an answer, a mark read back as a sentence
	Pack    *Pack
	Check   *Check
	Closure *Closure
	Budget  *Budget // of the figure; nil where nothing says how sure it is
	// Expansion is what temperature does to a measured length; nil where the
	// temperatures or the materials are not said.
	Expansion *Expansion
	Notes     []string // that change no figure: readings that have not settled
}

// A Press is a press that counts at a step, or that did before metal changed.
type Press struct {
	Entry sheet.Entry
	Build int
	Stale bool
	// Correction is what its gauge's table adds to it; nil where the gauge has
	// none, or was zeroed on a piece, so that the table does not speak of what
	// it shows.
	Correction *Figure
	// Uncovered says that the reading lies outside its gauge's table, and what
	// to do: the step is held.
	Uncovered string
}

// A Pack is a pack worked, made up and fitted.
type Pack struct {
	Worked    *Figure // by the way that decides
	Other     *Figure // by the other way, where the sheet asks for it
	Closure   *Closure
	Within    quantity.Exact
	Wanted    string
	OneMore   string // what one more does, in words
	Squeeze   string // of a pack that makes a preload: what the squeeze alone does to the gear
	Makeup    *stock.Answer
	NoTray    bool    // the sheet names a tray that the entries do not have
	Near      []Near  // where the tray has no pack: what comes nearest, thinner and thicker
	Effect    string  // what the remaining error of the best make-up does
	Fitted    *Figure // as measured, or by its leaves
	Error     quantity.Exact
	ErrorDoes string // what the fitted pack's error does
	Refit     bool   // the aim moved after it was fitted
	// Of a setting that was asked about: what both packs must become for it
	// while the gear stays, or why that cannot be said yet.
	Keep      *remedy.SettingAdvice
	KeepWaits string
}

// FittedWords says in words how a fitted pack came out.
func (p *Pack) FittedWords() string {
	if p.ErrorDoes == "" { // nothing that the sheet names rests on it
		return "fitted"
	}
	return "fitted: " + p.ErrorDoes
}

// A Near is a pack that comes near and is not good.
type Near struct {
	Pack    stock.Pack
	Does    string // what its error does
	TooMany int    // leaves it has beyond what the sheet allows; 0 for none
}

// A Closure is found less predicted, with its limit.
type Closure struct {
	Found, Predicted *Figure
	Value            quantity.Exact
	Limit            quantity.Exact
	Good             bool
	Budget           *Budget   // of found less predicted
	Culprits         []Culprit // where it is not good: likeliest first
}

// A Check is a check's figures and verdict.
type Check struct {
	Verdict ring.Verdict // NotJudged while not all is in, or it is only looked at
	Words   string       // the verdict in one sentence
	Advice  string       // what to do, where the sheet can tell
	Figure  *Figure      // what is judged: torque, float, run-out; nil for a ring
	Band    *ring.Band   // base unit; nil where there are no limits
	U       quantity.Exact
	Points  []Point
	Ring    *ring.Result         // backlash and run-out once every point is in
	Rough   *Figure              // turning torque: (most − least) / mean
	Spacer  *remedy.SpacerAdvice // turning torque: what to change of the pack it sets; nil where none is set by it
	Moves   []Move
	// Of a backlash ring: what to change, where it is not good; how a re-shim
	// came out against what it should have done; what may spread it; which
	// extra readings would tell more.
	Reshim   *remedy.Advice
	Compared *remedy.Comparison
	LookFor  []string
	Asks     []string
	Marks    *remedy.MarkAdvice // of a contact marking
	// Of a backlash ring: the move factor that is used, what earlier re-shims
	// say of it, and which changes bring every point in, in words.
	Factor  *remedy.Factor
	Learned *remedy.Learned
	Window  string
	// Of a marking that asks for a pinion move, or a check after which one was
	// entered: that move with the wheel following.
	Follow *remedy.Following
	// Of a backlash ring that is to be taken again: what to expect of it.
	Expected *Expected
}

// A Point is one spot's figure and verdict.
type Point struct {
	Spot    string
	Angle   quantity.Exact
	Figure  *Figure // nil while nothing was pressed
	Pressed []Press
	Build   int
	Stale   bool
	Verdict ring.Verdict
	Range   quantity.Exact
}

// A Move is how far a gear is to be moved, and why.
type Move struct {
	Gear  string
	By    quantity.Exact // longer distance above nought
	Words string
}

// Of finds a step's result.
func (r *Results) Of(step string) *Result {
	for _, x := range r.Steps {
		if x.Step.Name == step {
			return x
		}
	}
	return nil
}

// Next is the first step that still wants something; nil when none does.
func (r *Results) Next() *Result {
	for _, x := range r.Steps {
		if x.Status != Done {
			return x
		}
	}
	return nil
}
