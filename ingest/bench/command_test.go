//go:build unix

package bench

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/overhaul"
	"shimwright/ingest/fact"
)

// Commands of each kind, carried out and refused, in the order of a job. A
// refused one records nothing and changes nothing.
func TestCommands(t *testing.T) {
	r := newRig(t)
	for _, c := range []struct {
		command Command
		words   string // of the reply
		refused string // of the error
	}{
		{ChooseStep{"cover recess"}, "", "no job is open"},
		{DrawPiece{"tall post", "S-31"}, "", "no job is open"},
		{Strike{Reason: "x"}, "", "no job is open"},
		{Take{1, "x"}, "", "no job is open"},
		{Metal{"backlash", []string{"pinion pack"}, "x"}, "", "no job is open"},
		{OpenJob{Sheet: "nosuch", Serial: "17"}, "", "nosuch"},
		{OpenJob{Sheet: "fw3", Serial: " "}, "", "the drive's serial number is empty"},
		{OpenJob{Sheet: "fw3", Serial: "17\x1b[2J"}, "", "do not print"},
		{OpenJob{Sheet: "fw3", Serial: "17\u202e"}, "", "do not print"},
		{OpenJob{Sheet: "fw3", Serial: "\xff"}, "", "do not print"},
		{OpenJob{Sheet: "fw3", Serial: strings.Repeat("7", 301)}, "", "301 characters"},
		{OpenJob{Sheet: "fw3", Serial: " 17 № "}, "Job 0001 is open: Harrow FW3", ""},

		{ChooseStep{"oil"}, "", `"oil" is no step of sheet fw3`},
		{ChooseStep{"pinion distance"}, "Now at pinion distance.", ""},

		{Record{"oil", "x"}, "", "no step"},
		{Record{"pinion distance", "x"}, "", "is a mark step"},
		{Record{"pinion pair number", "\n"}, "", "empty"},
		{Record{"pinion pair number", "a\nb"}, "", "do not print"},
		{Record{"pinion pair number", "P-4417"}, "pinion pair number: P-4417.", ""},
		{Record{"wheel pair number", "P-4417"}, "wheel pair number: P-4417.", ""},
		{Record{"pinion bearings", "middling"}, "", "write one of new, used"},
		{Record{"pinion bearings", "new"}, "pinion bearings: new.", ""},

		{Confirm{"pinion distance"}, "", "is a mark step"},
		{Confirm{"pinion bearings rolled"}, "pinion bearings rolled is confirmed.", ""},

		{Mark{Step: "pinion distance", Absent: true}, "", "does not say that an absent mark means nought"},
		{Mark{Step: "pinion distance", Digits: "eight"}, "", "eight"},
		{Mark{Step: "pinion distance"}, "", ""},
		{Mark{Step: "pinion distance", Digits: "123456789012"}, "", "12"},
		{Mark{Step: "pinion head", Digits: "+8"}, "", "is a measure step"},
		{Mark{Step: "pinion distance", Digits: " +8 "}, "pinion back sits 0.080 mm FARTHER from wheel axis than nominal.", ""},
		{Mark{Step: "casing distance", Absent: true}, "no mark: from wheel axis to casing flange is the nominal 160.00 mm.", ""},
		{Mark{Step: "casing distance", Digits: "-3"}, "0.030 mm SHORTER than nominal.", ""},

		{DrawPiece{"mandrel", "S-31"}, "", `"mandrel" is no standard of sheet fw3`},
		{DrawPiece{"tall post", "S-99"}, "", `"S-99" is no piece of this bench`},
		{DrawPiece{"tall post", "S-41"}, "", "S-41 is 150.006 mm, and the tall post is 75 mm: draw another piece"},
		{DrawPiece{"tall post", "S-31"}, "S-31, 75.004 mm, is the tall post.", ""},
		{DrawPiece{"straightedge", "E-02"}, "E-02, 12.006 mm, is the straightedge.", ""},

		{SayIn{"overall height", "pinion pack", true}, "", "does not ask whether"},
		{SayIn{"pinion distance", "wheel pack", true}, "", "is a mark step"},
		{SayIn{"overall height", "wheel pack", true}, "wheel pack is in while overall height is measured.", ""},
		{SayIn{"overall height", "wheel pack", false}, "wheel pack is not in while overall height is measured.", ""},

		{Keyed{"pinion distance", "", "1 mm", "x"}, "", "is a mark step"},
		{Keyed{"pinion head", "", "42.37 mm", ""}, "", "the reason is empty"},
		{Keyed{"pinion head", "", "42.37", "no cable"}, "", "no unit"},
		{Keyed{"pinion head", "", "NaN mm", "no cable"}, "", "NaN"},
		{Keyed{"pinion head", "\x1b[2J", "42.37 mm", "no cable"}, "", "is no spot of pinion head"},
		{Keyed{"backlash", "45 deg", "0.21 mm", "no cable"}, "", "is no spot of backlash"},
		{Keyed{"pinion turning torque", "pull", "38 N", "no cable"}, "", "is no spot"},
		{Keyed{"pinion head", "", "42.37 mm", "no cable"}, "42.37 mm from keyed at pinion head.", ""},
		{Keyed{"pinion head", "", "42.36 mm", "no cable"}, "42.36 mm from keyed at pinion head.", ""},
		{Keyed{"backlash", "180 deg", "0.21 mm", "no cable"}, "0.21 mm from keyed at backlash at 180 deg.", ""},
		{Keyed{"backlash", "", "5 mm", "no cable"}, "5 mm from keyed misses", ""},
		{Keyed{"backlash", "", "5 N", "no cable"}, "5 N from keyed is a force", ""},
		{Keyed{"contact marking", "", "1 mm", "no cable"}, "waits for no gauge", ""},

		{Fit{"pinion head", nil, []string{"1 mm"}}, "", "is a measure step"},
		{Fit{"pinion pack", nil, []string{"1.35"}}, "", "no unit"},
		{Fit{"pinion pack", nil, []string{"-1.35 mm"}}, "", "not below nought"},
		{Fit{"pinion pack", []string{"1 N"}, nil}, "", "want a length"},
		{Fit{"pinion pack", []string{"1.00 mm"}, nil}, "", "is not to be fitted yet"},
		{Fit{"pinion pack", nil, nil}, "", "is not to be fitted yet"},
		{Fit{"pinion pack", nil, []string{"1.00 mm", "0.35 mm"}}, "", "each figure is the whole pack"},
		{Fit{"pinion pack", []string{"1.00 mm"}, []string{"1.35 mm", "1.36 mm"}}, "pinion pack is fitted; build 2.", ""},

		{Metal{"backlash", nil, "reseated"}, "", "say which lengths"},
		{Metal{"backlash", []string{"oil"}, "reseated"}, "", `"oil" is no length`},
		{Metal{"oil", []string{"pinion pack"}, "reseated"}, "", "no step"},
		{Metal{"backlash", []string{"pinion pack"}, ""}, "", "what was done is empty"},
		{Metal{"backlash", []string{"pinion pack"}, "bearing reseated"}, "Metal changed, build 3: bearing reseated.", ""},

		{See{"backlash", map[string]string{"drive": "central"}}, "", "not of contact marking"},
		{See{"contact marking", map[string]string{"drive": "central"}}, "", "what is seen on coast"},
		{See{"contact marking", map[string]string{"drive": "central", "coast": "blue"}}, "", "what is seen on coast"},
		{See{"contact marking", map[string]string{"drive": "central", "coast": "high", "\x1b[2J": "x"}}, "", "is no flank"},
		{See{"contact marking", nil}, "", "what is seen on drive"},
		{See{"contact marking", map[string]string{"drive": "central", "coast": "slightly to toe"}}, "drive", ""},

		{Move{"backlash", "wheel", "OUT", "0.2 mm"}, "", "wheel OUT"},
		{Move{"backlash", "wheel", "TOWARD", "-0.2 mm"}, "", "say how far above nought"},
		{Move{"backlash", "wheel", "TOWARD", "0 mm"}, "", "say how far above nought"},
		{Move{"backlash", "wheel", "TOWARD", "0.2 N"}, "", "want a length"},
		{Move{"pinion head", "wheel", "TOWARD", "0.2 mm"}, "", "is a measure step"},
		{Move{"backlash", "wheel", "TOWARD", "0.20 mm"}, "The wheel is to go TOWARD by 0.20 mm: fit the packs anew.", ""},
		{Move{"backlash", "pinion", "IN", "0.05 mm"}, "The pinion is to go IN by 0.05 mm: fit the packs anew.", ""},

		{Take{1, "x"}, "", "no such press"},
		{Take{0, "x"}, "", "no such press"},
		{Strike{-5, "x"}, "", "no such press"},
		{Retake{"oil", "x"}, "", "no step"},
		{Retake{"pinion head", ""}, "", "the reason is empty"},
		{Retake{"pinion head", "a burr"}, "pinion head is taken again.", ""},
		{Strike{0, "x"}, "", "no such press"}, // none since at this step that counts
	} {
		before := r.Snapshot()
		reply, err := r.Do(t.Context(), c.command)
		after := r.await("the command to show", func(s *Snapshot) bool { return s.Seq >= reply.Seq })
		if c.words != "" {
			if err != nil || !strings.Contains(reply.Words, c.words) {
				t.Errorf("%T %+v: want %q, got %q, %v", c.command, c.command, c.words, reply.Words, err)
			}
			if _, chooses := c.command.(ChooseStep); !chooses && (reply.Seq != after.Seq || reply.Seq <= before.Seq) {
				t.Errorf("%T %+v: replied with fact %d, and the journal went from %d to %d", c.command, c.command, reply.Seq, before.Seq, after.Seq)
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), c.refused) || strings.ContainsAny(err.Error(), "\x1b\n\xff") {
			t.Errorf("%T %+v: want refused %q, got %q, %v", c.command, c.command, c.refused, reply.Words, err)
		}
		if diff := cmp.Diff(picture(before), picture(after)); diff != "" {
			t.Errorf("%T %+v was refused and changed:\n%s", c.command, c.command, diff)
		}
	}
}

