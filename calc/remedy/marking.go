package remedy

import (
	"fmt"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/ring"
)

// A Seen is the mark seen on one flank of the wheel's teeth.
type Seen struct{ Flank, Mark string }

// EveryFlank in a rule stands for all flanks that were looked at, AnyFlank for
// at least one of them.
const (
	EveryFlank = "every flank"
	AnyFlank   = "any flank"
)

// A MarkRule is one line of a table: what is seen, and what to do.
type MarkRule struct {
	When  []Seen // all of it; flanks by name, EveryFlank or AnyFlank
	Gear  string // "pinion" or "wheel" to move, "" to move nothing
	Way   int    // +1 OUT or AWAY, −1 IN or TOWARD, 0 where the table does not say
	Good  bool   // the marking is as it should be
	Look  []string
	Cause string // in words, where the table names one
	From  string // the source, by manual and page, or "common practice, no source"
}

// A MarkTable is the rules of one manual. Manuals differ, even on which gear is
// to move, so the rules are data and the manual's pictures rule.
type MarkTable struct {
	Name  string
	Rules []MarkRule // the first that holds is taken
	// Alias says which flank of the wheel a sheet's flank is, such as drive:
	// convex; without it only rules for every or any flank speak of it.
	Alias map[string]string
}

// every is one mark on every flank.
func every(mark string) []Seen { return []Seen{{EveryFlank, mark}} }

// CommonTable is the usual rules. high is near the tip of the wheel's tooth,
// low near its root, toe its inner end, heel its outer end; convex and concave
// are flanks of the wheel.
func CommonTable() MarkTable {
	const (
		heights = "TM 10-3930-660-34 p. 9-29; TM 10-3930-653-14&P p. 4-181"
		spiral  = "TM 5-3805-260-24 p. 3-244, 3-245; TM 5-3825-226-24 p. 3-243"
		trade   = "common practice, no source"
	)
	lame := []string{"run-out of the wheel's back face", "a burr, dirt or bolts under the wheel", "the pair numbers: pinion and wheel of one pair?"}
	return MarkTable{Name: "the usual table", Rules: []MarkRule{
		{When: every("central"), Good: true, From: trade},
		{When: every("slightly to toe"), Good: true, From: trade},
		{When: []Seen{{AnyFlank, "lame"}}, Look: lame, Cause: "run-out or a wrong pair", From: trade},
		{When: []Seen{{AnyFlank, "crossed"}}, Look: lame, Cause: "run-out or a wrong pair", From: trade},
		{When: every("high"), Gear: "pinion", Way: -1, From: heights},
		{When: every("low"), Gear: "pinion", Way: +1, From: heights},
		{When: every("heel"), Gear: "wheel", Way: -1, From: heights},
		{When: every("toe"), Gear: "wheel", Way: +1, From: heights},
		{When: []Seen{{"convex", "toe"}, {"concave", "heel"}}, Gear: "pinion", Way: -1, Cause: "the pinion is too far from the wheel", From: spiral},
		{When: []Seen{{"concave", "toe"}, {"convex", "heel"}}, Gear: "pinion", Way: +1, Cause: "the pinion is too near to the wheel", From: spiral},
	}}
}

// CrosswiseTable is the rules of one manual that gives the gears the other way
// about; which way each is to go stands in its pictures.
func CrosswiseTable() MarkTable {
	const from = "TM 10-3930-643-34 p. 16-30"
	t := MarkTable{Name: "rules of TM 10-3930-643-34", Rules: []MarkRule{{When: every("central"), Good: true, From: from}}}
	for _, m := range []string{"toe", "heel"} {
		t.Rules = append(t.Rules, MarkRule{When: every(m), Gear: "pinion", From: from})
	}
	for _, m := range []string{"high", "low"} {
		t.Rules = append(t.Rules, MarkRule{When: every(m), Gear: "wheel", From: from})
	}
	t.Rules = append(t.Rules, MarkRule{When: []Seen{{AnyFlank, "crossed"}}, Cause: "the pair is to be rejected", Look: []string{"the pair numbers"}, From: from})
	return t
}

// A MarkAdvice is what a table says of a marking.
type MarkAdvice struct {
	Known   bool // the table has a rule for what was seen
	Good    bool
	Gear    string // to move; "" for none
	Way     int    // +1 OUT or AWAY, −1 IN or TOWARD, 0 where the manual's picture says
	First   string // what comes before and after, "" where nothing is to move
	Look    []string
	From    string
	Warning string
	Words   string
}

// straightTeeth is said of gears whose teeth have no spiral.
const straightTeeth = "Straight teeth: a pinion move changes chiefly the height of the mark; its place along the tooth does not come from shims (from memory, no source)."

