package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"sort"

	"shimwright/ingest/carried"
	"shimwright/ingest/fact"
)

// A Verification is what recomputing a record showed.
type Verification struct {
	Differs []string // each place where it does not agree, in words
	Proved  []string // what does, and how far that reaches
	Note    string   // what may explain a difference; "" where nothing is known

	found int // differences, those that are not told too
}

// Whole tells whether the record agrees with all that it carries.
func (v Verification) Whole() bool { return len(v.Differs) == 0 }

// mostDiffers is how many differences are told.
const mostDiffers = 200

func (v *Verification) differs(format string, args ...any) {
	if v.found++; len(v.Differs) < mostDiffers {
		v.Differs = append(v.Differs, clean(fmt.Sprintf(format, args...)))
	}
}

// Verify recomputes a record from the sheet, the facts and the raw bytes that it
// carries, and reads nothing else. program is the version that verifies.
func Verify(f *File, program string) Verification {
	v := verify(f)
	if !v.Whole() && f.Program != program {
		v.Note = clean(fmt.Sprintf("version %s wrote this record, and this is version %s: a later version may word a thing otherwise, so where words alone differ, verify it with that version too", f.Program, program))
	}
	return v
}

func verify(f *File) Verification {
	var v Verification
	v.chain(f.Facts)
	facts, err := f.Facts.Decode()
	if err != nil {
		v.differs("%s", err)
		v.seal(f, nil)
		return v
	}
	v.sheet(f, facts)
	v.raw(f.Facts, facts)
	made, err := From(f.Facts)
	if err != nil {
		v.differs("the record cannot be made anew from its facts: %s", err)
		v.seal(f, nil)
		return v
	}
	v.seal(f, made)
	v.compare(f.Record, made)
	v.judgements(f.Facts, facts)
	return v
}

// chain holds every fact to its hash.
func (v *Verification) chain(c carried.Job) {
	p := c.Prove()
	for _, f := range p.Faults {
		v.differs("%s", f)
	}
	if len(p.Faults) > 0 || len(c.Facts) == 0 {
		return
	}
	seq, hash := c.Last()
	say := fmt.Sprintf("each of the %d facts gives its own hash from its content and the hash before it", len(c.Facts))
	if p.Runs > 1 {
		say += fmt.Sprintf("; they are %d stretches, between which %d facts of other subjects lie: those are not carried, so that one stretch leads to the next is the journal's to prove", p.Runs, p.Gaps)
	}
	v.Proved = append(v.Proved, say,
		fmt.Sprintf("the last hash is %s, of fact %d: that nothing was written anew is shown by the same hash kept elsewhere, on a printed record or by the shop", hash, seq))
}

// sheet holds the sheet's text to its digest.
func (v *Verification) sheet(f *File, facts []fact.Fact) {
	if len(facts) == 0 {
		return
	}
	head, ok := facts[0].(fact.Opened)
	if !ok {
		return
	}
	if f.Sheet != head.Text {
		v.differs("the sheet's text differs from the one the job was opened with, from line %d on", lineOf(f.Sheet, head.Text))
	}
	sum := sha256.Sum256([]byte(head.Text))
	if hex.EncodeToString(sum[:]) != head.Digest {
		v.differs("the sheet's text does not give its digest %s", head.Digest)
		return
	}
	v.Proved = append(v.Proved, "the sheet's text gives its digest")
}

func lineOf(a, b string) int {
	n := 1
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return n
		}
		if a[i] == '\n' {
			n++
		}
	}
	return n
}

// compare holds what the record says to what its facts give, field by field.
func (v *Verification) compare(said, made *Record) {
	a, errA := tree(said)
	b, errB := tree(made)
	if errA != nil || errB != nil {
		v.differs("the record cannot be compared")
		return
	}
	before := len(v.Differs)
	v.walk("record", a, b)
	if len(v.Differs) == before {
		v.Proved = append(v.Proved, fmt.Sprintf("every word and figure of the record, %d lines of arithmetic among them, is what its sheet and facts give", len(made.Workings)))
	}
}

func tree(r *Record) (any, error) {
	b, err := json.Marshal(r)
	if err != nil {
		return nil, err
	}
	var t any
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber()
	return t, d.Decode(&t)
}

func (v *Verification) walk(at string, said, made any) {
	switch m := made.(type) {
	case map[string]any:
		if s, ok := said.(map[string]any); ok {
			v.walkFields(at, s, m)
			return
		}
	case []any:
		if s, ok := said.([]any); ok {
			for i := range max(len(s), len(m)) {
				v.walk(fmt.Sprintf("%s[%d]", at, i), item(s, i), item(m, i))
			}
			return
		}
	}
	if a, b := whole(said), whole(made); a != b {
		v.differs("%s: the record says %s; its facts give %s", at, shown(a, b), shown(b, a))
	}
}

func (v *Verification) walkFields(at string, said, made map[string]any) {
	var names []string
	for n := range said {
		names = append(names, n)
	}
	for n := range made {
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	sort.Strings(names)
	for _, n := range names {
		v.walk(at+"."+n, said[n], made[n])
	}
}

func item(list []any, i int) any {
	if i < len(list) {
		return list[i]
	}
	return nil
}

// whole is a value as JSON writes it; "nothing" for none.
func whole(x any) string {
	if x == nil {
		return "nothing"
	}
	b, err := json.Marshal(x)
	if err != nil {
		return fmt.Sprint(x)
	}
	return string(b)
}

// shown is a value as it is shown beside another: all of it, or of a long one the
// part where it first differs.
func shown(a, b string) string {
	const most, before = 200, 40
	x, y := []rune(a), []rune(b)
	if len(x) <= most {
		return a
	}
	at := 0
	for at < min(len(x), len(y)) && x[at] == y[at] {
		at++
	}
	from := max(0, min(at-before, len(x)-most))
	return "…" + string(x[from:min(len(x), from+most)]) + "…"
}
