package overhaul

import (
	"fmt"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/sheet"
)

// standings works where each wanted figure stands with what is in.
func (w *worker) standings() []Standing {
	var out []Standing
	for _, wd := range w.sheet.Wanted {
		form, err := w.sheet.Target(wd)
		if loose := w.loose(wd); loose != "" {
			if s, ok := w.standingRange(wd, loose+" has float"); ok {
				out = append(out, s)
			}
			continue
		}
		if err == nil {
			if f := w.through(wd.Name, form); f != nil {
				out = append(out, Standing{wd.Name, f, f, stateWords(wd)})
			}
			continue
		}
		if s, ok := w.standingRange(wd, "its shaft's state is not said"); ok {
			out = append(out, s)
		}
	}
	return out
}

func (w *worker) through(name string, form network.Form) *Figure {
	form, err := w.sheet.Net.Through(form)
	if err != nil {
		return nil
	}
	f, _, lack := w.formFigure(name, form, false)
	if lack != nil {
		return nil
	}
	return f
}

// loose is the shaft that a wanted distance is worked with closed, and that has
// float with what is in: "" where none is. Half of a float is no share of a
// squeeze.
func (w *worker) loose(wd sheet.Wanted) string {
	for _, st := range wd.State {
		if st.How != network.Closed {
			continue
		}
		form, err := w.sheet.Net.Setting(st.Shaft)
		if err != nil {
			continue
		}
		if f := w.through(st.Shaft, form); f != nil && f.Value.Sign() > 0 {
			return st.Shaft
		}
	}
	return ""
}

// standingRange is where a gear sits whose shaft lies anywhere in its float: from
// held against the one bearing to held against the other.
func (w *worker) standingRange(wd sheet.Wanted, state string) (Standing, bool) {
	shaft, ok := w.sheet.ShaftOfGear(wd.Name)
	if !ok || len(shaft.Bearings) != 2 {
		return Standing{}, false
	}
	var ends []*Figure
	for _, b := range shaft.Bearings {
		form, err := w.sheet.Net.Position(wd.Name, network.State{Shaft: shaft.Name, How: network.HeldAgainst, Bearing: b.Name})
		if err != nil {
			return Standing{}, false
		}
		f := w.through(wd.Name, form)
		if f == nil {
			return Standing{}, false
		}
		ends = append(ends, f)
	}
	if ends[1].Value.Less(ends[0].Value) {
		ends[0], ends[1] = ends[1], ends[0]
	}
	return Standing{wd.Name, ends[0], ends[1], state}, true
}

func stateWords(wd sheet.Wanted) string {
	var out []string
	for _, s := range wd.State {
		out = append(out, s.Shaft+" "+s.String())
	}
	return strings.Join(out, ", ")
}

// squeezeWords says what a preload alone does to the gear of a shaft whose
// distance is worked with the shaft held to one side: closed, each bearing
// gives its share of the squeeze (own mechanics, no published source, so it is
// said with that doubt).
func (w *worker) squeezeWords(st *sheet.Step) string {
	set, ok := w.sheet.WantedNamed(st.Pack.Makes)
	if !ok || set.SettingOf == "" || set.Aim.Sign() >= 0 {
		return ""
	}
	shaft, _ := w.sheet.ShaftNamed(set.SettingOf)
	wd, ok := w.sheet.WantedNamed(shaft.Gear)
	if !ok {
		return ""
	}
	held, err := w.sheet.Net.Position(wd.Name, wd.State...)
	if err != nil {
		return ""
	}
	closed, err := w.sheet.Net.Position(wd.Name, network.State{Shaft: shaft.Name, How: network.Closed})
	if err != nil {
		return ""
	}
	move := set.Aim.Times(closed.OfSetting(shaft.Name).Sub(held.OfSetting(shaft.Name)))
	if move.IsZero() {
		return ""
	}
	return fmt.Sprintf("Once closed, the squeeze alone moves the %s %s %s by the bearings' shares (own mechanics, no published source: take the backlash again).",
		shaft.Carries, move.Abs().ShowUnit(w.sheet.Unit, w.sheet.Places), network.WayWord(shaft.Carries, move.Sign()))
}
