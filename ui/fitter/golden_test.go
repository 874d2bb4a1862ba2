package fitter

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/google/go-cmp/cmp"

	"shimwright/calc/quantity"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ui/draw"
	"shimwright/ui/term"
)

var update = flag.Bool("update", false, "write the golden frames anew")

// golden compares a frame with its file: the text, then where it stands out.
func golden(t *testing.T, name string, v *view) {
	t.Helper()
	hold(t, name, drawing(t, v))
}

// hold compares a text with its file.
func hold(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name+".txt")
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s has changed; look at it, then run with -update (-want +got):\n%s", path, d)
	}
}

// drawing is a frame as text, held to its window.
func drawing(t *testing.T, v *view) string {
	t.Helper()
	lines := frame(v)
	if len(lines) != v.height {
		t.Errorf("the frame has %d lines in a window of %d", len(lines), v.height)
	}
	var text, tones strings.Builder
	for i, l := range lines {
		if n := l.cells(); n > v.width {
			t.Errorf("line %d takes %d cells of %d: %q", i, n, v.width, l.text())
		}
		fmt.Fprintf(&text, "%s\n", strings.TrimRight(visible(l.text()), " "))
		row := ""
		for _, s := range l {
			row += strings.Repeat(string(".fsgwXb"[s.tone]), cells(s.text))
		}
		fmt.Fprintf(&tones, "%s\n", strings.TrimRight(row, "."))
	}
	return text.String() + "--- tones: s strong, g good, w warn, X stop, b bar, f faint ---\n" + strings.TrimRight(tones.String(), "\n") + "\n"
}

