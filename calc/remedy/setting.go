package remedy

import (
	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// A SettingChange is a setting that is to change while the gear, and with it
// the backlash, stays.
type SettingChange struct {
	Gear string
	// Packs are the shaft's two packs, each with its Row in the state that the
	// shaft is to be in afterwards.
	Packs []Pack
	// Was is each pack's row in the state that the shaft is in now; equal to
	// Row where the state stays.
	Was       []network.Row
	Now, Then quantity.Exact // mm, the setting: float above nought, preload below
	Within    quantity.Exact // mm, how near the setting must come
	Stay      quantity.Exact // mm, the most the gear may move
	// StateNow and StateThen are in words: "held against the wheel-back side",
	// "closed".
	StateNow, StateThen string
	Answers             int // plans wanted; nought takes one
	Show                Display
}

// A SettingAdvice is what each pack must change by, exactly, and what the stock
// has for it.
type SettingAdvice struct {
	Exact [2]quantity.Exact // mm, thicker above nought, in the order of the packs
	Words string
	Stock Advice // Window, Move and the ring parts of its plans are not used
}

// KeepBacklash works out a change of the setting that leaves the gear where it
// is. With the same state before and after, the changes are the two rows'. From
// one state to another the gear moves by the squeeze alone, too: by
// (T₁ − T₀)·F₀ with the packs as they are, where one more of setting moves the
// gear by T₀ in the state now and by T₁ in the state afterwards; their
// difference follows from the rows, as (Row.Gear − Was.Gear) ÷ Float of either
// pack. How squeeze is shared is derived, without a published source.
func KeepBacklash(in SettingChange) (SettingAdvice, error) {
	if err := in.check(); err != nil {
		return SettingAdvice{}, err
	}
	apart, err := in.part()
	if err != nil {
		return SettingAdvice{}, err
	}
	drift := in.Now.Times(apart) // what the change of state alone moves the gear by
	change := in.Then.Sub(in.Now)
	stay := span{drift.Neg().Sub(in.Stay), drift.Neg().Add(in.Stay)}
	j, err := newJob(in.Packs, whole(1), wish{
		float: span{change.Sub(in.Within), change.Add(in.Within)}, fAim: change,
		y: stay, move: stay, yAim: drift.Neg(),
	})
	if err != nil {
		return SettingAdvice{}, err
	}
	j.task.grain, j.task.answers = grainOf(in.Within), in.Answers
	out := SettingAdvice{Exact: j.ideal(change, drift.Neg())}
	out.Words = in.words(out.Exact)
	in.stock(j, drift, &out)
	return out, nil
}

// stock adds the plans.
func (in SettingChange) stock(j *job, drift quantity.Exact, out *SettingAdvice) {
	choices, cut := j.task.choose()
	out.Stock.CutShort = cut
	if len(choices) == 0 {
		j.explain(&out.Stock, in.Gear, quantity.Exact{}, in.Show)
		out.Stock.Words = "No pack: the stock has no leaves for this change. " + out.Words
		return
	}
	for _, c := range choices {
		p := j.plan(in.Gear, c, Setting{Figure: &in.Now}, in.Show)
		p.Move = p.Move.Add(drift)
		p.Words = p.words(in.Show)
		for i := range p.Changes {
			p.Changes[i].Exact = in.Packs[i].Figure.Add(out.Exact[i])
		}
		out.Stock.Plans = append(out.Stock.Plans, p)
	}
	out.Stock.Words = out.Stock.Plans[0].Words
}

// part is T₁ − T₀. Both packs must say the same.
func (in SettingChange) part() (quantity.Ratio, error) {
	var found []quantity.Ratio
	for i, p := range in.Packs {
		if !p.Row.Float.Equal(in.Was[i].Float) {
			return quantity.Ratio{}, problem(packField(i)+", row", "one more of it changes the setting by %s in one state and %s in the other: a state does not change that", in.Was[i].Float, p.Row.Float)
		}
		diff := p.Row.Gear.Sub(in.Was[i].Gear)
		per, err := p.Row.Float.Inverse()
		if err != nil {
			if !diff.IsZero() {
				return quantity.Ratio{}, problem(packField(i)+", row", "it does not touch the setting, so it moves the gear alike in every state; the rows differ by %s", diff)
			}
			continue
		}
		found = append(found, diff.Mul(per))
	}
	if len(found) == 0 {
		return quantity.Ratio{}, problem("rows", "neither pack changes the setting: name the pack that does")
	}
	if len(found) == 2 && !found[0].Equal(found[1]) {
		return quantity.Ratio{}, problem("rows", "the two packs' rows do not speak of the same two states")
	}
	return found[0], nil
}

func (in SettingChange) check() error {
	if err := checkGear("gear", in.Gear); err != nil {
		return err
	}
	if err := checkPacks(in.Packs, 2); err != nil {
		return err
	}
	if len(in.Was) != 2 {
		return problem("rows as they were", "%d of them: give one for each pack", len(in.Was))
	}
	for i, r := range in.Was {
		if err := checkRatio(packField(i)+", float of the row as it was", r.Float); err != nil {
			return err
		}
		if err := checkRatio(packField(i)+", gear of the row as it was", r.Gear); err != nil {
			return err
		}
	}
	for _, f := range []struct {
		field string
		x     quantity.Exact
	}{{"setting now", in.Now}, {"setting wanted", in.Then}} {
		if err := checkLength(f.field, f.x); err != nil {
			return err
		}
	}
	if err := checkNotNegative("within", in.Within); err != nil {
		return err
	}
	if err := checkNotNegative("stay", in.Stay); err != nil {
		return err
	}
	if in.Answers < 0 || in.Answers > mostAnswers {
		return problem("answers", "%d asked for: ask for 1 to %d", in.Answers, mostAnswers)
	}
	return in.Show.check("show")
}

func (in SettingChange) words(by [2]quantity.Exact) string {
	s := "Setting from " + settingFigure(in.Now, in.Show) + stateIn(in.StateNow) + " to " +
		settingFigure(in.Then, in.Show) + stateIn(in.StateThen) + ", " + in.Gear + " stays where it is:"
	for i, p := range in.Packs {
		switch by[i].Sign() {
		case +1:
			s += " add " + in.Show.figure(by[i]) + " " + p.Place
		case -1:
			s += " take " + in.Show.figure(by[i].Neg()) + " from " + p.Place
		default:
			s += " leave what is " + p.Place
		}
		if i == 0 {
			s += ","
		}
	}
	return s + "."
}

func stateIn(state string) string {
	if state == "" {
		return ""
	}
	return " (" + state + ")"
}
