package main

import (
	"fmt"
	"testing"
	"time"

	"shimwright/ui/board"
)

// BenchmarkBoardLoad reads the board anew, as at its start, over journals of more
// and more jobs. A list holds the 1,000 newest, so from there on what grows is
// only what the indexes cost.
func BenchmarkBoardLoad(b *testing.B) {
	text, ok := embeddedSheet("fw3")
	if !ok {
		b.Fatal("no sheet fw3")
	}
	for _, n := range []int{250, 500, 1000, 2000, 4000, 8000, 16_000, 32_000, 64_000, 100_000} {
		b.Run(fmt.Sprint("n=", n), func(b *testing.B) {
			if testing.Short() && n > 4000 {
				b.Skip("a journal of so many jobs is not built in a short run")
			}
			src, err := openSource(b.Context(), boardJournal(b, n, string(text)).Path())
			if err != nil {
				b.Fatal(err)
			}
			defer src.Close()
			b.ReportAllocs()
			for b.Loop() {
				m, err := board.NewLoader(src, time.Now).Load(b.Context(), board.Query{}, nil)
				if err != nil || len(m.Rows) != min(n, board.MostJobs) {
					b.Fatal(err)
				}
			}
		})
	}
}
