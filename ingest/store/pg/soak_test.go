//go:build soak

package pg

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"shimwright/ingest/relay/shop/shoptest"
	"shimwright/ingest/store"
)

var update = flag.Bool("update", false, "write testdata/plans.txt anew, from the long form")

// TestSoakMany puts ten million judgements of ten thousand benches in a shop, by
// one statement, and asks what boards ask. With SOAK=short it is a hundredth of it.
func TestSoakMany(t *testing.T) {
	benches, each := 10_000, 1000
	if os.Getenv("SOAK") == "short" {
		benches = 100
	}
	s := shoptest.New(t)
	began := time.Now()
	fill(t, s.Owner, benches, each)
	var out strings.Builder
	fmt.Fprintf(&out, "%d judgements of %d benches, a job for ten of them, and %d facts of the newest jobs and of gauges; made by generate_series, indexed after, in %s.\nFSYNC OFF, 2 cores, 256 MB of shared buffers; the second run of each is shown.\n%s\n",
		benches*each, benches, benches*factsEach, time.Since(began).Round(time.Second), sizes(t, s.Owner))
	st, err := Open(t.Context(), s.As("app"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	for _, q := range []struct {
		what string
		q    store.JudgementQuery
	}{
		{"newest of all", store.JudgementQuery{Limit: 100}},
		{"newest of a bench", store.JudgementQuery{Bench: "bay 77", Limit: 100}},
		{"a sheet's, of one check: a control chart", store.JudgementQuery{Sheet: "sheet 7", What: "backlash", Limit: 1000}},
		{"a sheet's", store.JudgementQuery{Sheet: "sheet 7", Limit: 1000}},
		{"a job's, by its number alone", store.JudgementQuery{Job: "0042"}},
		{"a job's", store.JudgementQuery{Bench: "bay 77", Job: "0042"}},
		{"a day's, a page deep down", store.JudgementQuery{Until: start().Add(time.Duration(each) * time.Hour), Behind: &store.Judgement{At: start().Add(time.Duration(each/2) * time.Hour), Bench: "bay 5", Seq: 9}, Limit: 100}},
	} {
		query, args := judgements(q.q)
		explain(t, s.Owner, &out, q.what, query, args)
		if got, err := st.Judgements(t.Context(), q.q); err != nil || len(got) == 0 {
			t.Errorf("%s: %d, %v", q.what, len(got), err)
		}
	}
	for _, q := range []struct {
		what string
		q    store.JobQuery
	}{
		{"newest jobs", store.JobQuery{Limit: 100}},
		{"open jobs", store.JobQuery{State: store.Open, Limit: 100}},
		{"a bench's jobs", store.JobQuery{Bench: "bay 77", Limit: 100}},
		{"a sheet's jobs", store.JobQuery{Sheet: "sheet 7", Limit: 100}},
	} {
		query, args := jobs(q.q)
		explain(t, s.Owner, &out, q.what, query, args)
	}
	boardQueries(t, s.Owner, &out)
	t.Log(out.String())
	if *update && benches == 10_000 {
		if err := os.WriteFile("testdata/plans.txt", []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func start() time.Time { return time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC) }

func fill(t *testing.T, c *pgx.Conn, benches, each int) {
	rows, err := c.Query(t.Context(), `SELECT indexdef FROM pg_indexes WHERE schemaname = 'shimwright' AND (indexname LIKE 'j%\_by\_%' OR indexname LIKE 'fact\_%' AND indexname <> 'fact_pkey')`)
	if err != nil {
		t.Fatal(err)
	}
	indexes, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(indexes) < 8 {
		t.Fatal(err, indexes)
	}
	for _, d := range indexes {
		shoptest.Exec(t, c, "DROP INDEX shimwright."+strings.Fields(d)[2])
	}
	us := start().UnixMicro()
	shoptest.Exec(t, c, fmt.Sprintf(`INSERT INTO shimwright.job SELECT 'bay ' || b, lpad(n::text, 4, '0'), 'RD3', 'S' || n, 'sheet ' || (b + n) %% 40, 2, 'd',
		%d + n * 36000000000 + b, CASE WHEN n = %d THEN 'open' ELSE 'signed' END, NULL, false
		FROM generate_series(1, %d) n, generate_series(1, %d) b`, us, each/10, each/10, benches))
	shoptest.Exec(t, c, fmt.Sprintf(`INSERT INTO shimwright.judgement SELECT 'bay ' || b, n, lpad((n / 10)::text, 4, '0'), 'sheet ' || (b + n / 10) %% 40, 'a step',
		(ARRAY['backlash', 'turning torque', 'end float', 'run-out', 'contact marking', 'pack'])[n %% 6 + 1], 'GOOD', 'Good: 0.120 mm within 0.10 mm .. 0.20 mm.', '',
		'0.120', '0.10', '0.20', '0.012', '0.121', '0.03', '["1 0.12","2 0.12","3 0.13","4 0.12"]', 1, false, 'v1', %d + n * 3600000000 + b
		FROM generate_series(1, %d) n, generate_series(1, %d) b`, us, each, benches))
	shoptest.Exec(t, c, fmt.Sprintf(`INSERT INTO shimwright.bench_head SELECT 'bay ' || b, 'app', sha256(''), %d, sha256(''), to_timestamp(%d / 1e6) + b * interval '1 s', 1, %[1]d
		FROM generate_series(1, %[3]d) b`, factsEach, us, benches))
	// ten of gauges, then ten of each of the newest jobs; a hold in a hundred
	shoptest.Exec(t, c, fmt.Sprintf(`INSERT INTO shimwright.fact SELECT 'bay ' || b, n, %d + (%d + n) * 3600000000 + b, n, 'run',
		CASE WHEN n <= 10 THEN 'gauge/D0' || n %% 5 ELSE 'job/' || lpad((%d - (%d - n) / 10)::text, 4, '0') END,
		CASE WHEN n <= 10 THEN 'checked' WHEN n %% 100 = 50 THEN 'on hold' ELSE 'pressed' END, 1,
		convert_to('{"step":"backlash","spot":"90 deg","gauge":"D0' || n %% 5 || '","gauge kind":"dial indicator","value":"0.12 mm","raw":"KzAwMDAuMTIN","arrived":"2026-01-01T00:00:00Z","source":"gauge","pieces":["S-' || n %% 40 || '"],"outcome":"taken","sentence":"0.12 mm from D0' || n %% 5 || ' at backlash, 90 deg."}', 'UTF8'), sha256('')
		FROM generate_series(1, %d) n, generate_series(1, %d) b`, us, each, each/10, factsEach, factsEach, benches))
	for _, d := range indexes {
		shoptest.Exec(t, c, d)
	}
	for _, table := range []string{"job", "judgement", "fact", "bench_head"} {
		shoptest.Exec(t, c, "VACUUM ANALYZE shimwright."+table)
	}
}

// factsEach is how many facts of each bench are there.
const factsEach = 200

// boardQueries are what a board asks beside the rows.
func boardQueries(t *testing.T, c *pgx.Conn, out *strings.Builder) {
	from, to := start().Add(1100*time.Hour), start().Add(1300*time.Hour)
	traced, args := openBetween(from, to)
	var some, ids []string
	var after, upto []int64
	for n := range 500 {
		some, ids = append(some, fmt.Sprint("bay ", n%100+1)), append(ids, fmt.Sprintf("%04d", n%20+80))
		after, upto = append(after, 190), append(upto, factsEach)
	}
	for _, q := range []struct {
		what, query string
		args        []any
	}{
		{"how far all benches are, each half minute", allHeads, nil},
		{"how far those are that were heard of", someHeads, []any{some[:3]}},
		{"what is new of 20 benches", newSubjects, []any{some[:20], after[:20], upto[:20]}},
		{"decided, the newest of all", decidedAll, []any{2000}},
		{"decided, of what is new", decidedNew, []any{2000, some[:20], after[:20], upto[:20]}},
		{"one job's facts", factsOf, []any{"bay 77", "job/0095", 0, pageFacts}},
		{"whether a job is over", stateOf, []any{"bay 77", "0095"}},
		{"gauges and pieces of 50 benches", gaugeFacts, []any{some[:50], make([]int64, 50), upto[:50]}},
		{"what benches say of themselves", notes, nil},
		{"jobs that were open within some days", traced, args},
		{"presses of a gauge in 500 jobs", tracedFacts, []any{some, ids, micros(from), micros(to), []byte(`"D02"`)}},
		{"gauges checked on a piece", tracedChecks, []any{micros(start()), micros(to), []byte(`"S-7"`)}},
	} {
		explain(t, c, out, q.what, q.query, q.args)
	}
}

func sizes(t *testing.T, c *pgx.Conn) string {
	var s string
	if err := c.QueryRow(t.Context(), `SELECT 'judgement: ' || pg_size_pretty(pg_table_size('shimwright.judgement')) || ', its indexes ' || pg_size_pretty(pg_indexes_size('shimwright.judgement')) || E'\n'
		|| 'job: ' || pg_size_pretty(pg_table_size('shimwright.job')) || ', its indexes ' || pg_size_pretty(pg_indexes_size('shimwright.job')) || E'\n'`).Scan(&s); err != nil {
		t.Fatal(err)
	}
	return s
}

// explain runs a query twice and keeps the second run's plan. It must not go
// through a whole table.
func explain(t *testing.T, c *pgx.Conn, out *strings.Builder, what, query string, args []any) {
	var plan []string
	for range 2 {
		rows, err := c.Query(t.Context(), "EXPLAIN (ANALYZE, BUFFERS, COSTS OFF) "+query, args...)
		if err != nil {
			t.Fatal(err)
		}
		if plan, err = pgx.CollectRows(rows, pgx.RowTo[string]); err != nil {
			t.Fatal(err)
		}
	}
	_, condition, _ := strings.Cut(query, "FROM ")
	fmt.Fprintf(out, "\n== %s\n%s\n%s\n", what, condition, strings.Join(plan, "\n"))
	if slices.ContainsFunc(plan, func(l string) bool {
		// a row a bench, or a row a bench in trouble: small
		return strings.Contains(l, "Seq Scan") && !strings.Contains(l, "Seq Scan on bench_head") && !strings.Contains(l, "Seq Scan on said")
	}) {
		t.Errorf("%s goes through a whole table:\n%s", what, strings.Join(plan, "\n"))
	}
}
