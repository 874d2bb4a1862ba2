//go:build unix

package main

import (
	"fmt"
	"strings"
	"testing"
)

// refused sends a command that must be refused, and gives why.
func (p *program) refused(line string) string {
	p.t.Helper()
	if _, err := fmt.Fprintln(p.in, line); err != nil {
		p.t.Fatal(err)
	}
	v := p.until("the answer to "+line, func(v map[string]any) bool { return v["reply"] != nil || v["error"] != nil })
	if v["error"] == nil {
		p.t.Fatalf("%s: %v", line, v["reply"])
	}
	return fmt.Sprint(v["error"])
}

// ask gives the line that answers a question.
func (p *program) ask(line, field string) map[string]any {
	p.t.Helper()
	if _, err := fmt.Fprintln(p.in, line); err != nil {
		p.t.Fatal(err)
	}
	return p.until("the answer to "+line, func(v map[string]any) bool { _, ok := v[field]; return ok })
}

// Two jobs are opened, held, switched and ended by command lines, across a kill.
func TestHeadlessJobs(t *testing.T) {
	h := openHall(t)
	facts := map[int64]string{}
	p := h.start(t, facts)
	v := p.say(`{"do": "open", "sheet": "fw3", "serial": "K-1", "initials": "ab"}`)
	if s := fmt.Sprint(v["reply"]); !strings.Contains(s, "Job 0001 is open") || !strings.Contains(s, "it is a TRAINING job") {
		t.Error(s)
	}
	if s := p.refused(`{"do": "open", "sheet": "fw3", "serial": "K-1"}`); !strings.Contains(s, "job 0001 is open on serial K-1") {
		t.Error(s)
	}
	p.say(`{"do": "open", "sheet": "fw3", "serial": "K-1", "another": true}`)
	p.say(`{"do": "job", "job": "0001"}`)
	p.say(`{"do": "hold", "step": "pinion head", "reason": "no micrometer", "initials": "AB"}`)
	if s := p.refused(`{"do": "retake", "step": "pinion head", "reason": "x"}`); !strings.Contains(s, "Pinion head is on hold: no micrometer. AB or a lead lifts the hold") {
		t.Error(s)
	}
	if s := p.refused(`{"do": "sign", "initials": "AB"}`); !strings.Contains(s, "is a training job and is never released") {
		t.Error(s)
	}
	if s := p.refused(`{"do": "lift", "reason": "x", "pin": "1234"}`); !strings.Contains(s, "a pin stands without initials") {
		t.Error(s)
	}
	p.kill()
	p = h.start(t, facts)
	p.until("the job to go on", func(v map[string]any) bool { return strings.Contains(fmt.Sprint(v["reply"]), "Job 0001 goes on") })
	v = p.ask(`{"do": "standing"}`, "standing")
	holds, _ := v["holds"].([]any)
	if v["standing"] != "0001" || v["training"] != true || len(holds) != 1 || fmt.Sprint(v["at_work"]) != "[AB by initials only]" || fmt.Sprint(v["signatures_wanted"]) != "[fitter]" {
		t.Errorf("%v", v)
	}
	if h, _ := holds[0].(map[string]any); h["step"] != "pinion head" || h["reason"] != "no micrometer" || h["by"] != "AB by initials only" {
		t.Errorf("%v", h)
	}
	v = p.ask(`{"do": "jobs"}`, "jobs")
	if list, _ := v["jobs"].([]any); len(list) != 2 || !strings.Contains(fmt.Sprint(list[1]), "front:true") || !strings.Contains(fmt.Sprint(list[0]), "job:0002") {
		t.Errorf("%v", v)
	}
	p.say(`{"do": "lift", "reason": "it came", "initials": "AB"}`)
	if s := fmt.Sprint(p.say(`{"do": "finish"}`)["reply"]); !strings.Contains(s, "Job 0001 is finished as training; it is not released. Choose the job to go on with: open are 0002") {
		t.Error(s)
	}
	p.say(`{"do": "job", "job": "0002"}`)
	p.say(`{"do": "abandon", "reason": "opened by mistake"}`)
	if err := p.in.Close(); err != nil {
		t.Fatal(err)
	}
	for v := range p.lines { // to its end
		p.keep(v)
	}
	if err := p.cmd.Wait(); err != nil {
		t.Error(err)
	}
}