// scenes are the situations worth looking at.
func scenes(t *testing.T) map[string]func(width, height int) *view {
	plainScene := func(make func() *scene) func(int, int) *view {
		return func(w, h int) *view { return make().view(w, h) }
	}
	face := func() *scene { return worked(t, "pinion face height") }
	ready := func() *scene { return face().pieces("tall post", "S-31", "75.004", "straightedge", "E-02", "12.006") }
	return map[string]func(int, int) *view{
		"first step": plainScene(func() *scene { return newScene(t) }),
		"nothing open": func(w, h int) *view {
			s := newScene(t)
			return &view{snap: &bench.Snapshot{Bench: "bay 2", Gauges: s.gauges}, width: w, height: h, now: s.now}
		},
		"gauges starting": plainScene(func() *scene {
			s := newScene(t)
			for i, state := range []string{"starting", "refused", "gone", "starting", "starting"} {
				s.gauges[i].State = state
			}
			return s
		}),
		"mark form": func(w, h int) *view {
			v := worked(t, "pinion distance").view(w, h)
			v.form = entryForm(v, v.shown())
			v.form.fields[0].typed = "+8"
			return v
		},
		"mark read back": func(w, h int) *view {
			v := worked(t, "pinion distance").view(w, h)
			v.form = entryForm(v, v.shown())
			v.form.fields[0].typed = "+8"
			v.form.enter()
			return v
		},
		"pieces missing":   plainScene(face),
		"no press":         plainScene(ready),
		"one press":        plainScene(func() *scene { return ready().press("D07", "33.38 mm") }),
		"three presses":    plainScene(func() *scene { return ready().press("D07", "33.38 mm", "33.37 mm", "33.39 mm") }),
		"presses disagree": plainScene(func() *scene { return ready().press("D07", "33.38 mm", "33.35 mm", "33.39 mm") }),
		"held wrong unit": plainScene(func() *scene {
			s := ready().press("D07", "33.38 mm")
			s.send("D07", mm("1.314"), false, nil)
			return s
		}),
		"held outside": plainScene(func() *scene { return ready().press("D07", "33.38 mm", "3.38 mm") }),
		"aside bad frame": plainScene(func() *scene {
			s := ready().press("D07", "33.38 mm")
			s.send("D07", mm("0"), true, errBad)
			return s
		}),
		"aside wrong gauge": plainScene(func() *scene { return ready().press("I03", "0.38 mm") }),
		"end of a job": func(w, h int) *view {
			v := ready().view(w, h)
			v.form = endForm(v)
			return v
		},
		"open before sign-off": func(w, h int) *view {
			v := ready().view(w, h)
			v.snap.Unfinished = []string{
				"press 41 at backlash is held",
				"backlash is stale (Metal was changed since, now build 4: 270 deg is from build 3. Take it again)",
				"the whole job is on hold: no oil seals",
			}
			v.page = unfinishedPage()
			return v
		},
		"gauge gone": plainScene(func() *scene {
			s := ready().press("D07", "33.38 mm")
			s.gauges[0].State, s.gauges[0].Words = "gone", "the port was closed"
			return s
		}),
		"training": plainScene(func() *scene {
			s := ready()
			s.source = 2
			return s.press("D07", "33.38 mm")
		}),
		"pack worked": plainScene(func() *scene { return worked(t, "pinion pack") }),
		"pack fitted looked at": func(w, h int) *view {
			v := worked(t, "wheel run-out").view(w, h)
			v.choosing = "pinion pack"
			return v
		},
		"pack half measured": plainScene(func() *scene { return worked(t, "pinion pack").press("M02", "1.352 mm") }),
		"pack measured":      plainScene(func() *scene { return worked(t, "pinion pack").press("M02", "1.352 mm", "1.351 mm") }),
		"pack to be fitted anew": plainScene(func() *scene {
			s := worked(t, "backlash").ring("0.34", "0.33", "0.35", "0.34")
			return s.put(fact.MoveWanted{Step: "backlash", Gear: "wheel", By: mm("-0.20")}).goTo("wheel pack")
		}),
		"marking not good": plainScene(func() *scene {
			return worked(t, "contact marking").put(fact.Seen{Step: "contact marking", Marks: map[string]string{"drive": "heel", "coast": "central"}})
		}),
		"trial pack": plainScene(func() *scene { return worked(t, "trial closing pack") }),
		"negative pack": plainScene(func() *scene {
			return worked(t, "pinion pack").mark("casing distance", "+299").goTo("pinion pack")
		}),
		"pack asked": plainScene(func() *scene {
			return worked(t, "overall height").pieces("overall post", "S-51", "200.011")
		}),
		"closing pack": plainScene(func() *scene { return worked(t, "closing pack") }),
		"torque judged high": plainScene(func() *scene {
			return worked(t, "pinion turning torque").press("F05", "66.0 N", "65.5 N", "66.5 N", "66.0 N")
		}),
		"run-out under way": plainScene(func() *scene { return worked(t, "wheel run-out").press("I03", "0.52 mm", "0.53 mm") }),
		"backlash under way": plainScene(func() *scene {
			return worked(t, "backlash").press("I03", "0.21 mm", "0.21 mm", "0.20 mm")
		}),
		"backlash judged":    plainScene(func() *scene { return worked(t, "backlash").ring("0.34", "0.33", "0.35", "0.34") }),
		"backlash too close": plainScene(func() *scene { return worked(t, "backlash").ring("0.245", "0.24", "0.235", "0.24") }),
		"backlash spread":    plainScene(func() *scene { return worked(t, "backlash").ring("0.16", "0.22", "0.30", "0.24") }),
		"stale ring":         plainScene(func() *scene { return worked(t, "contact marking").fit("wheel pack", "1.472").goTo("backlash") }),
		"marking":            plainScene(func() *scene { return worked(t, "contact marking") }),
		"strike armed": func(w, h int) *view {
			v := ready().press("D07", "33.38 mm").view(w, h)
			p, _ := v.strikable()
			v.striking = p.Seq
			return v
		},
		"struck": plainScene(func() *scene {
			s := ready().press("D07", "33.38 mm", "33.37 mm")
			return s.put(fact.Struck{Press: s.seq, Reason: "struck at the bench by Backspace twice"})
		}),
		"trouble": func(w, h int) *view {
			v := ready().press("D07", "33.38 mm").view(w, h)
			v.snap.Trouble = "NOT RECORDED: 33.37 mm from D07. not recorded: the disk is full"
			return v
		},
		"form refused": func(w, h int) *view {
			v := worked(t, "pinion pack").view(w, h)
			v.form = entryForm(v, v.shown())
			v.form.fields[0].typed = "1.35 cubits"
			v.form.failed(fmt.Errorf("%q is not a unit known here: write one of mm, in, thou", "cubits"))
			return v
		},
		"list": func(w, h int) *view {
			v := worked(t, "backlash").ring("0.34", "0.33", "0.35", "0.34").view(w, h)
			v.page = &page{steps: true, title: "the steps", top: 22}
			return v
		},
		"why": func(w, h int) *view {
			v := worked(t, "pinion pack").view(w, h)
			v.page = whyPage(v)
			return v
		},
		"all done": plainScene(func() *scene { return worked(t, "") }),
	}
}

