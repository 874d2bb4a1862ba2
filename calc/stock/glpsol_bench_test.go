package stock

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// solverPatience is how long the solver may take over one pack, in seconds.
const solverPatience = 10

// glpsol times the GNU linear programming kit's solver on the same question as
// ours: the time it takes, less what it takes to read the question and not solve
// it. It must find a pack as good as ours, or give up after its time, which is
// then what counts and is told as gave-up.
func glpsol(b *testing.B, from Tray, ask Request) {
	program, err := exec.LookPath("glpsol")
	if err != nil {
		b.Skip("glpsol is not installed (Debian: apt-get install glpk-utils), so packs stand beside no solver")
	}
	folder := b.TempDir()
	question, answer := filepath.Join(folder, "pack.lp"), filepath.Join(folder, "answer")
	text, steps := asProgram(b, from, ask)
	if err := os.WriteFile(question, []byte(text), 0o600); err != nil {
		b.Fatal(err)
	}
	run := func(args ...string) (time.Duration, string) {
		start := time.Now()
		out, err := exec.Command(program, append([]string{"--lp", question}, args...)...).CombinedOutput()
		if err != nil {
			b.Fatalf("%v\n%s", err, out)
		}
		return time.Since(start), string(out)
	}
	ours := makeUp(b, from, ask).Packs[0]
	best := steps(ours)
	gaveUp := 0
	var took time.Duration
	for b.Loop() {
		read, _ := run("--check")
		whole, said := run("--tmlim", fmt.Sprint(solverPatience), "-w", answer)
		took += max(whole-read, 0)
		if strings.Contains(said, "TIME LIMIT EXCEEDED") {
			gaveUp++
			continue
		}
		if got := objectiveOf(b, answer); got != best {
			b.Fatalf("the solver's best is %s, ours %s = %s: %s", got, ours, best, ours.Total)
		}
	}
	b.ReportMetric(float64(took.Nanoseconds())/float64(b.N), "ns/op")
	b.ReportMetric(float64(gaveUp)/float64(b.N), "gave-up/op")
}

// asProgram writes a request as a mixed integer program in the solver's text
// form: how many of each size, what is over and what is under, all in steps of
// the grid. What is worse by one step, or by one leaf where fewest counts, weighs
// more than all of the other.
func asProgram(b *testing.B, from Tray, ask Request) (text string, objective func(Pack) string) {
	b.Helper()
	g, err := gridOf(from.leaves)
	if err != nil {
		b.Fatal(err)
	}
	sizes, want, within := sizesOf(from.leaves, g), g.floor(ask.Want), g.floor(ask.Within)
	perStep, perLeaf := int64(MaxLeaves+1), int64(1)
	if ask.Objective == FewestWithin {
		perStep, perLeaf = 1, within+1
	}
	var aim, total, most, bounds, whole strings.Builder
	for i, z := range sizes {
		fmt.Fprintf(&aim, " + %d x%d", perLeaf, i)
		fmt.Fprintf(&total, " + %d x%d", z.steps, i)
		fmt.Fprintf(&most, " + x%d", i)
		fmt.Fprintf(&bounds, " 0 <= x%d <= %d\n", i, z.count)
		fmt.Fprintf(&whole, " x%d", i)
	}
	text = fmt.Sprintf("Minimize\n aim: %d over + %d under%s\nSubject To\n total:%s - over + under = %d\n most:%s <= %d\nBounds\n%s 0 <= over <= %d\n 0 <= under <= %d\nGeneral\n%s\nEnd\n",
		perStep, perStep, aim.String(), total.String(), want, most.String(), MaxLeaves, bounds.String(), within, within, whole.String())
	return text, func(p Pack) string {
		miss := g.floor(p.Total) - want
		return fmt.Sprint(perStep*max(miss, -miss) + perLeaf*int64(len(p.Leaves)))
	}
}

// objectiveOf reads the objective out of the solver's answer.
func objectiveOf(b *testing.B, path string) string {
	b.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		b.Fatal(err)
	}
	m := regexp.MustCompile(`(?m)^c Objective: +aim = (\S+)`).FindSubmatch(text)
	if m == nil {
		b.Fatalf("the solver's answer names no objective:\n%s", text)
	}
	return string(m[1])
}
