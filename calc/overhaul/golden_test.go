package overhaul_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// ledger writes results as a page: each step with its status and words, each
// figure with its leaves.
func ledger(res *overhaul.Results) string {
	var b strings.Builder
	fmt.Fprintf(&b, "build %d\n", res.Build)
	for _, r := range res.Steps {
		fmt.Fprintf(&b, "\n%s: %s\n", r.Step.Name, r.Status)
		line(&b, "text", r.Text)
		line(&b, "wants", r.Wants)
		line(&b, "problem", r.Problem)
		leaves(&b, res, "figure", r.Figure)
		if p := r.Pack; p != nil {
			line(&b, "one more", p.OneMore)
			leaves(&b, res, "the other way", p.Other)
			leaves(&b, res, "fitted", p.Fitted)
			line(&b, "the error does", p.ErrorDoes)
			if p.Closure != nil {
				line(&b, "closure", shown(res, p.Closure.Value))
			}
			if p.Makeup != nil && len(p.Makeup.Packs) > 0 {
				line(&b, "made up as", p.Makeup.Packs[0].String())
			}
		}
		if c := r.Check; c != nil {
			line(&b, "words", c.Words)
			line(&b, "advice", c.Advice)
		}
	}
	for _, s := range res.Places {
		fmt.Fprintf(&b, "\n%s stands at %s to %s\n", s.Wanted, shown(res, s.Low.Value), shown(res, s.High.Value))
		line(&b, "state", s.State)
	}
	return b.String()
}

func shown(res *overhaul.Results, v quantity.Exact) string {
	return v.ShowUnit(res.Sheet.Unit, res.Sheet.Places)
}

func line(b *strings.Builder, name, words string) {
	if words != "" {
		fmt.Fprintf(b, "  %s: %s\n", name, words)
	}
}

func leaves(b *strings.Builder, res *overhaul.Results, name string, f *overhaul.Figure) {
	if f == nil {
		return
	}
	line(b, name, strings.TrimSpace(shown(res, f.Value)+" "+f.Rule))
	for _, l := range f.Leaves() {
		fmt.Fprintf(b, "    %5s × %s  %s (%s)\n", l.Coef.Signed(), shown(res, l.Figure.Value), l.Figure.Name, l.Figure.Leaf.Source)
	}
}

// Whole jobs as pages. With UPDATE_GOLDEN set the pages are written anew.
func TestJobsAsPages(t *testing.T) {
	for _, name := range []string{"rd3", "br7", "hx4"} {
		t.Run(name, func(t *testing.T) {
			got := ledger(work(t, readSheet(t, name+".yaml"), text(t, name+"-job.yaml")))
			path := filepath.Join(sheets, name+"-job.golden")
			if os.Getenv("UPDATE_GOLDEN") != "" {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), got); diff != "" {
				t.Errorf("the page differs (− want, + got):\n%s", diff)
			}
		})
	}
}
