package overhaul

import "testing"

func TestFittedWords(t *testing.T) {
	for does, want := range map[string]string{"": "fitted", "right": "fitted: right"} {
		if got := (&Pack{ErrorDoes: does}).FittedWords(); got != want {
			t.Errorf("%q: %q, want %q", does, got, want)
		}
	}
}
