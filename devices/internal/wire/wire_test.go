package wire

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
)

// Strings and copies made one after another keep what they were, over many
// blocks.
func TestBlocks(t *testing.T) {
	var copies Copies
	var names Names
	var figures, words []string
	var kept [][]byte
	for i := range 3000 {
		line := []byte(fmt.Sprintf("%d,%02d", i, i%100))
		figures = append(figures, string(Figure(nil, i%2 == 1, line)))
		kept = append(kept, copies.Of(line))
		words = append(words, names.Of(line[:min(len(line), 2)]))
		clear(line) // nothing was borrowed
	}
	for i := range figures {
		digits := fmt.Sprintf("%d.%02d", i, i%100)
		want := digits
		if i%2 == 1 {
			want = "-" + digits
		}
		line := strings.Replace(digits, ".", ",", 1)
		if figures[i] != want || string(kept[i]) != line || words[i] != line[:min(len(line), 2)] {
			t.Fatalf("%d: %q, %q, %q", i, figures[i], kept[i], words[i])
		}
		if cap(kept[i]) != len(kept[i]) {
			t.Fatalf("%d: a copy has room behind it", i)
		}
	}
	if got := copies.Of(bytes.Repeat([]byte("x"), 2000)); len(got) != 2000 {
		t.Errorf("a long copy has %d bytes", len(got))
	}
	if got := Figure(nil, true, bytes.Repeat([]byte("9"), 2000)); len(got) != 2001 {
		t.Errorf("a long figure has %d bytes", len(got))
	}
	if len(names.known) != maxNames {
		t.Errorf("%d names are remembered", len(names.known))
	}
}
