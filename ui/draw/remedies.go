package draw

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/sheet"
)

// advice writes what to do about a check: which changes would pass, the best of
// them pack by pack, the others in a sentence each; then what may be the cause,
// what a move did, and which readings would tell more.
func (j job) advice(c *overhaul.Check) {
	if c.Window != "" {
		j.more(c.Window)
	}
	if said := strings.HasPrefix(c.Window, strings.TrimSuffix(c.Advice, ".")); c.Advice != "" && !said {
		j.more(sentence(c.Advice))
	}
	if c.Expected != nil {
		j.more(c.Expected.Words)
	}
	j.plans(c)
	for _, l := range c.LookFor {
		if c.Ring == nil || !slices.Contains(c.Ring.Fit.Notes, l) { // those stand below the points
			j.more("Look for: " + l)
		}
	}
	if c.Reshim != nil && len(c.Reshim.Plans) == 0 && len(c.LookFor) == 0 {
		for _, l := range c.Reshim.LookFor {
			j.more("Look for: " + l)
		}
	}
	if c.Compared != nil && !strings.HasPrefix(c.Advice, c.Compared.Words) {
		j.more(c.Compared.Words)
	}
	if c.Learned != nil {
		j.more(c.Learned.Words)
	}
	for _, a := range c.Asks {
		if a != c.Advice && !slices.Contains(c.LookFor, a) {
			j.more(a)
		}
	}
	j.rule(c.Marks)
}

// plans writes the choices of packs that pass.
func (j job) plans(c *overhaul.Check) {
	if c.Reshim == nil || len(c.Reshim.Plans) == 0 {
		return
	}
	best := c.Reshim.Plans[0]
	if c.Advice != best.Words {
		j.more(sentence(c.Reshim.Words))
	}
	j.planPacks(best)
	for _, p := range c.Reshim.Plans[1:] {
		j.more("Also passes: " + p.Words)
	}
	if c.Reshim.CutShort {
		j.more("The stock has more choices than were tried: a better one may exist.")
	}
}

// planPacks writes what each pack becomes, with its leaves, and that a transfer
// keeps their sum.
func (j job) planPacks(p remedy.Plan) {
	var before, after quantity.Exact
	for _, c := range p.Changes {
		j.t.wrap(strings.Repeat(" ", moreIn+2), moreIn+4, sentence(c.Words))
		before, after = before.Add(c.Before), after.Add(c.After)
	}
	if len(p.Changes) == 2 && before.Equal(after) {
		j.t.wrap(strings.Repeat(" ", moreIn+2), moreIn+4, fmt.Sprintf("The two packs together: %s, unchanged.", j.length(after)))
	}
}

// rule writes where the advice on a marking comes from, and its warning.
func (j job) rule(m *remedy.MarkAdvice) {
	if m == nil || m.Good {
		return
	}
	if m.From != "" {
		j.more("This rule is from: " + m.From + ".")
	}
	if m.Warning != "" {
		j.more(m.Warning)
	}
}

// keep writes what both packs must become for a setting that was asked about.
func (j job) keep(p *overhaul.Pack) {
	if p.KeepWaits != "" {
		j.more("Asked about another setting: " + p.KeepWaits + ".")
	}
	if p.Keep == nil {
		return
	}
	j.more("Asked about another setting: " + p.Keep.Words)
	if len(p.Keep.Stock.Plans) == 0 {
		j.more("The stock has no leaves for it.")
		return
	}
	j.more("From the stock: " + p.Keep.Stock.Plans[0].Words)
	j.planPacks(p.Keep.Stock.Plans[0])
}

// noMakeup says what comes nearest and what that would do, and which one leaf
// would do.
func (j job) noMakeup(p *overhaul.Pack) {
	j.more("NO PACK of this stock comes near enough.")
	for _, n := range p.Near {
		j.more("Nearest: " + n.Pack.String() + ", " + j.off(n.Pack.Error, n.Does) + tooMany(n.TooMany) + ".")
	}
	if len(p.Near) > 0 {
		j.more("None of these is good: only the bay lead gives a concession, and has a reason written down.")
	}
	if o := p.Makeup.Order; o != nil {
		say := fmt.Sprintf("A leaf of %s would make it: %s", j.length(o.Size), o.Pack)
		if o.BreaksRules {
			say += fmt.Sprintf(", %d leaves, which the sheet does not allow", len(o.Pack.Leaves))
		}
		j.more(say + ". Or have a pack ground.")
	}
}

func tooMany(n int) string {
	switch n {
	case 0:
		return ""
	case 1:
		return "; 1 leaf more than the sheet allows"
	}
	return fmt.Sprintf("; %d leaves more than the sheet allows", n)
}

// twoWays says which of a pack's two ways decides, as the head of the closure
// with the other.
func twoWays(p *sheet.Pack) string {
	if p.ByChange {
		return "worked from the build before, which decides; from the measured lengths it is"
	}
	return "worked from the measured lengths, which decide; from the build before it is"
}
