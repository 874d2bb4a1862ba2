package remedy

import (
	"errors"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/stock"
)

// settingOf is a change of setting on the wheel shaft of W1 and W2.
func settingOf(t testing.TB, was, row [2]network.Row, now, then string) SettingChange {
	in := SettingChange{Gear: "wheel", Was: was[:], Now: ex(now), Then: ex(then), Show: Display{Places: 3}}
	for i, p := range storyFive(t).Packs {
		p.Row = row[i]
		p.Leaves = append(p.Leaves, mm("0.02", 2))
		p.Tray = tray(t, mm("0.01", 9), mm("0.02", 9), mm("0.05", 9), mm("0.10", 9))
		in.Packs = append(in.Packs, p)
	}
	return in
}

func wheelRows(state string) [2]network.Row {
	switch state {
	case "back":
		return [2]network.Row{row(-1, -1), row(-1, 0)}
	case "tooth":
		return [2]network.Row{row(-1, 0), row(-1, 1)}
	}
	return [2]network.Row{{Float: quantity.Whole(-1), Gear: ratio(-1, 2)}, {Float: quantity.Whole(-1), Gear: ratio(1, 2)}}
}

// What the model says of each pair of states: half each when closed before and
// after; the far pack alone when held to one side; the near pack by its share
// of the new squeeze and the far pack by the rest, from held to preload.
func TestKeepBacklash(t *testing.T) {
	for _, c := range []struct {
		name, was, then string
		f0, f1          string
		back, tooth     string
	}{
		{"closed, more squeeze", "closed", "closed", "-0.04", "-0.08", "0.02", "0.02"},
		{"closed, less squeeze", "closed", "closed", "-0.10", "-0.06", "-0.02", "-0.02"},
		{"held to the back side, less float", "back", "back", "0.10", "0.06", "0", "0.04"},
		{"held to the tooth side, less float", "tooth", "tooth", "0.10", "0.06", "0.04", "0"},
		{"held to the back side to preload", "back", "closed", "0.10", "-0.08", "0.04", "0.14"},
		{"held to the tooth side to preload", "tooth", "closed", "0.10", "-0.08", "0.14", "0.04"},
		{"preload to held to the back side", "closed", "back", "-0.08", "0.10", "-0.04", "-0.14"},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := settingOf(t, wheelRows(c.was), wheelRows(c.then), c.f0, c.f1)
			got, err := KeepBacklash(in)
			if err != nil {
				t.Fatal(err)
			}
			is(t, "back", got.Exact[0], c.back)
			is(t, "tooth", got.Exact[1], c.tooth)
			if len(got.Stock.Plans) == 0 {
				t.Fatalf("no plan: %s %v", got.Stock.Words, got.Stock.LookFor)
			}
			p := got.Stock.Plans[0]
			is(t, "gear", p.Move, "0")
			is(t, "setting after", *p.After, c.f1)
		})
	}
}

func TestKeepBacklashWords(t *testing.T) {
	in := settingOf(t, wheelRows("back"), wheelRows("closed"), "0.10", "-0.08")
	in.StateNow, in.StateThen = "held against the wheel-back side", "closed"
	got, err := KeepBacklash(in)
	if err != nil {
		t.Fatal(err)
	}
	says(t, got.Words, "Setting from 0.100 mm float (held against the wheel-back side) to 0.080 mm preload (closed), wheel stays where it is: add 0.040 mm under the track at the wheel-back side, add 0.140 mm under the track at the tooth side.")
	in.Packs[0].Tray, in.Packs[1].Tray = stock.Tray{}, stock.Tray{}
	if got, err = KeepBacklash(in); err != nil || len(got.Stock.Plans) != 0 || got.Stock.Cause != StockLimit {
		t.Errorf("%+v %v", got.Stock, err)
	}
}

func TestKeepBacklashRefuses(t *testing.T) {
	for field, spoil := range map[string]func(*SettingChange){
		"rows as they were": func(s *SettingChange) { s.Was = nil },
		"pack 1, row":       func(s *SettingChange) { s.Was[0].Float = quantity.Whole(1) },
		"rows":              func(s *SettingChange) { s.Was[0].Gear = quantity.Whole(5) },
		"within":            func(s *SettingChange) { s.Within = ex("-1") },
		"packs":             func(s *SettingChange) { s.Packs = s.Packs[:1] },
		"setting now":       func(s *SettingChange) { s.Now = ex("5000") },
	} {
		in := settingOf(t, wheelRows("back"), wheelRows("closed"), "0.10", "-0.08")
		spoil(&in)
		_, err := KeepBacklash(in)
		var p *Problem
		if !errors.As(err, &p) || p.Field != field {
			t.Errorf("%s: got %v", field, err)
		}
	}
}
