package overhaul_test

import (
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

const pressedPack = "within: 0.025 mm\n        stock: shims"

func pressedSheet(t testing.TB) string {
	return text(t, "rd3.yaml", pressedPack, pressedPack+`
        gauge: micrometer
        window: 0.80 mm .. 2.20 mm
        presses: 4
        agree: 0.01 mm`)
}

// A pack measured by presses at four places counts at their exact mean, from
// the moment it is fitted.
func TestPackMeasuredByPresses(t *testing.T) {
	s := parse(t, pressedSheet(t))
	status(t, work(t, s, pinionReadings), "pinion pack", overhaul.Waiting, "4 presses")
	short := pinionReadings + "  - {step: pinion pack, presses: [1.37 mm, 1.37 mm, 1.36 mm]}\n"
	status(t, work(t, s, short), "pinion pack", overhaul.Waiting, "1 more press of 4")
	apart := pinionReadings + "  - {step: pinion pack, presses: [1.37 mm, 1.37 mm, 1.35 mm, 1.37 mm]}\n"
	status(t, work(t, s, apart), "pinion pack", overhaul.Held, "lie 0.020 mm apart", "bent or burred")
	all := pinionReadings + "  - {step: pinion pack, presses: [1.37 mm, 1.37 mm, 1.36 mm, 1.37 mm]}\n"
	res := work(t, s, all)
	status(t, res, "pinion pack", overhaul.Waiting, "fit it: measured 1.368 mm")
	if res.Build != 1 || of(t, res, "pinion pack").Pack.Fitted != nil {
		t.Error("a pack only measured counts as fitted")
	}
	fitted := all + "  - {step: pinion pack, fit: as pressed}\n"
	res = work(t, s, fitted)
	status(t, res, "pinion pack", overhaul.Done)
	same(t, "fitted, four times", of(t, res, "pinion pack").Pack.Fitted.Value.Times(quantity.Whole(4)), mm("5.47"))
	same(t, "where the pinion stands, four times", standing(t, res, "pinion distance").Low.Value.Times(quantity.Whole(4)), mm("600.31"))
}

// Taken again, the pack in the drive keeps the figure it was fitted with.
func TestPressedPackTakenAgain(t *testing.T) {
	s := parse(t, pressedSheet(t))
	fitted := pinionReadings + "  - {step: pinion pack, presses: [1.37 mm, 1.37 mm, 1.36 mm, 1.37 mm]}\n  - {step: pinion pack, fit: as pressed}\n"
	again := fitted + "  - {step: pinion pack, again: doubted}\n"
	res := work(t, s, again)
	same(t, "fitted, four times", of(t, res, "pinion pack").Pack.Fitted.Value.Times(quantity.Whole(4)), mm("5.47"))
	next := again + "  - {step: pinion pack, presses: [1.38 mm, 1.38 mm, 1.38 mm, 1.38 mm]}\n"
	res = work(t, s, next)
	same(t, "still in, four times", of(t, res, "pinion pack").Pack.Fitted.Value.Times(quantity.Whole(4)), mm("5.47"))
	res = work(t, s, next+"  - {step: pinion pack, fit: as pressed}\n")
	same(t, "the new one", of(t, res, "pinion pack").Pack.Fitted.Value, mm("1.38"))
	if res.Build != 3 {
		t.Errorf("build %d, want 3", res.Build)
	}
}

// Said to be fitted as pressed, and nothing was pressed: it has no figure, and
// is not nought thick.
func TestFittedAsPressedWithNothingPressed(t *testing.T) {
	res := work(t, parse(t, pressedSheet(t)), pinionReadings+"  - {step: pinion pack, fit: as pressed}\n")
	if f := of(t, res, "pinion pack").Pack.Fitted; f != nil {
		t.Errorf("fitted %s", f.Value)
	}
	status(t, res, "pinion pack", overhaul.Waiting, "4 presses")
}
