package main

import "strings"

// A claim is what the table says of a benchmark beyond its name: words, the goals
// it is held to, and for a curve where it ends and why.
type claim struct {
	pkg, name string // the name without its way; a name alone stands for all that begin with it and a slash
	words     string
	goals     []goal
	ends      string
}

// A goal is a bound on our own figure, or on the ratio of it to another way's.
type goal struct {
	unit  string  // of the figure it is for, as the benchmark writes it
	of    string  // the other way of the ratio, such as "peer=COPY"; "" bounds our own figure
	most  float64 // 0 where there is no such bound
	least float64
	words string
}

func within(unit string, most float64, words string) goal {
	return goal{unit: unit, most: most, words: words}
}

// find is the claim that says most of a figure: the one with the longest name.
func find(all []claim, w what) (best claim, ok bool) {
	for _, c := range all {
		if c.pkg == w.pkg && (c.name == w.name || strings.HasPrefix(w.name, c.name+"/")) && len(c.name) >= len(best.name) {
			best, ok = c, true
		}
	}
	return best, ok
}

// said is what a figure is, in words.
func said(all []claim, w what) string {
	label, _ := unitOf(w.unit)
	c, ok := find(all, w)
	if !ok {
		return w.pkg + ": " + w.name + label
	}
	if rest := strings.TrimPrefix(strings.TrimPrefix(w.name, c.name), "/"); rest != "" {
		return c.words + ": " + rest + label
	}
	return c.words + label
}

const ms = 1e6 // of nanoseconds

// claims are all of them. A pair or a curve that is not listed is in the table by
// its name and without a goal; a benchmark that stands alone is there only if it
// is listed.
func claims() []claim {
	packs := []goal{within("ns/op", 5*ms, "≤ 5 ms")}
	return []claim{
		{pkg: "devices/text", name: "Decode", words: "decode 1,000 lines", goals: []goal{{unit: "ns/op", of: "floor=scanner-float", most: 3, words: "≤ 3 × the scanner"}}},
		{pkg: "devices/packed", name: "Decode", words: "decode 1,000 packed frames"},
		{pkg: "calc/network", name: "Loop", words: "a loop"},
		{pkg: "calc/network", name: "Walk", words: "walk a loop of n faces", ends: "far beyond a sheet"},
		{pkg: "calc/network", name: "Build", words: "check a sheet's net of n faces", ends: "far beyond a sheet"},
		{pkg: "calc/stat", name: "MeanAndSD", words: "mean and standard deviation of 1,001 readings"},
		{pkg: "calc/stat", name: "OneWay", words: "one-way analysis of variance, 189 readings"},
		{pkg: "calc/stat", name: "Digits", words: "digits certified by NIST that are reached (of 15)"},
		{pkg: "calc/stock", name: "MakeUp", words: "a pack out of 40 sizes × 10", goals: packs},
		{pkg: "calc/stock", name: "MakeUp/the largest table allowed", words: "100 packs out of 200 sizes × 60, the largest table allowed"},
		{pkg: "calc/stock", name: "Exhaustive", words: "a pack"},
		{pkg: "calc/stock", name: "Sizes", words: "a pack of 25 mm out of n sizes × 10", ends: "the most sizes a tray may have"},
		{pkg: "calc/stock", name: "Leaves", words: "a pack of 25 mm out of 40 sizes × n", ends: "the most leaves of a kind"},
		{pkg: "calc/stock", name: "Thickness", words: "a pack of n mm out of 40 sizes × 10", ends: "the thickest pack that may be asked for"},
		{pkg: "calc/ring", name: "Judge", words: "judge a ring of n points, two lifts each", ends: "the most points a ring may have"},
		{pkg: "calc/budget", name: "Work", words: "how sure a figure of n sources is", ends: "far beyond a job"},
		{pkg: "calc/overhaul", name: "Work/100 steps", words: "work a whole job of 100 steps, 20 packs made up", goals: []goal{within("ns/op", 2*ms, "≤ 2 ms")}},
		{pkg: "calc/overhaul", name: "Work/rd3", words: "work a whole job of a usual drive"},
		{pkg: "calc/overhaul", name: "Work", words: "work a whole job"},
		{pkg: "calc/overhaul", name: "Steps", words: "work a whole job of n steps", ends: "the most axes a sheet may have"},
		{pkg: "ingest/journal", name: "Append", words: "a press into the journal, durable"},
		{pkg: "ingest/bench", name: "PressToDurable", words: "from a gauge's last byte to durable", goals: []goal{{unit: "p50-us", of: "floor=read-and-insert", most: 1.3, words: "≤ 1.3 × the floor"}}},
		{pkg: "ingest/bench", name: "Gauges", words: "n gauges pressed at once, until all are durable", ends: "the most gauges the soaks put on a bench"},
		{pkg: "ingest/bench", name: "ManyJobs", words: "a bench over a journal of n jobs", ends: "about what a bench does in its life"},
		{pkg: "cmd/shimwright", name: "PressToDrawn", words: "from a gauge's last byte to drawn", goals: []goal{
			within("after-durable-p50-us", 10_000, "≤ 10 ms"), within("after-durable-p99-us", 60_000, "≤ 60 ms")}},
		{pkg: "ui/fitter", name: "SnapshotToDrawn", words: "from a new snapshot to drawn"},
		{pkg: "cmd/shimwright", name: "FirstFrame", words: "from the start of the program to the fitter's first frame", goals: []goal{within("p50-us", 150_000, "≤ 150 ms")}},
		{pkg: "ui/fitter", name: "FirstFrame", words: "from the start of the fitter's screen to its first frame"},
		{pkg: "cmd/shimwright", name: "BoardLoad", words: "the board read anew over n jobs", ends: "about what a bench does in its life"},
		{pkg: "cmd/shimwright", name: "Board", words: "a judgement stored to drawn on the board, over 100,000 jobs"},
		{pkg: "ui/board", name: "Frame", words: "a frame of the board over a full list"},
		{pkg: "ui/fitter", name: "Frame", words: "a frame of the fitter's fullest screen"},
		{pkg: "ingest/exchange", name: "Rows", words: "export", goals: []goal{within("ns/op", 20e9, "≤ 20 s for 100,000 jobs")}},
		{pkg: "ingest/exchange", name: "Presses", words: "export presses, 30 a job", goals: []goal{within("ns/op", 3e9, "≤ 3 s for 300,000 rows")}},
		{pkg: "ingest/relay", name: "Relays", words: "relays shipping", goals: []goal{{unit: "facts/s", of: "peer=COPY", least: 0.5, words: "≥ 0.5 of COPY"}}},
		{pkg: "ingest/relay", name: "Benches", words: "n benches shipping 1,000 facts each at once", ends: "what a shop of many bays has"},
		{pkg: "devices/port", name: "Press", words: "a press through a pseudo-terminal and the driver"},
	}
}
