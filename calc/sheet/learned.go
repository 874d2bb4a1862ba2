package sheet

import (
	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
)

// maxEarlier bounds the earlier re-shims of one check.
const maxEarlier = 500

// moveFactor reads what one unit of wheel move adds to a backlash: a figure, or
// "learned", which takes what earlier re-shims found once three of them tell.
func (r *reader) moveFactor(c *Check, k document.Node) {
	if !k.Given() {
		return
	}
	if k.IsText() && k.Name() == "learned" {
		c.Learned = true
		r.later(k.Pos(), func() string {
			if r.sheet.Gears.Wheel == 0 {
				return "a learned factor wants gears in the head of the sheet: until three re-shims tell, it is worked from them"
			}
			return ""
		})
		return
	}
	c.Factor = k.Number()
	if x := c.Factor.Exact(); x.Sign() <= 0 || quantity.MustExact("2").Less(x) {
		k.Fail("%q stands here: write what one unit of wheel move adds to this backlash, above 0 and at most 2, as in 0.80; or learned", c.Factor.Digits())
	}
}

// readEarlier reads re-shims that were judged on other drives of this type:
// {backlash: [{moved: {wheel: TOWARD, by: 0.15 mm}, mean changed: -0.12 mm}]}.
func readEarlier(s *Sheet, n document.Node) map[string][]remedy.Earlier {
	if !n.Given() {
		return nil
	}
	out := map[string][]remedy.Earlier{}
	for _, f := range n.Fields().All() {
		if st, ok := s.Step(f.Key); !ok || st.Check == nil || st.Check.What != Backlash {
			f.Value.Fail("%q is no check of backlash of sheet %s", f.Key, s.ID)
			continue
		}
		for _, item := range f.Value.List(maxEarlier) {
			out[f.Key] = append(out[f.Key], readOneEarlier(item))
		}
	}
	return out
}

func readOneEarlier(n document.Node) remedy.Earlier {
	f := n.Fields()
	var out remedy.Earlier
	moved := f.Need("moved", "what the packs as measured moved, as in {wheel: TOWARD, by: 0.15 mm}").Fields()
	toward := moved.Need("wheel", "TOWARD or AWAY").OneOf("TOWARD", "AWAY") == "TOWARD"
	out.Move = notBelow(moved.Need("by", "how far, as in 0.15 mm"), quantity.Length).Exact()
	if toward {
		out.Move = out.Move.Neg()
	}
	moved.Done()
	out.Change = f.Need("mean changed", "the mean of the ring after it less the mean before, as in -0.12 mm").Figure(quantity.Length).Exact()
	if u := f.Get("uncertainty"); u.Given() {
		out.U = notBelow(u, quantity.Length).Exact()
	}
	f.Done()
	return out
}

// seal reads {with: 40.0 N, without: 36.0 N}.
func (it item) seal(n document.Node) []Entry {
	if !it.step.Check.SealMeasured {
		n.Fail("the sheet does not ask for the seal's drag here: it says seal drag: measured where it does")
	}
	f := n.Fields()
	with := above(f.Need("with", "the steady pull with the seal in, as in 40.0 N"), quantity.Force)
	without := above(f.Need("without", "the steady pull without it, as in 36.0 N"), quantity.Force)
	f.Done()
	if with.Exact().Less(without.Exact()) {
		n.Fail("the pull with the seal, %s, is less than the one without, %s: are they the other way round?", with, without)
	}
	it.base.Kind, it.base.Measured = EntrySeal, []quantity.Value{with, without}
	return []Entry{it.base}
}

// keepBacklash reads {preload: 0.12 mm} or {float: 0.05 mm, held against:
// wheel-back side}: a setting that is asked about, and changes nothing.
func (it item) keepBacklash(n document.Node) []Entry {
	f := n.Fields()
	it.base.Kind = EntrySetting
	w, ok := it.sheet.WantedNamed(it.step.Pack.Makes)
	shaft, has := it.sheet.ShaftNamed(w.SettingOf)
	if !ok || w.SettingOf == "" || !has || shaft.Gear == "" {
		n.Fail("ask this at the pack that makes the setting of a shaft that carries a gear; %s does not", it.step.Name)
	}
	if p := f.Get("preload"); p.Given() {
		it.base.Value = notBelow(p, quantity.Length).Neg()
		f.Done()
		return []Entry{it.base}
	}
	it.base.Value = notBelow(f.Need("float", "the setting asked about: float or preload, as in {preload: 0.12 mm}"), quantity.Length)
	if h := f.Get("held against"); h.Given() {
		var names []string
		for _, b := range shaft.Bearings {
			names = append(names, b.Name)
		}
		it.base.Text = h.OneOf(names...)
	}
	f.Done()
	return []Entry{it.base}
}