// moreScenes are the pages and forms, and the looks.
func moreScenes(t *testing.T) map[string]func(width, height int) *view {
	wide := func() *scene { return worked(t, "backlash").ring("0.34", "0.33", "0.35", "0.34") }
	face := func() *scene {
		return worked(t, "pinion face height").pieces("tall post", "S-31", "75.004", "straightedge", "E-02", "12.006")
	}
	show := func(make func() *scene, change func(*view)) func(int, int) *view {
		return func(w, h int) *view {
			v := make().view(w, h)
			change(v)
			return v
		}
	}
	at := func(step string) func() *scene { return func() *scene { return worked(t, step) } }
	return map[string]func(int, int) *view{
		"page ring":           show(wide, func(v *view) { v.page = drawPage(v) }),
		"page ring begun":     show(func() *scene { return worked(t, "backlash").ring("0.21", "0.20") }, func(v *view) { v.page = drawPage(v) }),
		"page ring ascii":     show(wide, func(v *view) { v.ascii = true; v.page = drawPage(v) }),
		"page pack":           show(at("pinion pack"), func(v *view) { v.page = drawPage(v) }),
		"page setup":          show(face, func(v *view) { v.page = drawPage(v) }),
		"page marking":        show(at("contact marking"), func(v *view) { v.page = drawPage(v) }),
		"page sum":            show(wide, func(v *view) { v.page = sumPage(v) }),
		"page why of presses": show(func() *scene { return face().press("D07", "33.38 mm") }, func(v *view) { v.page = whyPage(v) }),
		"page why of a record": show(func() *scene { return newScene(t).answer("pinion pair number", "P-4417").goTo("x") },
			func(v *view) { v.choosing = "pinion pair number"; v.page = whyPage(v) }),
		"page keys":         show(face, func(v *view) { v.page = keysPage() }),
		"form marking":      show(at("contact marking"), func(v *view) { v.form = entryForm(v, v.shown()) }),
		"form metal":        show(face, func(v *view) { v.form = metalForm(v, v.shown()); v.form.at = 1 }),
		"form jobs":         show(face, func(v *view) { v.form = jobsForm(v) }),
		"word taken":        show(func() *scene { return face().press("D07", "33.38 mm") }, func(v *view) { v.saidAt = v.now }),
		"word held":         show(func() *scene { return face().press("D07", "3.38 mm") }, func(v *view) { v.saidAt = v.now }),
		"in inches":         show(func() *scene { return face().press("D07", "33.38 mm") }, func(v *view) { v.unit = quantity.Inch; v.take(v.snap) }),
		"decimal comma":     show(at("pinion pack"), func(v *view) { v.comma = true }),
		"plain characters":  show(func() *scene { return face().press("D07", "33.38 mm") }, func(v *view) { v.ascii = true }),
		"form more":         show(face, func(v *view) { v.snap.Gauges[0].Checked = v.now.AddDate(0, 0, -1); v.form = moreForm(v) }),
		"form warmth":       show(face, func(v *view) { v.form = warmthForm(v) }),
		"form setting":      show(at("closing pack"), func(v *view) { v.form = settingForm(v) }),
		"form concession":   show(wide, func(v *view) { v.form = concedeForm(v) }),
		"piece check waits": show(face, func(v *view) { v.snap.Gauges[0].Next = "S-31" }),
		"piece check due":   show(face, func(v *view) { v.snap.Gauges[0].Checked = v.now.AddDate(0, 0, -1) }),
		"piece check out": show(face, func(v *view) {
			f := mm("75.05")
			v.snap.Last = &bench.Said{Seq: 900, Press: fact.Pressed{Gauge: "D07", Value: &f, Arrived: v.now, Outcome: fact.Held,
				Sentence: "D07 shows 75.05 mm on S-31, 75.004 mm: 0.046 mm off, and at most 0.02 mm is allowed.",
				Do:       "Clean the gauge and the piece and check again; then take another gauge."}}
		}),
		"let be": show(func() *scene {
			s := wide()
			found := s.snapshot().Results.Of("backlash").Check.Words
			return s.put(fact.Conceded{Step: "backlash", What: "backlash", Found: found, Reason: "the customer takes it so", By: fact.Signature{Initials: "RK", By: fact.ByInitials}})
		}, func(v *view) { v.choosing = "backlash" }),
		"refused at length": show(face, func(v *view) {
			v.note = note{bad: true, text: "S-99 is no piece of this bench: read the number on it again, or certify it (shimwright pieces certify), and then draw it here"}
		}),
		"shop up to date": show(face, func(v *view) { v.shop = Shop{Words: "shop: up to date"} }),
		"shop waits":      show(face, func(v *view) { v.shop = Shop{Words: "shop: 120 facts waiting since 14:02"} }),
		"shop stopped": show(face, func(v *view) {
			v.shop = Shop{Look: true, Words: "Shop: a copy of this bench's journal ships too: from fact 812 on the shop has others under this bench's name. A disk that was copied, or a backup that was worked on, runs as a second bench: nothing of this one is shipped until one of them is stopped and goes on under a new name"}
		}),
		"on hold": show(func() *scene {
			return face().put(fact.OnHold{Step: "pinion face height", Reason: "parts are waited for"})
		}, func(*view) {}),
	}
}

