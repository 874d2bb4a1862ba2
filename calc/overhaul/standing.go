package overhaul

import (
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
