package record

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"shimwright/ingest/carried"
)

func jsonOf(t testing.TB, c carried.Job) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := recordOf(t, c).JSON(&b, c, "test"); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestJSON(t *testing.T) {
	for name, make := range jobs() {
		got := jsonOf(t, make(t))
		golden(t, name+".json", got)
		f, err := ReadJSON(got)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if v := Verify(f, "test"); !v.Whole() || len(v.Proved) < 3 {
			t.Errorf("%s: %+v", name, v)
		}
	}
}

// Whatever is changed in a record is told, and where.
func TestVerifyFindsAChange(t *testing.T) {
	whole := jsonOf(t, demo(t))
	for name, c := range map[string]struct{ was, is, want string }{
		"a verdict":       {`"verdict": "GOOD"`, `"verdict": "OUT HIGH"`, `record.verdicts[0].verdict: the record says "OUT HIGH"; its facts give "GOOD"`},
		"a figure":        {`"total": "1.350 mm"`, `"total": "1.370 mm"`, "record.packs[1].total"},
		"a sum's line":    {`= 2.9336`, `= 2.9337`, ""},
		"a press":         {`33.38 mm\",\"unit stated`, `33.39 mm\",\"unit stated`, `"pressed": its content and the hash before it do not give its hash`},
		"the training":    {`"training": "readings came from a virtual gauge"`, `"training": ""`, "record.training"},
		"the serial":      {`"serial": "T-0417"`, `"serial": "T-0418"`, "record.serial"},
		"the sheet":       {`"sheet_text": "# `, `"sheet_text": "#  `, "the sheet's text differs from the one the job was opened with, from line 1"},
		"the bench":       {`"bench": "bay 2",` + "\n  \"job\"", `"bench": "bay 3",` + "\n  \"job\"", "record.bench"},
		"a line too many": {`"open": []`, `"open": ["more"]`, `record.open[0]: the record says "more"; its facts give nothing`},
	} {
		changed := bytes.Replace(whole, []byte(c.was), []byte(c.is), 1)
		if bytes.Equal(changed, whole) {
			if c.want != "" {
				t.Errorf("%s: %q is not in the record", name, c.was)
			}
			continue
		}
		f, err := ReadJSON(changed)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if v := Verify(f, "test"); !strings.Contains(strings.Join(v.Differs, "\n"), c.want) || v.Whole() {
			t.Errorf("%s: %q, want %q", name, v.Differs, c.want)
		}
	}
}

// Where another version verifies, what differs may be its wording, and that is
// said; of the version that wrote it nothing is.
func TestVerifySaysWhichVersionWrote(t *testing.T) {
	b := bytes.Replace(jsonOf(t, smallest(t)), []byte(`"serial": "C-77"`), []byte(`"serial": "C-78"`), 1)
	f, err := ReadJSON(b)
	if err != nil {
		t.Fatal(err)
	}
	if v := Verify(f, "2"); v.Whole() || !strings.Contains(v.Note, "version test wrote this record, and this is version 2") {
		t.Errorf("%+v", v)
	}
	if v := Verify(f, "test"); v.Whole() || v.Note != "" {
		t.Errorf("%+v", v)
	}
}

// A figure that its raw bytes do not show is told, even where all hashes were
// made anew.
func TestVerifyHoldsFiguresToTheirBytes(t *testing.T) {
	m := newMaker(t, "0001", 1, headOf(t))
	p := m.press("recess", "", "D07", "depth gauge", "7.31 mm")
	p.Raw = []byte("+7.13mm\r")
	m.add(p)
	f, err := ReadJSON(jsonOf(t, m.job()))
	if err != nil {
		t.Fatal(err)
	}
	if v := Verify(f, "test"); len(v.Differs) != 1 || !strings.Contains(v.Differs[0], `recorded as 7.31 mm, and the gauge sent "+7.13mm\r"`) {
		t.Errorf("%q", v.Differs)
	}
}

func TestReadJSONRefuses(t *testing.T) {
	for text, want := range map[string]string{
		``: "no JSON record", `{`: "no JSON record", `{}`: "is missing", `[]`: "no JSON record", `{"shimwright_record": 9}`: "newer program",
		`{"shimwright_record": 1}`: "missing from the file", `{"shimwright_record": 1, "more": 2}`: "cannot be read",
		`{"shimwright_record": 1, "record": {}} {}`: "", "\xff": "not UTF-8",
	} {
		if _, err := ReadJSON([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

func FuzzReadJSON(f *testing.F) {
	f.Add(jsonOf(f, smallest(f)))
	f.Fuzz(func(_ *testing.T, b []byte) {
		if file, err := ReadJSON(b); err == nil {
			Verify(file, "test")
		}
	})
}

// A record of a full job in all its forms, from its facts.
func BenchmarkRecordOfAFullJob(b *testing.B) {
	c := crowded(b)
	b.ResetTimer()
	for b.Loop() {
		start := time.Now()
		r := recordOf(b, c)
		made := time.Since(start)
		if _, err := r.PDF(); err != nil {
			b.Fatal(err)
		}
		var out bytes.Buffer
		if err := r.JSON(&out, c, "test"); err != nil {
			b.Fatal(err)
		}
		if err := r.Text(&out); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(made.Microseconds())/1000, "ms/worked")
	}
}
