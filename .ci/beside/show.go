package main

import (
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
)

// unitOf splits a benchmark's unit in what it adds to the words, such as ", p50",
// and how long one of it is in seconds; 0 for one that is no time.
func unitOf(unit string) (label string, seconds float64) {
	if unit == "ns/op" {
		return "", 1e-9
	}
	for suffix, s := range map[string]float64{"us": 1e-6, "ms": 1e-3} {
		if rest, ok := strings.CutSuffix(unit, "-"+suffix); ok {
			return ", " + strings.ReplaceAll(rest, "-", " "), s
		}
	}
	return "", 0
}

// amount is a figure with its unit.
func amount(unit string, v float64) string {
	_, seconds := unitOf(unit)
	if seconds == 0 {
		return figure(v) + " " + strings.ReplaceAll(unit, "-", " ")
	}
	v *= seconds
	for _, u := range []struct {
		name string
		size float64
	}{{"s", 1}, {"ms", 1e-3}, {"µs", 1e-6}} {
		if v >= u.size {
			return figure(v/u.size) + " " + u.name
		}
	}
	return figure(v/1e-9) + " ns"
}

// figure is a number at three figures that count, whole above a hundred.
func figure(v float64) string {
	if v == 0 {
		return "0"
	}
	places := max(0, 2-int(math.Floor(math.Log10(math.Abs(v)))))
	text := fmt.Sprintf("%.*f", min(places, 6), v)
	if strings.Contains(text, ".") {
		text = strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
	}
	for at := len(text) - 3; places == 0 && at > 0 && text[at-1] != '-'; at -= 3 {
		text = text[:at] + "," + text[at:]
	}
	return text
}

func between(unit string, s spreadOf) string {
	return amount(unit, s.least) + " – " + amount(unit, s.most)
}

// shown is the middle figure of a way, with the allocations of an operation.
func (f *figures) shown(w what, way string) string {
	text := amount(w.unit, spread(slices.Collect(maps.Values(f.ways[w][way]))).middle)
	if allocs, ok := f.allocs[w][way]; ok {
		text += ", " + figure(allocs) + " allocs"
	}
	return text
}

// write writes the page: the machine, the table, the curves, what did not run.
func (f *figures) write(out io.Writer, all []claim, machine string) error {
	var b strings.Builder
	rows, curves := f.rows(all), f.curveRows(all)
	fmt.Fprintf(&b, "# Side by side\n\n%s\n\nMiddle figures of %d run(s); a ratio is ours ÷ the other, of the same run, and its spread is from the least to the most run.\n"+
		"Ratios are the claims; absolute figures are of this machine on this day. What each line means is in `.ci/SIDEBYSIDE.md`.\n\n", strings.TrimSpace(machine), f.runs)
	b.WriteString("| what | ours | floor or peer | ratio | spread | goal | met |\n| --- | ---: | ---: | ---: | ---: | --- | --- |\n")
	for _, r := range rows {
		line(&b, r.what, r.ours, r.other, r.ratio, r.spread, r.goal, r.met)
	}
	b.WriteString("\n## Curves\n\nThe slope is of the logarithms, over the larger half of the sizes, with its spread over the runs.\n\n" +
		"| what | from | to | slope | growth | ends at |\n| --- | ---: | ---: | ---: | --- | --- |\n")
	for _, c := range curves {
		line(&b, c.what, c.from, c.to, c.slope, c.growth, c.ends)
	}
	b.WriteString("\n## What did not run\n\n")
	for _, words := range f.notRun {
		fmt.Fprintf(&b, "- %s\n", words)
	}
	if len(f.notRun) == 0 {
		b.WriteString("Nothing: every suite ran whole in every run.\n")
	}
	_, err := io.WriteString(out, b.String())
	return err
}

func line(b *strings.Builder, cells ...string) {
	for _, c := range cells {
		fmt.Fprintf(b, "| %s ", strings.ReplaceAll(c, "|", "/"))
	}
	b.WriteString("|\n")
}
