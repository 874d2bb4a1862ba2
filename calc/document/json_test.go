package document

import (
	"encoding/json"
	"errors"
	"regexp"
	"strings"
	"testing"
	"time"
)

// goWords are what an error must not say: a type, a package, a layout of Go.
var goWords = regexp.MustCompile(`\bGo\b|json:|Unmarshal|int64|\bstring\b|struct|map\[|\b[a-z]+\.[A-Z]|2006`)

func TestJSONErrorNamesNoType(t *testing.T) {
	type inner struct {
		Count int64
		Utc   time.Time
	}
	type form struct {
		Step   string
		In     bool
		Leaves []string
		Marks  map[string]string
		Inner  inner
		Ratio  float64
		Few    uint8
		Raw    []byte
	}
	for _, c := range []struct{ text, want string }{
		{`{"step": 5}`, "step: a number stands here: write a text"},
		{`{"step": {"a": 1}}`, "step: an object stands here: write a text"},
		{`{"in": "yes"}`, "in: a text stands here: write true or false"},
		{`{"leaves": "0.30 mm"}`, "leaves: a text stands here: write a list"},
		{`{"leaves": [0.3]}`, "leaves: a number stands here: write a text"},
		{`{"marks": ["drive"]}`, "marks: a list stands here: write an object"},
		{`{"inner": {"count": 1.5}}`, "inner.count: 1.5 stands here: write a whole number"},
		{`{"inner": {"count": "4"}}`, "inner.count: a text stands here: write a whole number"},
		{`{"inner": {"utc": "noon"}}`, "noon is no time"},
		{`{"inner": {"utc": 5}}`, "not of the form wanted"},
		{`{"inner": true}`, "inner: true or false stands here: write an object"},
		{`{"ratio": "1"}`, "ratio: a text stands here: write a number"},
		{`{"few": -1}`, "few: -1 stands here: write a whole number of 0 or more"},
		{`{"raw": "!"}`, "illegal base64"},
		{`{"wheel": 1}`, `there is no field "wheel"`},
		{`[1]`, "a list stands here: write an object"},
		{`{"step": `, "ends too soon"},
		{``, "ends too soon"},
		{`{step: 1}`, "byte 2: invalid character"},
	} {
		d := json.NewDecoder(strings.NewReader(c.text))
		d.DisallowUnknownFields()
		var f form
		err := JSONError(d.Decode(&f))
		if err == nil || !strings.Contains(strings.ToLower(err.Error()), c.want) && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.text, err, c.want)
		}
		if err != nil && goWords.MatchString(err.Error()) {
			t.Errorf("%s: %v speaks of the program's insides", c.text, err)
		}
	}
	if JSONError(nil) != nil {
		t.Error("nil does not stay nil")
	}
	if other := errors.New("disk"); !errors.Is(JSONError(other), other) {
		t.Error("another error does not stay")
	}
}