func TestTakeAndStrike(t *testing.T) {
	r := newRig(t)
	r.at(recess)
	r.press("D07", "18.74 mm")
	_, s := r.press("D07", "3.38 mm")
	held := s.Held[0].Seq
	taken := s.Job.Presses[0].Seq
	refuse := func(c Command, words string) {
		t.Helper()
		if _, err := r.Do(t.Context(), c); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%+v: %v", c, err)
		}
	}
	refuse(Take{taken, "x"}, "is taken, not held")
	refuse(Take{held, ""}, "the reason is empty")
	if got := r.do(Take{held, "the sheet is wrong"}); got.Words == "" || len(r.Snapshot().Held) != 0 {
		t.Errorf("%+v", got)
	}
	r.do(Strike{Reason: "the sheet is right after all"}) // the last one of the step
	s = r.Snapshot()
	if p, _ := s.Job.Press(held); !p.Struck {
		t.Errorf("%+v", p)
	}
	refuse(Strike{held, "x"}, "does not count already")
	refuse(Take{held, "x"}, "is aside, not held")
	r.do(Strike{Reason: "slipped"})
	refuse(Strike{Reason: "slipped"}, "no such press")
	if s := r.Snapshot(); s.Results.Of(recess).Left != 3 {
		t.Errorf("%d left", s.Results.Of(recess).Left)
	}
	p, s := r.raw("D07", "-----\r")
	if p.Outcome != fact.Aside {
		t.Fatal(p)
	}
	refuse(Take{s.Last.Seq, "x"}, "is aside, not held")
	refuse(Strike{s.Last.Seq, "x"}, "does not count already")
}

