package main

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/ingest/relay"
	"shimwright/ui/fitter"
)

// How the shop stands, on the fitter's screen.
func TestShopOnScreen(t *testing.T) {
	now := time.Date(2026, 3, 4, 14, 30, 0, 0, time.UTC)
	at := func(hour, minute int) time.Time { return time.Date(2026, 3, 4, hour, minute, 0, 0, time.UTC) }
	const copied = "a copy of this bench's journal ships too"
	for name, c := range map[string]struct {
		state relay.State
		want  fitter.Shop
	}{
		"up to date":      {relay.State{Connected: true, Sent: 9, Last: 9}, fitter.Shop{Words: "shop: up to date"}},
		"a moment":        {relay.State{Connected: true, Sent: 8, Last: 9, Oldest: now.Add(-time.Second)}, fitter.Shop{Words: "shop: up to date"}},
		"waiting":         {relay.State{Sent: 9, Last: 129, Oldest: at(14, 2), Trouble: "no route"}, fitter.Shop{Words: "shop: 120 facts waiting since 14:02"}},
		"one":             {relay.State{Sent: 9, Last: 10, Oldest: at(14, 2)}, fitter.Shop{Words: "shop: 1 fact waiting since 14:02"}},
		"for days":        {relay.State{Sent: 9, Last: 10, Oldest: at(14, 2).AddDate(0, 0, -2)}, fitter.Shop{Words: "shop: 1 fact waiting since 2 March 14:02"}},
		"not yet":         {relay.State{Sent: 9, Last: 9}, fitter.Shop{Words: "shop: not connected, nothing waits"}},
		"a moment, away":  {relay.State{Sent: 8, Last: 9, Oldest: now.Add(-time.Second)}, fitter.Shop{Words: "shop: not connected"}},
		"copied":          {relay.State{Sent: 9, Last: 10, Oldest: at(14, 2), Trouble: copied, Person: true}, fitter.Shop{Words: "Shop: " + copied, Look: true}},
		"notice":          {relay.State{Connected: true, Notice: "Facts 4 to 9 are sent again.", Noticed: now.Add(-time.Minute)}, fitter.Shop{Words: "shop: up to date. Facts 4 to 9 are sent again."}},
		"an older notice": {relay.State{Connected: true, Notice: "Facts 4 to 9 are sent again.", Noticed: at(13, 0)}, fitter.Shop{Words: "shop: up to date"}},
	} {
		if got := shopOnScreen(c.state, now); got != c.want {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
	var none *shipping
	if got := none.onScreen(now); got != (fitter.Shop{}) {
		t.Errorf("without a relay: %+v", got)
	}
}

// What was just recorded is said to wait before the relay has looked.
func TestShopAskedAtOnce(t *testing.T) {
	bench := aBenchFolder(t)
	f, err := readBenchFile(bench)
	if err != nil {
		t.Fatal(err)
	}
	b, err := openBench(t.Context(), f, filepath.Dir(bench), wires{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := b.close(); err != nil {
			t.Error(err)
		}
	}()
	facts := b.Snapshot().Seq
	got, ok := askShop(&running{Bench: b.Bench, shop: &shipping{Relay: relay.New(relay.Config{})}}).(shopLine)
	if !ok || facts == 0 || got.Waiting != facts || !strings.Contains(got.Shop, "wait") {
		t.Errorf("of %d facts: %+v", facts, got)
	}
}
