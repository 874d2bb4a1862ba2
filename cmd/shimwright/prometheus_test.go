//go:build unix

package main

import (
	"encoding/json"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"
)

// What a bench serves is what promtool finds no fault with.
func TestPromtoolFindsNoFault(t *testing.T) {
	promtool, err := exec.LookPath("promtool")
	if err != nil {
		t.Skip("promtool is not installed: .ci/metrics installs it and runs this test")
	}
	at := free(t)
	p := measured(t, at).start(t, map[int64]string{})
	p.until("the micrometer", connected("M02"))
	p.say(`{"do": "open", "sheet": "fw3", "serial": "K-1"}`)
	c := exec.Command(promtool, "check", "metrics")
	c.Stdin = strings.NewReader(scrape(t, at))
	if out, err := c.CombinedOutput(); err != nil || len(out) > 0 {
		t.Errorf("%v\n%s", err, out)
	}
	p.kill()
}

// Prometheus itself scrapes a headless bench, and tells of its bay's presses.
func TestPrometheusScrapesABench(t *testing.T) {
	api, at := os.Getenv("TEST_PROMETHEUS"), os.Getenv("TEST_PROMETHEUS_SCRAPES")
	if api == "" || at == "" {
		t.Skip("no Prometheus runs: .ci/metrics starts one and runs this test")
	}
	h := measured(t, at)
	p := h.start(t, map[int64]string{})
	p.until("the micrometer", connected("M02"))
	// The first scrape has seen no press: an increase is counted from it.
	const taken = `sum by (bay) (shimwright_presses_total{gauge="M02",outcome="taken"})`
	ask(t, api, taken, 0)
	p.say(`{"do": "open", "sheet": "fw3", "serial": "K-1"}`)
	p.say(`{"do": "choose", "step": "pinion head"}`)
	press(t, h.gauges, "M02", "42.37 mm")
	p.until("a press", pressed)
	ask(t, api, taken, 1)
	ask(t, api, `sum by (bay) (increase(shimwright_presses_total[1m])) > bool 0`, 1)
	ask(t, api, `sum by (bay) (increase(shimwright_jobs_opened_total[1m])) > bool 0`, 1)
	for _, q := range queries(t) {
		answered(t, api, q)
	}
	ask(t, api, `sum by (bay) (histogram_count(shimwright_commit_duration_seconds) or shimwright_commit_duration_seconds_count) > bool 1`, 1)
	p.kill()
}

// answered is a query that Prometheus can answer, whatever it says.
func answered(t *testing.T, api, query string) {
	t.Helper()
	resp, err := http.Get(api + "/api/v1/query?query=" + url.QueryEscape(query))
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	var got struct{ Status, Error string }
	if err := json.NewDecoder(resp.Body).Decode(&got); err != nil || got.Status != "success" {
		t.Errorf("%s: %v %s", query, err, got.Error)
	}
}

// The rules are loaded by Prometheus, all of them, and none fails.
func TestPrometheusLoadsTheRules(t *testing.T) {
	api := os.Getenv("TEST_PROMETHEUS")
	if api == "" {
		t.Skip("no Prometheus runs: .ci/metrics starts one and runs this test")
	}
	resp, err := http.Get(api + "/api/v1/rules")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	var got struct {
		Data struct {
			Groups []struct {
				Rules []struct{ Name, LastError string }
			}
		}
	}
	if err := json.NewDecoder(resp.Body).Decode(&got); err != nil {
		t.Fatal(err)
	}
	loaded := map[string]bool{}
	for _, g := range got.Data.Groups {
		for _, r := range g.Rules {
			loaded[r.Name] = r.LastError == ""
		}
	}
	for _, file := range []string{"alerts.yaml", "recordings.yaml"} {
		for _, g := range rulesOf(t, file).Groups {
			for _, r := range g.Rules {
				if !loaded[r.Alert+r.Record] {
					t.Errorf("%s%s is not loaded, or fails", r.Alert, r.Record)
				}
			}
		}
	}
}

// ask waits until Prometheus answers a query about the bay with a figure.
func ask(t *testing.T, api, query string, want float64) {
	t.Helper()
	var said string
	for deadline := time.Now().Add(reached); time.Now().Before(deadline); time.Sleep(100 * time.Millisecond) { // nothing tells of a scrape
		resp, err := http.Get(api + "/api/v1/query?query=" + url.QueryEscape(query))
		if err != nil {
			t.Fatal(err)
		}
		var got struct {
			Data struct {
				Result []struct {
					Metric map[string]string
					Value  [2]any
				}
			}
			Error string
		}
		err = json.NewDecoder(resp.Body).Decode(&got)
		_ = resp.Body.Close()
		if err != nil || got.Error != "" {
			t.Fatalf("%s: %v %s", query, err, got.Error)
		}
		for _, r := range got.Data.Result {
			said, _ = r.Value[1].(string)
			if v, err := strconv.ParseFloat(said, 64); err == nil && v == want && r.Metric["bay"] == "demo bay" {
				return
			}
		}
	}
	t.Fatalf("%s: waited %s for %v, the last answer was %q", query, reached, want, said)
}
