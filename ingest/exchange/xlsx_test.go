package exchange

import (
	"errors"
	"strings"
	"testing"
)

// A sheet takes so many rows and then the whole file is refused; the limit is set
// low here, because a million rows take a minute.
func TestTooLong(t *testing.T) {
	x, err := NewXLSX()
	if err != nil {
		t.Fatal(err)
	}
	defer x.Close()
	x.most = 3
	if err := x.Begin(Presses); err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if err := x.Row([]Cell{Words("bay 2")}); err != nil {
			t.Fatal(err)
		}
	}
	err = x.Row([]Cell{Words("bay 2")})
	if !errors.Is(err, ErrTooLong) || !strings.Contains(err.Error(), "shimwright export presses --csv FILE") {
		t.Error(err)
	}
}
