package main

import (
	"slices"
	"testing"
)

func TestNearTo(t *testing.T) {
	names := []string{"board", "bench", "backup", "stock", "study", "trace"}
	for _, c := range []struct {
		typed string
		want  []string
	}{
		{"bord", []string{"board"}}, {"baord", []string{"board"}}, {"BOARD", []string{"board"}},
		{"stoch", []string{"stock"}}, {"stu", []string{"study"}}, {"st", nil}, {"", nil}, {"frob", nil},
		{"backupp", []string{"backup"}}, {"trcae", []string{"trace"}}, {"verification", nil},
	} {
		if got := nearTo(c.typed, names); !slices.Equal(got, c.want) {
			t.Errorf("%q is near to %q, want %q", c.typed, got, c.want)
		}
	}
}

func TestLettersApart(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"a", "", 1}, {"", "ab", 2}, {"board", "board", 0}, {"board", "baord", 1}, {"bench", "bend", 2}, {"Größe", "grösse", 2}} {
		if got, back := lettersApart(c.a, c.b), lettersApart(c.b, c.a); got != c.want || back != c.want {
			t.Errorf("%q and %q are %d and %d apart, want %d", c.a, c.b, got, back, c.want)
		}
	}
}
