package bench

import (
	"context"
	"fmt"
	"slices"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
)

// The commands about what the figures rest on beside presses.
type (
	// Temperatures are those of the work, each as in 26.0 °C or 26.0 °C ± 0.5 °C;
	// without the gauge's it is as warm as the standards.
	Temperatures struct{ Part, Standards, Gauge string }
	// Seal gives the steady pull with the seal in and the one without.
	Seal struct{ Step, With, Without string }
	// KeepBacklash asks what must change so that a setting comes about and the
	// backlash stays: a preload, or a float and the bearing that the shaft is held
	// against. It changes nothing.
	KeepBacklash struct{ Step, Preload, Float, Against string }
)

func (c Temperatures) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, errNoJob()
	}
	f := fact.Warmth(c)
	for _, t := range []struct {
		of string
		s  *string
	}{{"the part", &f.Part}, {"the standards", &f.Standards}, {"the gauge", &f.Gauge}} {
		if t.of == "the gauge" && *t.s == "" {
			continue
		}
		var err error
		if *t.s, err = oneLine("the temperature of "+t.of, *t.s); err != nil {
			return Reply{}, err
		}
	}
	if _, err := sheet.ParseTemperatures(f.Part, f.Standards, f.Gauge); err != nil {
		return Reply{}, err
	}
	if err := b.record(ctx, f); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("The part is at %s, the standards at %s.", f.Part, f.Standards)}, nil
}

func (c Seal) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step, sheet.KindCheck)
	if err != nil {
		return Reply{}, err
	}
	if !st.Check.SealMeasured {
		return Reply{}, fmt.Errorf("the sheet does not ask for the seal's drag at %s", st.Name)
	}
	with, err := forceOf(c.With)
	if err != nil {
		return Reply{}, err
	}
	without, err := forceOf(c.Without)
	if err != nil {
		return Reply{}, err
	}
	if with.Exact().Less(without.Exact()) {
		return Reply{}, fmt.Errorf("the pull with the seal, %s, is less than the one without, %s: are they the other way round?", with, without)
	}
	if err := b.record(ctx, fact.SealPulled{Step: st.Name, With: with, Without: without}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("The pull is %s with the seal in and %s without.", with, without)}, nil
}

func forceOf(s string) (quantity.Value, error) {
	if err := figureLong(s); err != nil {
		return quantity.Value{}, err
	}
	v, err := quantity.ParseWithUnit(s)
	switch {
	case err != nil:
		return v, err
	case v.Unit().Dimension() != quantity.Force:
		return v, fmt.Errorf("%s is a %s: want a force", v, v.Unit().Dimension())
	case v.Exact().Sign() <= 0:
		return v, fmt.Errorf("%s: a pull is above nought", v)
	}
	return v, nil
}

func (c KeepBacklash) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step, sheet.KindPack)
	if err != nil {
		return Reply{}, err
	}
	s := b.job.Sheet
	w, ok := s.WantedNamed(st.Pack.Makes)
	shaft, has := s.ShaftNamed(w.SettingOf)
	if !ok || w.SettingOf == "" || !has || shaft.Gear == "" {
		return Reply{}, fmt.Errorf("ask this at the pack that makes the setting of a shaft that carries a gear; %s does not", st.Name)
	}
	if (c.Preload == "") == (c.Float == "") {
		return Reply{}, fmt.Errorf("say which setting is asked about: a preload, or a float")
	}
	f := fact.SettingAsked{Step: st.Name}
	if f.Setting, err = lengthOf(c.Preload + c.Float); err != nil {
		return Reply{}, err
	}
	if f.Setting.Exact().Sign() < 0 {
		return Reply{}, fmt.Errorf("%s: a preload and a float are not below nought", f.Setting)
	}
	if c.Against != "" {
		if c.Float == "" || !slices.ContainsFunc(shaft.Bearings, func(b network.Bearing) bool { return b.Name == c.Against }) {
			return Reply{}, fmt.Errorf("%s is no bearing that a shaft with float is held against here", shown(c.Against))
		}
		f.Against = c.Against
	}
	words := fmt.Sprintf("The float of %s is asked about.", f.Setting)
	if c.Preload != "" {
		words = fmt.Sprintf("The preload of %s is asked about.", f.Setting)
		f.Setting = f.Setting.Neg()
	}
	if err := b.record(ctx, f); err != nil {
		return Reply{}, err
	}
	if k := b.results.Of(st.Name).Pack; k.Keep != nil {
		words += " " + k.Keep.Words
	} else if k.KeepWaits != "" {
		words += " " + k.KeepWaits + "."
	}
	return Reply{Words: words}, nil
}
