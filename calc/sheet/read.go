package sheet

import (
	"fmt"
	"strings"

	"shimwright/calc/document"
	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// Limits of a sheet's size.
const (
	maxAxes  = 20
	maxFaces = 200
	maxSteps = 400
	maxItems = 200
)

// reader gathers a sheet while it is read.
type reader struct {
	doc     *document.Document
	sheet   *Sheet
	spec    network.Spec
	pending []pending // checks to make when all names are known
}

type pending struct {
	at    document.Pos
	check func() string // "" or what is wrong
}

// later queues a check of names for when the whole sheet was read.
func (r *reader) later(at document.Pos, check func() string) {
	r.pending = append(r.pending, pending{at, check})
}

// name notes where a name was written and refuses a second use of it.
func (r *reader) name(name string, at document.Pos) {
	if name == "" {
		return
	}
	if was, ok := r.sheet.at[name]; ok {
		r.doc.Fail(at, "the name %q was used already at line %d: give each face, length, step, shaft and wanted figure its own", name, was.Line)
		return
	}
	r.sheet.at[name] = at
}

// Read decodes a sheet and builds its network. The error joins all faults
// found, each a *document.Fault with file, line and column.
func Read(file string, text []byte) (*Sheet, error) {
	top, doc, err := document.Parse(file, text)
	if err != nil {
		return nil, err
	}
	r := &reader{doc: doc, sheet: &Sheet{file: file, Text: text, at: map[string]document.Pos{}}}
	f := top.Fields()
	r.head(f)
	r.axes(f.Need("axes", "axes: {pinion: [first face, next face, …]}, outward from the other gear"))
	r.shafts(f.Get("shafts"))
	r.drawn(f.Get("not measured"))
	r.wanted(f.Get("wanted"))
	r.stages(f.Need("stages", "the stages of the work, each with its steps"))
	example := f.Get("example")
	f.Done()
	r.build()
	if err := doc.Err(); err != nil {
		return nil, err
	}
	if example.Given() {
		r.sheet.Example = readExample(r.sheet, example)
	}
	if err := doc.Err(); err != nil {
		return nil, err
	}
	return r.sheet, nil
}

func (r *reader) head(f *document.Fields) {
	s := r.sheet
	s.ID = f.Need("sheet", "a short name for this type of drive").Name()
	s.Issue = f.Need("issue", "the issue number of this sheet").Whole(1, 9999)
	s.Title = f.Need("title", "the drive in words").Text()
	s.Manual = f.Need("manual", "where the limits come from: the manual and its part").Text()
	s.Unit, s.Places = quantity.MM, 3
	if f.Need("units", "mm or in: the unit the work is shown in").OneOf("mm", "in") == "in" {
		s.Unit, s.Places = quantity.Inch, 4
	}
	for _, c := range f.Get("cautions").List(20) {
		s.Cautions = append(s.Cautions, c.Text())
	}
	s.Guard = readGuard(f.Get("guard"))
	s.Materials = readMaterials(f.Get("materials"))
	s.ToTwenty = readToTwenty(f.Get("temperature"), s.Materials)
	r.gears(f.Get("gears"))
	for _, st := range f.Get("standards").Fields().All() {
		r.standard(st)
	}
}

// readGuard reads the guard factor: a number, or student t.
func readGuard(n document.Node) Guard {
	if !n.Given() {
		return Guard{K: quantity.MustExact("2")}
	}
	if n.IsText() && n.Text() == "student t" {
		return Guard{Student: true}
	}
	v := n.Number()
	if x := v.Exact(); x.Less(quantity.MustExact("1")) || quantity.MustExact("4").Less(x) {
		n.Fail("%q stands here: write a guard factor from 1 to 4, as in 2, or student t", v.Digits())
	}
	return Guard{K: v.Exact()}
}

func (r *reader) gears(n document.Node) {
	if !n.Given() {
		return
	}
	f := n.Fields()
	r.sheet.Gears = Gears{
		Pinion:   f.Need("pinion", "its number of teeth").Whole(3, 400),
		Wheel:    f.Need("wheel", "its number of teeth").Whole(3, 400),
		Shafts:   angle(f.Need("shafts", "the angle between the shafts, as in 90 deg"), 1, 180),
		Pressure: angle(f.Need("pressure", "the pressure angle, as in 20 deg"), 1, 90),
		Spiral:   angle(f.Need("spiral", "the spiral angle, 0 deg for straight teeth"), 0, 90),
	}
	f.Done()
}

func (r *reader) standard(field document.Field) {
	f := field.Value.Fields()
	st := Standard{
		Name:    field.Key,
		Nominal: above(f.Need("nominal", "its nominal size, as in 75 mm"), quantity.Length),
		Pieces:  1,
		Counts:  quantity.Whole(1),
	}
	if p := f.Get("side by side"); p.Given() {
		st.Pieces = p.Whole(2, 6)
	}
	if c := f.Get("counts"); c.Given() {
		st.Counts = c.Ratio()
		if st.Counts.Sign() <= 0 || st.Counts.Cmp(quantity.Whole(1)) > 0 {
			c.Fail("a standard counts more than nought and at most once its size, as in 1/2")
		}
	}
	f.Done()
	r.sheet.Standards = append(r.sheet.Standards, st)
}

func (r *reader) axes(n document.Node) {
	all := n.Fields().All()
	if len(all) > maxAxes {
		n.Fail("%d axes: at most %d are read", len(all), maxAxes)
		return
	}
	for _, a := range all {
		ax := network.Axis{Name: a.Key}
		for _, face := range a.Value.List(maxFaces) {
			name := face.Name()
			r.name(name, face.Pos())
			ax.Faces = append(ax.Faces, name)
		}
		r.spec.Axes = append(r.spec.Axes, ax)
		if _, ok := r.sheet.at[a.Key]; !ok {
			r.sheet.at[a.Key] = a.At
		}
	}
}

func (r *reader) shafts(n document.Node) {
	for _, field := range n.Fields().All() {
		r.name(field.Key, field.At)
		f := field.Value.Fields()
		s := Shaft{Shaft: network.Shaft{Name: field.Key}}
		for _, gear := range f.Get("carries").Fields().All() {
			if gear.Key != "pinion" && gear.Key != "wheel" {
				r.doc.Fail(gear.At, "%q is carried by no shaft: write pinion or wheel, and the wanted distance it sits by", gear.Key)
			}
			if s.Carries != "" {
				r.doc.Fail(gear.At, "%s carries the %s already: a shaft carries one gear of the bevel pair", field.Key, s.Carries)
			}
			s.Carries, s.Gear = gear.Key, gear.Value.Name()
		}
		bearings := f.Get("bearings").Fields()
		for _, b := range bearings.All() {
			s.Bearings = append(s.Bearings, readBearing(b))
		}
		s.LocatedBy = f.Get("located by").Name()
		if len(s.Bearings) > 0 && s.LocatedBy == "" {
			field.Value.Fail("write located by: the bearing whose pack places the gear")
		}
		f.Done()
		r.spec.Shafts = append(r.spec.Shafts, s.Shaft)
		r.sheet.Shafts = append(r.sheet.Shafts, s)
	}
}

func readBearing(b document.Field) network.Bearing {
	f := b.Value.Fields()
	from, to := pair(f.Need("touch", "the two faces that meet, as in [back race, back track]"))
	half, err := quantity.RatioOf(1, 2)
	if err != nil {
		half = quantity.Ratio{}
	}
	out := network.Bearing{Name: b.Key, From: from, To: to, Share: half}
	if s := f.Get("share"); s.Given() {
		out.Share = s.Ratio()
	}
	f.Done()
	return out
}

// pair reads the two faces of a length.
func pair(n document.Node) (from, to string) {
	items := n.List(maxFaces)
	if !n.Given() {
		return "", ""
	}
	if n.IsList() && len(items) != 2 {
		n.Fail("two faces are wanted here, as in [first face, later face]")
	}
	if len(items) != 2 {
		return "", ""
	}
	return items[0].Name(), items[1].Name()
}

func (r *reader) drawn(n document.Node) {
	for _, l := range n.Fields().All() {
		r.length(l.Key, l.At, l.Value, network.Found)
	}
}

// length adds a length to the network under its name.
func (r *reader) length(name string, at document.Pos, faces document.Node, kind network.Kind) {
	r.name(name, at)
	from, to := pair(faces)
	if from == "" || to == "" {
		return
	}
	r.spec.Lengths = append(r.spec.Lengths, network.Length{Name: name, From: from, To: to, Kind: kind})
}

func (r *reader) wanted(n document.Node) {
	for _, field := range n.Fields().All() {
		f := field.Value.Fields()
		w := Wanted{Name: field.Key, At: field.At, Given: true}
		switch {
		case f.Has("setting of"):
			r.name(field.Key, field.At)
			of := f.Get("setting of")
			w.SettingOf = of.Name()
			r.later(of.Pos(), func() string {
				if sh, ok := r.sheet.ShaftNamed(w.SettingOf); !ok || len(sh.Bearings) != 2 {
					return fmt.Sprintf("%q is no shaft with two bearings, so it has no setting", w.SettingOf)
				}
				return ""
			})
			r.setting(&w, f)
		default:
			r.length(field.Key, field.At, f.Need("between", "the two faces of the gap, or setting of: a shaft"), network.Wanted)
			w.State = r.states(f.Get("state"))
			r.aim(&w, f, "gap", f.Get("gap"), 1)
		}
		f.Done()
		r.sheet.Wanted = append(r.sheet.Wanted, w)
	}
}

// setting reads a float or a preload; a preload is kept below nought.
func (r *reader) setting(w *Wanted, f *document.Fields) {
	float, preload := f.Get("float"), f.Get("preload")
	switch {
	case float.Given() && preload.Given():
		preload.Fail("a setting is a float or a preload, not both")
	case float.Given():
		if r.aim(w, f, "float", float, 1); w.below(1) {
			float.Fail("a float is not below nought: write preload, with a figure above nought")
		}
	case preload.Given():
		if r.aim(w, f, "preload", preload, -1); w.below(-1) {
			preload.Fail("a preload is written above nought: write float, or take the sign away")
		}
	default:
		f.Node().Fail("write float or preload: a figure, or a band as in 0.05 mm .. 0.10 mm")
	}
}

// below tells whether a whole setting lies on the other side of nought from
// its word.
func (w *Wanted) below(sign int) bool {
	if !w.Banded {
		return w.Aim.Sign()*sign < 0
	}
	return w.Low.Sign()*sign < 0 && w.High.Sign()*sign < 0
}

// aim reads a figure or a band with its aim, the middle unless said.
func (r *reader) aim(w *Wanted, f *document.Fields, what string, n document.Node, sign int64) {
	if !n.Given() {
		f.Node().Fail("write %s: a figure, or a band as in 0.05 mm .. 0.10 mm", what)
		return
	}
	k := quantity.Whole(sign)
	aim := f.Get("aim")
	if !n.IsText() || !strings.Contains(n.Text(), " .. ") {
		w.Aim = n.Figure(quantity.Length).Exact().Times(k)
		if aim.Given() {
			aim.Fail("a single figure is its own aim: take this away or write a band")
		}
		return
	}
	b := n.Band(quantity.Length)
	w.Banded = true
	w.Low, w.High = b.Low.Exact().Times(k), b.High.Exact().Times(k)
	if sign < 0 {
		w.Low, w.High = w.High, w.Low
	}
	half, err := quantity.RatioOf(1, 2)
	if err != nil {
		return
	}
	w.Aim = w.Low.Add(w.High).Times(half)
	if aim.Given() {
		w.Aim = aim.Figure(quantity.Length).Exact().Times(k)
		if w.Aim.Less(w.Low) || w.High.Less(w.Aim) {
			aim.Fail("the aim lies outside its band")
		}
	}
}

// states reads {wheel shaft: held against wheel-back side}.
func (r *reader) states(n document.Node) []network.State {
	var out []network.State
	for _, f := range n.Fields().All() {
		st := network.State{Shaft: f.Key}
		words := f.Value.Name()
		bearing, held := strings.CutPrefix(words, "held against ")
		switch {
		case held:
			st.How, st.Bearing = network.HeldAgainst, bearing
		case words == "closed":
			st.How = network.Closed
		case words == "not said":
			st.How = network.NotSaid
		case words != "":
			f.Value.Fail("%q is no state: write held against and a bearing, closed, or not said", words)
		}
		r.later(f.Value.Pos(), func() string { return r.stateFault(st) })
		out = append(out, st)
	}
	return out
}

func (r *reader) stateFault(st network.State) string {
	s, ok := r.sheet.ShaftNamed(st.Shaft)
	switch {
	case !ok:
		return st.Shaft + " is no shaft of this sheet"
	case len(s.Bearings) != 2:
		return st.Shaft + " has no touches, so it has no state to say"
	case st.How == network.HeldAgainst && st.Bearing != s.Bearings[0].Name && st.Bearing != s.Bearings[1].Name:
		return st.Bearing + " is none of its bearings: write " + s.Bearings[0].Name + " or " + s.Bearings[1].Name
	}
	return ""
}

func (r *reader) stages(n document.Node) {
	steps := 0
	for _, item := range n.List(60) {
		f := item.Fields()
		st := Stage{Name: f.Need("stage", "its name").Name()}
		for _, c := range f.Get("cautions").List(20) {
			st.Cautions = append(st.Cautions, c.Text())
		}
		for _, step := range f.Need("steps", "the steps in the order of work").List(maxItems) {
			if steps++; steps > maxSteps {
				step.Fail("more than %d steps", maxSteps)
				return
			}
			if s := r.step(step, st.Name); s != nil {
				st.Steps = append(st.Steps, s)
			}
		}
		f.Done()
		r.sheet.Stages = append(r.sheet.Stages, st)
	}
}
