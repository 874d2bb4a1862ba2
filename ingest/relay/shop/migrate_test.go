package shop_test

import (
	"errors"
	"testing"

	"shimwright/ingest/relay/shop"
	"shimwright/ingest/relay/shop/shoptest"
)

// A shop of the first form is told to be prepared, and then has every row that it
// had, with nothing said of leaves.
func TestFirstFormIsBroughtUp(t *testing.T) {
	s := shoptest.Bare(t, shoptest.DSN(t))
	for _, q := range []string{`CREATE SCHEMA shimwright`, `CREATE TABLE shimwright.form (version int NOT NULL, shop text NOT NULL)`, shop.Migrations()[0],
		`INSERT INTO shimwright.form VALUES (1, 'a shop')`,
		`INSERT INTO shimwright.judgement (bench, seq, job, sheet, step, what, verdict, words, advice, value, low, high, uncertainty, mean, spread, points, build, training, program, utc_us)
			VALUES ('bay 1', 7, '0001', 'rd3', 'pinion pack', 'pack', 'good', 'w', '', '0.002', '', '', '', '', '', '[]', 2, false, 'p', 1)`} {
		if _, err := s.Owner.Exec(t.Context(), q); err != nil {
			t.Fatal(err)
		}
	}
	if err := shop.Check(t.Context(), s.Owner); !errors.Is(err, shop.ErrForm) {
		t.Errorf("a shop of form 1: %v", err)
	}
	for range 2 { // done again it changes nothing
		if err := shop.Prepare(t.Context(), s.Owner); err != nil {
			t.Fatal(err)
		}
	}
	if err := shop.Check(t.Context(), s.Owner); err != nil {
		t.Error(err)
	}
	if n := shoptest.Count(t, s.Owner, `SELECT count(*) FROM shimwright.judgement WHERE seq = 7 AND leaves = '[]' AND total = ''`); n != 1 {
		t.Errorf("%d rows are left as they were", n)
	}
}
