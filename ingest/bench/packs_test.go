package bench

import (
	"testing"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

func TestOnePack(t *testing.T) {
	agree, err := quantity.Parse("0.02", quantity.MM)
	if err != nil {
		t.Fatal(err)
	}
	says, silent := &sheet.Step{Pack: &sheet.Pack{Agree: agree}}, &sheet.Step{Pack: &sheet.Pack{}}
	for _, c := range []struct {
		step    *sheet.Step
		figures []string
		ok      bool
	}{
		{silent, nil, true},
		{silent, []string{"1.35 mm"}, true},
		{silent, []string{"1.35 mm", "1.40 mm", "1.45 mm"}, true},
		{silent, []string{"1.00 mm", "0.30 mm", "0.05 mm"}, false},
		{silent, []string{"0.0500 in", "1.35 mm"}, true},
		{says, []string{"1.35 mm", "1.37 mm"}, true},
		{says, []string{"1.35 mm", "1.38 mm"}, false},
	} {
		figures, err := lengths(c.figures)
		if err != nil {
			t.Fatal(err)
		}
		if err := onePack(c.step, figures); (err == nil) != c.ok {
			t.Errorf("%v: %v", c.figures, err)
		}
	}
}
