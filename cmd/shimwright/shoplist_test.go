//go:build unix

package main

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"shimwright/ingest/relay/shop/shoptest"
)

// A bench is put in the shop's list with its role's rights, or not at all: a slip is
// told in words, and who shipped before goes on.
func TestShopListRefuses(t *testing.T) {
	d := newOffice(t, shoptest.DSN(t))
	at := []string{"--server", "127.0.0.1", "--port", fmt.Sprint(d.Port), "--database", d.Name, "--user", "app"}
	role := d.Role(t, "bay1")
	d.obey("shop", "bench", "bay 1", role)
	for name, c := range map[string]struct {
		args []string
		want string
	}{
		"no such role to ship":  {[]string{"bench", "bay 1", "nobody_here"}, `the server has no role "nobody_here": have its keeper make it`},
		"no such role to look":  {[]string{"board", "nobody_here"}, `the server has no role "nobody_here"`},
		"written right to left": {[]string{"bench", "bay \u202e1", role}, `the bench's name, "bay \u202e1", holds characters that do not print`},
		"far too long":          {[]string{"bench", strings.Repeat("x", 300), role}, "the bench's name has 300 characters: write at most 60"},
		"no name":               {[]string{"bench", "", role}, "the bench's name is empty"},
	} {
		out, err := runCommand(t, slices.Concat([]string{"shop"}, c.args, at)...)
		if err == nil || !strings.Contains(err.Error(), c.want) || statusOf(err) != exitInput {
			t.Errorf("%s: %v (exit %d), want %q; %s", name, err, statusOf(err), c.want, out)
		}
	}
	if n := shoptest.Count(t, d.Owner, `SELECT count(*) FROM shimwright.bench_head WHERE bench = 'bay 1' AND role = $1`, role); n != 1 {
		t.Errorf("bay 1 has %d rows with its old role, want 1", n)
	}
	if n := shoptest.Count(t, d.Owner, `SELECT count(*) FROM shimwright.bench_head`); n != 1 {
		t.Errorf("the list has %d benches, want 1", n)
	}
}