func TestMoreFrames(t *testing.T) {
	for name, make := range moreScenes(t) {
		file := strings.ReplaceAll(name, " ", "-")
		t.Run(file, func(t *testing.T) {
			golden(t, file+".80x24", make(80, 24))
			golden(t, file+".132x43", make(132, 43))
		})
	}
}

// What is told in plain lines is what the screen shows.
func TestTold(t *testing.T) {
	for name, s := range map[string]*scene{
		"three presses":    worked(t, "pinion face height").pieces("tall post", "S-31", "75.004", "straightedge", "E-02", "12.006").press("D07", "33.38 mm", "33.37 mm"),
		"backlash judged":  worked(t, "backlash").ring("0.34", "0.33", "0.35", "0.34"),
		"pack worked":      worked(t, "pinion pack"),
		"marking not good": worked(t, "contact marking").put(fact.Seen{Step: "contact marking", Marks: map[string]string{"drive": "high", "coast": "high"}}),
		"all done":         worked(t, ""),
	} {
		var b strings.Builder
		if err := Tell(&b, s.snapshot(), Options{Now: func() time.Time { return s.now }}); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(b.String(), "█") {
			t.Errorf("%s: block figures are no words", name)
		}
		path := filepath.Join("testdata", "told-"+strings.ReplaceAll(name, " ", "-")+".txt")
		if *update {
			if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(string(want), b.String()); d != "" {
			t.Errorf("%s (-want +got):\n%s", path, d)
		}
	}
}

func TestFrames(t *testing.T) {
	for name, make := range scenes(t) {
		file := strings.ReplaceAll(name, " ", "-")
		t.Run(file, func(t *testing.T) {
			golden(t, file+".80x24", make(80, 24))
			golden(t, file+".132x43", make(132, 43))
		})
	}
}

// On a wall the figures are larger.
func TestWallFrames(t *testing.T) {
	all := everyScene(t)
	for _, name := range []string{"one press", "word held", "backlash judged", "pack worked", "all done", "negative pack", "torque judged high", "page ring"} {
		golden(t, strings.ReplaceAll(name, " ", "-")+".200x60", all[name](200, 60))
	}
}

// Without colour, what is to stand out stands out by weight, and what must stop
// is turned round.
func TestMonochromeFrames(t *testing.T) {
	all := everyScene(t)
	for _, name := range []string{"one press", "held outside", "negative pack", "backlash judged", "all done", "form refused"} {
		monochrome(t, strings.ReplaceAll(name, " ", "-")+".mono", all[name](80, 24))
	}
}

// monochrome draws a frame into cells without colour, and holds text and weights
// to a golden file: b bold, r bold and turned round, d dim.
func monochrome(t *testing.T, file string, v *view) {
	t.Helper()
	screen := tcell.NewSimulationScreen("UTF-8")
	if err := screen.Init(); err != nil {
		t.Fatal(err)
	}
	defer screen.Fini()
	screen.SetSize(v.width, v.height)
	c := &term.Canvas{NoColor: true, Far: true, Frame: func(int, int) []draw.Row { return rows(frame(v)) }, Drawn: func() {}}
	c.SetRect(0, 0, v.width, v.height)
	c.Draw(screen)
	screen.Show()
	cells, width, _ := screen.GetContents()
	var text, weights strings.Builder
	for i, cell := range cells {
		if i > 0 && i%width == 0 {
			text.WriteByte('\n')
			weights.WriteByte('\n')
		}
		fg, bg, attr := cell.Style.Decompose()
		if fg != tcell.ColorDefault || bg != tcell.ColorDefault {
			t.Fatalf("cell %d has a colour", i)
		}
		text.WriteString(string(cell.Runes))
		weights.WriteByte(map[tcell.AttrMask]byte{tcell.AttrBold: 'b', tcell.AttrBold | tcell.AttrReverse: 'r', tcell.AttrDim: 'd'}[attr])
	}
	hold(t, file, text.String()+"\n--- weights ---\n"+strings.ReplaceAll(weights.String(), "\x00", ".")+"\n")
}

func TestSmallWindow(t *testing.T) {
	for _, size := range [][2]int{{79, 24}, {80, 23}, {40, 10}, {12, 4}, {1, 1}, {0, 0}} {
		v := newScene(t).view(size[0], size[1])
		text := drawing(t, v)
		if size[0] >= 40 && !strings.Contains(text, "Make it larger") {
			t.Errorf("%dx%d: %s", size[0], size[1], text)
		}
	}
}
