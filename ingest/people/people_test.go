package people

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

func noon() time.Time { return time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC) }

func hash(t testing.TB, pin string) string {
	t.Helper()
	h, err := HashPIN(pin, LeastCost)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func then(t testing.TB, p People, initials string, facts ...fact.Fact) People {
	t.Helper()
	for _, f := range facts {
		var err error
		if p, err = p.Then(Subject(initials), f); err != nil {
			t.Fatal(err)
		}
	}
	return p
}

// shop has a fitter, a second person with a PIN, a lead with a PIN, a gauge
// keeper, and one who left.
func shop(t testing.TB) People {
	t.Helper()
	p := then(t, People{}, "AB", fact.Joined{Name: "Ada Birch", Roles: []fact.Role{fact.Fitter}})
	p = then(t, p, "CD", fact.Joined{Name: "Cy Dale", Roles: []fact.Role{fact.Fitter, fact.SecondPerson}}, fact.PINSet{Hash: hash(t, "2468")})
	p = then(t, p, "RK", fact.Joined{Name: "Ro Kerr", Roles: []fact.Role{fact.Lead}}, fact.PINSet{Hash: hash(t, "13579")})
	p = then(t, p, "GK", fact.Joined{Name: "Gil Knox", Roles: []fact.Role{fact.GaugeKeeper}})
	return then(t, p, "XY", fact.Joined{Name: "Xu Yi", Roles: []fact.Role{fact.Lead}}, fact.Left{})
}

func TestSign(t *testing.T) {
	p := shop(t)
	for _, c := range []struct {
		name  string
		asked Asked
		want  Signature
		words string // of the error
	}{
		{"a fitter takes a held press", Asked{Task: TakeHeld, Initials: "AB"}, Signature{Initials: "AB", By: fact.ByInitials}, ""},
		{"small letters", Asked{Task: TakeHeld, Initials: " ab "}, Signature{Initials: "AB", By: fact.ByInitials}, ""},
		{"a PIN that nobody needs", Asked{Task: TakeHeld, Initials: "AB", PIN: "9"}, Signature{Initials: "AB", By: fact.ByInitials}, ""},
		{"by PIN", Asked{Task: SecondLook, Initials: "CD", PIN: "2468", First: []string{"AB"}}, Signature{Initials: "CD", By: fact.ByPIN}, ""},
		{"no PIN", Asked{Task: SecondLook, Initials: "CD", First: []string{"AB"}}, Signature{}, "CD has a PIN: write it too"},
		{"a wrong PIN", Asked{Task: SecondLook, Initials: "CD", PIN: "2469"}, Signature{}, "CD: the PIN is wrong: write it again, 4 more before a wait"},
		{"another's PIN", Asked{Task: SecondLook, Initials: "CD", PIN: "13579"}, Signature{}, "the PIN is wrong"},
		{"the same person", Asked{Task: SecondLook, Initials: "CD", PIN: "2468", First: []string{"AB", "cd"}}, Signature{},
			"CD did the work and may not give the second look: ask RK"},
		{"the same person signs", Asked{Task: SignSecond, Initials: "CD", PIN: "2468", First: []string{"CD"}}, Signature{}, "may not sign as the second person: ask RK"},
		{"the lead built it", Asked{Task: SignLead, Initials: "RK", PIN: "13579", First: []string{"RK"}}, Signature{Initials: "RK", By: fact.ByPIN}, ""},
		{"a fitter concedes", Asked{Task: Concession, Initials: "AB"}, Signature{}, "AB is fitter and may not give a concession: ask RK"},
		{"a second person as lead", Asked{Task: SignLead, Initials: "CD", PIN: "2468"}, Signature{}, "CD is fitter and second person and may not release the job: ask RK"},
		{"a gauge keeper takes", Asked{Task: TakeHeld, Initials: "GK"}, Signature{}, "GK is gauge keeper and may not let a held press count: ask AB, CD, RK"},
		{"a gauge keeper keeps", Asked{Task: KeepGauges, Initials: "GK"}, Signature{Initials: "GK", By: fact.ByInitials}, ""},
		{"nobody", Asked{Task: TakeHeld, Initials: "ZZ"}, Signature{}, "ZZ: nobody here has these initials: write those of somebody on the list"},
		{"one who left", Asked{Task: Concession, Initials: "XY"}, Signature{}, "XY (Xu Yi) has left the shop"},
		{"empty", Asked{Task: TakeHeld}, Signature{}, "no initials are given: write one to five plain letters or digits, as in AB"},
		{"an escape", Asked{Task: TakeHeld, Initials: "A\x1b[2J"}, Signature{}, `the initials are "A\x1b[2J": write`},
		{"wide", Asked{Task: TakeHeld, Initials: "山田"}, Signature{}, `\u5c71\u7530`},
		{"combining", Asked{Task: TakeHeld, Initials: "A\u0301B"}, Signature{}, `\u0301`},
		{"long", Asked{Task: TakeHeld, Initials: strings.Repeat("A", 10000)}, Signature{}, "the initials have 10000 characters"},
		{"no task", Asked{Initials: "AB"}, Signature{}, "may not do task 0"},
	} {
		c.asked.At = noon()
		got, _, err := p.Sign(NewTries(Usual()), c.asked)
		switch {
		case c.words == "" && (err != nil || got != c.want):
			t.Errorf("%s: %v, %v", c.name, got, err)
		case c.words != "" && (err == nil || !strings.Contains(err.Error(), c.words)):
			t.Errorf("%s: want %q, got %v", c.name, c.words, err)
		}
	}
}

func TestNobodyCanSign(t *testing.T) {
	p := then(t, People{}, "AB", fact.Joined{Name: "Ada", Roles: []fact.Role{fact.Fitter}})
	_, _, err := p.Sign(NewTries(Usual()), Asked{Task: Concession, Initials: "AB"})
	if err == nil || !strings.Contains(err.Error(), "put a lead on the list (shimwright people add)") {
		t.Error(err)
	}
	if (People{}).Asks() || !p.Asks() || then(t, p, "AB", fact.Left{}).Asks() {
		t.Error("who is asked")
	}
}

func TestTries(t *testing.T) {
	p, tries, at := shop(t), NewTries(Limits{Tries: 3, Wait: time.Minute}), noon()
	try := func(pin string, at time.Time) error {
		var err error
		_, tries, err = p.Sign(tries, Asked{Task: SignLead, Initials: "RK", PIN: pin, At: at})
		return err
	}
	for range 3 {
		if err := try("0000", at); !errors.Is(err, ErrWrongPIN) {
			t.Fatal(err)
		}
	}
	if err := try("13579", at.Add(59*time.Second)); !errors.Is(err, ErrWait) || !strings.Contains(err.Error(), "wait 2s") {
		t.Errorf("within the wait the right PIN gave %v", err)
	}
	if _, _, err := p.Sign(tries, Asked{Task: SecondLook, Initials: "CD", PIN: "2468", At: at}); err != nil {
		t.Errorf("another person waits too: %v", err)
	}
	if err := try("0000", at.Add(time.Minute)); !errors.Is(err, ErrWrongPIN) || !strings.Contains(err.Error(), "wait 1m0s before the next try") {
		t.Error(err)
	}
	if err := try("13579", at.Add(time.Minute+time.Second)); !errors.Is(err, ErrWait) {
		t.Errorf("after one more wrong PIN: %v", err)
	}
	if err := try("13579", at.Add(-time.Hour)); err != nil {
		t.Errorf("a clock set back holds up: %v", err)
	}
	if err := try("0000", at); err == nil || !strings.Contains(err.Error(), "2 more before a wait") {
		t.Errorf("a right PIN does not begin anew: %v", err)
	}
}

func TestPINs(t *testing.T) {
	for _, pin := range []string{"", "123", "1234567890123", "12a4", "12 4", "4444", "١٢٣٤", strings.Repeat("12", 5000)} {
		if h, err := HashPIN(pin, LeastCost); err == nil {
			t.Errorf("the PIN %.20q was kept as %s", pin, h)
		} else if len(err.Error()) > 200 {
			t.Error(err)
		}
	}
	if _, err := HashPIN("2468", MostCost+1); err == nil {
		t.Error("a cost too high")
	}
	if HashPINs := hash(t, "2468"); HashPINs == hash(t, "2468") {
		t.Error("two hashes of one PIN are the same: no salt")
	}
}

// A new PIN, a new name and new roles each keep the rest; who left and comes
// back has no PIN.
func TestChangesKeepTheRest(t *testing.T) {
	p := shop(t)
	q := then(t, p, "CD", fact.PINSet{Hash: hash(t, "7531")})
	if w, _ := q.Who("CD"); w.Name != "Cy Dale" || !w.Has(fact.SecondPerson) {
		t.Errorf("%+v", w)
	}
	if _, _, err := q.Check(NewTries(Usual()), "CD", "2468", noon()); !errors.Is(err, ErrWrongPIN) {
		t.Errorf("the old PIN: %v", err)
	}
	if _, _, err := p.Check(NewTries(Usual()), "CD", "2468", noon()); err != nil {
		t.Errorf("the list before changed too: %v", err)
	}
	q = then(t, q, "CD", fact.Joined{Name: "Cy Dale-Ash", Roles: []fact.Role{fact.Lead}})
	if s, _, err := q.Check(NewTries(Usual()), "CD", "7531", noon()); err != nil || s.By != fact.ByPIN {
		t.Errorf("%v %v", s, err)
	}
	q = then(t, q, "CD", fact.Left{}, fact.Joined{Name: "Cy Dale-Ash", Roles: []fact.Role{fact.Lead}})
	if w, err := q.Who("CD"); err != nil || w.HasPIN() {
		t.Errorf("came back: %+v %v", w, err)
	}
	if s, _, err := q.Check(NewTries(Usual()), "CD", "", noon()); err != nil || s.By != fact.ByInitials {
		t.Errorf("%v %v", s, err)
	}
	if got := q.Say(Signature{Initials: "CD", By: fact.ByPIN}) + "; " + q.Say(Signature{}); got != "CD (Cy Dale-Ash), by PIN; nobody signed" {
		t.Error(got)
	}
}

func TestRefusedFacts(t *testing.T) {
	ok := fact.Joined{Name: "Ada", Roles: []fact.Role{fact.Fitter}}
	for _, c := range []struct {
		subject string
		f       fact.Fact
		words   string
	}{
		{"person/AB", fact.Left{}, `AB: a fact "left" stands before the person joined`},
		{"person/AB", fact.PINSet{}, `before the person joined`},
		{"person/AB", fact.Confirmed{}, `does not belong to a person`},
		{"person/ab", ok, `are not in capitals`},
		{"person/", ok, "no initials"},
		{"person/AB", fact.Joined{Name: "Ada"}, "no role is given: write one or more of fitter, second person, lead and gauge keeper"},
		{"person/AB", fact.Joined{Name: "Ada", Roles: []fact.Role{"boss\x00"}}, `"boss\x00" is no role`},
		{"person/AB", fact.Joined{Name: "Ada", Roles: []fact.Role{fact.Lead, fact.Lead}}, `given twice`},
		{"person/AB", fact.Joined{Name: "Ada\x1b[2J", Roles: ok.Roles}, `do not print`},
		{"person/AB", fact.Joined{Name: "A\u202eda", Roles: ok.Roles}, `do not print`},
		{"person/AB", fact.Joined{Name: "A\xff", Roles: ok.Roles}, `do not print`},
		{"person/AB", fact.Joined{Name: "a" + strings.Repeat("\u0300", 9), Roles: ok.Roles}, `more than 3 on one letter`},
		{"person/AB", fact.Joined{Name: "\u0300a", Roles: ok.Roles}, `accents on nothing`},
		{"person/AB", fact.Joined{Name: strings.Repeat("a", 10<<10), Roles: ok.Roles}, `the name has 10240 characters: write at most 60`},
	} {
		if _, err := (People{}).Then(c.subject, c.f); err == nil || !strings.Contains(err.Error(), c.words) || len(err.Error()) > 400 {
			t.Errorf("%s %v: want %q, got %v", c.subject, c.f, c.words, err)
		}
	}
	for _, name := range []string{"山田 太郎", "Zoe\u0308", "O'Neil-Żak", "หนึ่ง"} {
		then(t, People{}, "AB", fact.Joined{Name: name, Roles: ok.Roles})
	}
	joined := then(t, People{}, "AB", ok)
	for _, h := range []string{"x", "$2a$31$abcdefghijklmnopqrstuuGUR8l4c0hRCtYNIjTq2uvEmXWkPOQ8K"} {
		if _, err := joined.Then("person/AB", fact.PINSet{Hash: h}); err == nil {
			t.Errorf("the hash %s is believed", h)
		}
	}
	if same, err := joined.Then("job/0001", fact.Confirmed{}); err != nil || len(same.List()) != 1 {
		t.Error("a job's fact changes people", err)
	}
}

func TestLoad(t *testing.T) {
	j, err := journal.Open(filepath.Join(t.TempDir(), "a.journal"), journal.Options{Bench: "bay 1", Run: "r", Now: noon, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	ctx := context.Background()
	if p, err := Load(ctx, j.Reader); err != nil || p.Asks() {
		t.Fatal(p, err)
	}
	want := People{}
	add := func(initials string, f fact.Fact) {
		r, err := fact.Encode(Subject(initials), f)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := j.Append(ctx, r); err != nil {
			t.Fatal(err)
		}
		want = then(t, want, initials, f)
	}
	add("RK", fact.Joined{Name: "Ro Kerr", Roles: []fact.Role{fact.Lead}})
	add("AB", fact.Joined{Name: "Ada", Roles: []fact.Role{fact.Fitter}})
	add("RK", fact.PINSet{Hash: hash(t, "13579")})
	add("AB", fact.Left{})
	got, err := Load(ctx, j.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want.List(), got.List(), cmp.AllowUnexported(Person{})); d != "" {
		t.Error(d)
	}
}

// Facts in any order give a list or an error, never a panic, and a refused fact
// changes nothing.
func FuzzFold(f *testing.F) {
	f.Add([]byte("\x00\x01\x02\x03\x00\x02"), "Ada", "fitter", "$2a$04$abcdefghijklmnopqrstuuGUR8l4c0hRCtYNIjTq2uvEmXWkPOQ8K", "AB")
	f.Add([]byte("\x02\x00"), "A\x1b", "lead", "x", "person")
	f.Fuzz(func(t *testing.T, order []byte, name, role, hash, initials string) {
		kinds := []fact.Fact{fact.Joined{Name: name, Roles: []fact.Role{fact.Role(role)}}, fact.PINSet{Hash: hash}, fact.Left{}, fact.Changed{},
			fact.Joined{Name: "Ada", Roles: []fact.Role{fact.Lead}}}
		var p People
		for _, o := range order {
			subject := Subject([]string{initials, "AB"}[int(o>>4)%2])
			next, err := p.Then(subject, kinds[int(o&15)%len(kinds)])
			if err != nil && !cmp.Equal(next.List(), p.List(), cmp.AllowUnexported(Person{})) {
				t.Fatalf("refused with %v, it changed the list", err)
			}
			p = next
			for _, w := range p.List() {
				if w.Gone && w.HasPIN() || len(w.Roles) == 0 {
					t.Fatalf("%+v", w)
				}
			}
			for task := range KeepPeople + 2 {
				s, _, err := p.Sign(NewTries(Usual()), Asked{Task: task, Initials: initials, At: noon()})
				if (err == nil) == (s == Signature{}) {
					t.Fatalf("%v with %v", s, err)
				}
			}
		}
	})
}