// Fit as pressed counts the presses over the pack once: the key pressed twice
// does not fit a pack without a figure.
func TestFitTwice(t *testing.T) {
	r := newRig(t)
	workPinionPack(r)
	r.press("M02", "1.35 mm")
	r.press("M02", "1.35 mm")
	r.do(Fit{Step: "pinion pack"})
	before := r.Snapshot()
	if f := before.Results.Of("pinion pack"); f.Status != overhaul.Done || f.Pack.Fitted.Value.String() != "1.35" {
		t.Fatalf("%s %v", f.Status, f.Pack.Fitted)
	}
	for _, c := range []Fit{{Step: "pinion pack"}, {Step: "pinion pack", Leaves: []string{"1.00 mm"}}} {
		if _, err := r.Do(t.Context(), c); err == nil {
			t.Errorf("%+v: fitted again without a measurement", c)
		}
	}
	if diff := cmp.Diff(picture(before), picture(r.Snapshot())); diff != "" {
		t.Error(diff)
	}
}

// A step that asks about two packs is answered one by one.
func TestTwoPacksIn(t *testing.T) {
	r := newRig(t, func(c *Config) {
		c.Sheets = func(name string) ([]byte, error) {
			text, err := sheets(name)
			s := strings.ReplaceAll(string(text), "ask in: [wheel pack]", "ask in: [wheel pack, pinion pack]")
			s = strings.ReplaceAll(s, "in: {wheel pack: no}", "in: {wheel pack: no, pinion pack: no}")
			return []byte(s), err
		}
	})
	r.at("overall height", DrawPiece{"overall post", "S-51"}, DrawPiece{"straightedge", "E-02"})
	r.do(SayIn{"overall height", "wheel pack", false})
	r.do(ChooseStep{"overall height"})
	if s := r.Snapshot(); s.Missing != "Say whether it is measured with the pinion pack in or not" {
		t.Errorf("missing %q", s.Missing)
	}
	r.do(SayIn{"overall height", "pinion pack", false})
	r.do(ChooseStep{"overall height"})
	if s := r.Snapshot(); s.Missing != "" {
		t.Errorf("missing %q", s.Missing)
	}
	for range 3 {
		r.press("D07", "26.99 mm")
	}
	if x := r.Snapshot().Results.Of("overall height"); x.Status != overhaul.Done {
		t.Errorf("%s, wants %q, %s", x.Status, x.Wants, x.Problem)
	}
	r.do(Retake{"overall height", "a burr"})
	if s := r.Snapshot(); !strings.Contains(s.Missing, "wheel pack in or not") && !strings.Contains(s.Missing, "wheel pack and the pinion pack") {
		t.Errorf("taken again, missing %q", s.Missing)
	}
}

func TestStoppedBench(t *testing.T) {
	r := newRig(t)
	r.at(recess)
	r.stop()
	if _, err := r.Do(t.Context(), Confirm{"turned by hand"}); !errors.Is(err, ErrStopped) {
		t.Errorf("%v", err)
	}
	select {
	case <-r.Stopped():
	default:
		t.Error("it does not say that it has stopped")
	}
	if r.Snapshot().Job == nil {
		t.Error("the last snapshot has gone")
	}
}