// Lookup says what a table asks for. backlash is the verdict on the ring of the
// present build: until that is good no marking counts. straight warns of what
// shims cannot do.
func (t MarkTable) Lookup(seen []Seen, backlash ring.Verdict, straight bool) (MarkAdvice, error) {
	if err := t.Check(); err != nil {
		return MarkAdvice{}, err
	}
	if err := checkSeen(seen); err != nil {
		return MarkAdvice{}, err
	}
	for _, r := range t.Rules {
		if t.holds(r, seen) {
			return t.advice(r, seen, backlash, straight), nil
		}
	}
	return MarkAdvice{Words: fmt.Sprintf("No advice: %s has no rule for %s. The manual's pictures rule; ask the bay lead.", t.Name, seenWords(seen))}, nil
}

func (t MarkTable) advice(r MarkRule, seen []Seen, backlash ring.Verdict, straight bool) MarkAdvice {
	a := MarkAdvice{Known: true, Good: r.Good, Gear: r.Gear, Way: r.Way, Look: r.Look, From: r.From}
	a.Words = "Seen " + seenWords(seen) + ": "
	if r.Cause != "" {
		a.Words += r.Cause + "; "
	}
	switch {
	case r.Good:
		a.Words += "as it should be."
		return a
	case r.Gear == "":
		a.Words += "no shim mends it. Look at " + strings.Join(r.Look, "; ") + "."
		return a
	case r.Way == 0:
		a.Words += "move the " + r.Gear + "; which way stands in the manual's picture."
	default:
		a.Words += r.Gear + " goes " + network.WayWord(r.Gear, r.Way) + "."
	}
	a.First = "Backlash is in its band: move, bring backlash back into its band, mark again."
	if backlash != ring.Good {
		a.First = "Backlash into its band first, then mark again; only then move for the marking, and backlash again after it."
	}
	if r.Gear == "pinion" && straight {
		a.Warning = straightTeeth
	}
	a.Words += " " + a.First
	return a
}

func (t MarkTable) holds(r MarkRule, seen []Seen) bool {
	for _, w := range r.When {
		count, named := 0, 0
		for _, s := range seen {
			if s.Mark != w.Mark {
				continue
			}
			count++
			if s.Flank == w.Flank || t.Alias[s.Flank] == w.Flank {
				named++
			}
		}
		ok := named > 0
		switch w.Flank {
		case EveryFlank:
			ok = count == len(seen)
		case AnyFlank:
			ok = count > 0
		}
		if !ok {
			return false
		}
	}
	return true
}

const mostRules = 1000

// Check refuses a table that cannot be used, naming the rule.
func (t MarkTable) Check() error {
	if t.Name == "" {
		return problem("marking table", "it has no name: say which manual's it is")
	}
	if len(t.Rules) == 0 || len(t.Rules) > mostRules {
		return problem("marking table", "%d rules: give 1 to %d", len(t.Rules), mostRules)
	}
	at := map[string]int{}
	for i, r := range t.Rules {
		field := fmt.Sprintf("marking table, rule %d", i+1)
		if err := r.check(field); err != nil {
			return err
		}
		key := fmt.Sprint(r.When)
		if first, twice := at[key]; twice {
			return problem(field, "rule %d speaks of the same marks: keep one of them", first+1)
		}
		at[key] = i
	}
	return nil
}

func (r MarkRule) check(field string) error {
	if len(r.When) == 0 {
		return problem(field, "it says no mark: write what is seen")
	}
	for _, w := range r.When {
		if w.Flank == "" || w.Mark == "" {
			return problem(field, "a flank or a mark has no name")
		}
	}
	if r.Gear != "" {
		if err := checkGear(field+", gear", r.Gear); err != nil {
			return err
		}
	}
	switch {
	case r.Way < -1 || r.Way > 1:
		return problem(field, "way %d: write +1 for OUT or AWAY, -1 for IN or TOWARD, 0 where the manual's picture says", r.Way)
	case r.Good && r.Gear != "":
		return problem(field, "a good marking moves no gear")
	case r.Gear == "" && r.Way != 0:
		return problem(field, "it says a way and no gear")
	case !r.Good && r.Gear == "" && len(r.Look) == 0:
		return problem(field, "it asks for nothing: say which gear moves, or what to look at")
	case r.From == "":
		return problem(field, "it has no source: write the manual and page, or common practice")
	}
	return nil
}

const mostFlanks = 10

func checkSeen(seen []Seen) error {
	if len(seen) == 0 || len(seen) > mostFlanks {
		return problem("seen", "%d flanks: give what is seen on each flank that was looked at, up to %d", len(seen), mostFlanks)
	}
	had := map[string]bool{}
	for i, s := range seen {
		if s.Flank == "" || s.Mark == "" {
			return problem("seen", "entry %d has no flank or no mark", i+1)
		}
		if had[s.Flank] {
			return problem("seen", "%s is given twice", s.Flank)
		}
		had[s.Flank] = true
	}
	return nil
}

func seenWords(seen []Seen) string {
	var out []string
	for _, s := range seen {
		out = append(out, s.Mark+" on "+s.Flank)
	}
	return strings.Join(out, ", ")
}
