package exchange

import (
	"context"
	"fmt"
	"iter"
	"time"

	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// Facts reads the facts of a subject, oldest first, as a journal does.
type Facts interface {
	Read(ctx context.Context, subject string, after int64, f func(journal.Stored) error) error
}

// A Source is where rows come from, and which of them are wanted.
type Source struct {
	Store store.Store
	Facts Facts // presses are facts; nil where there are only rows
	// Jobs opened at or after From and before Until; the zero time sets no limit.
	From, Until time.Time
	Job         string // only this one, where it is not empty
	// Progress, which may be nil, is told now and then how many rows are written.
	Progress func(rows int64)
}

// Garbage is the percentage for debug.SetGCPercent in a program that exports and
// ends: what is alive at a time is so little that the usual 100 spends more time
// collecting than reading. Measured with presses: twice the rows a second, and 16
// MiB of heap instead of 6.
const Garbage = 400

// A Sink takes rows of one kind after another.
type Sink interface {
	Begin(Kind) error
	Row([]Cell) error
}

// Limits of what is held in memory at a time, and how often progress is told.
const (
	mostJobs  = 1_000_000 // whose serial numbers are kept beside their judgements
	mostOfJob = 100_000   // presses of one job
	atOnce    = 4         // jobs, or pages of judgements, worked at the same time
	everyRows = 1000
)

// Write writes all rows of a kind and tells how many.
func (s Source) Write(ctx context.Context, k Kind, to Sink) (rows int64, err error) {
	if k == Presses && s.Facts == nil {
		return 0, fmt.Errorf("presses are facts, and here are only the rows that follow from them: export them from a bench's journal")
	}
	if err := to.Begin(k); err != nil {
		return 0, err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	for part, err := range s.parts(ctx, k) {
		if err != nil {
			return rows, err
		}
		for _, cells := range part {
			if err := to.Row(cells); err != nil {
				return rows, err
			}
			if rows++; s.Progress != nil && rows%everyRows == 0 {
				s.Progress(rows)
			}
		}
	}
	return rows, nil
}

// parts are the rows, some at a time.
func (s Source) parts(ctx context.Context, k Kind) iter.Seq2[[][]Cell, error] {
	switch k {
	case Jobs:
		return inOrder(s.jobs(ctx), func(j store.Job) ([][]Cell, error) { return [][]Cell{jobRow(j)}, nil })
	case Presses:
		return inOrder(s.jobs(ctx), func(j store.Job) ([][]Cell, error) { return s.pressRows(ctx, j) })
	}
	return func(yield func([][]Cell, error) bool) {
		known, err := s.known(ctx)
		if err != nil {
			yield(nil, err)
			return
		}
		rows := inOrder(s.judgements(ctx, k), func(page []store.Judgement) ([][]Cell, error) { return known.rows(k, page), nil })
		for part, err := range rows {
			if !yield(part, err) {
				return
			}
		}
	}
}

// known is what a judgement does not say of its job, of the jobs wanted.
type known map[string]about

type about struct {
	serial   string
	training bool
}

func (s Source) known(ctx context.Context) (known, error) {
	out := known{}
	for j, err := range s.jobs(ctx) {
		if err != nil {
			return nil, err
		}
		if len(out) == mostJobs {
			return nil, fmt.Errorf("there are more than %d jobs: choose some by when they were opened, with --from and --to", mostJobs)
		}
		out[j.ID] = about{j.Serial, j.Training}
	}
	return out, nil
}

func (k known) rows(kind Kind, page []store.Judgement) [][]Cell {
	var out [][]Cell
	for _, d := range page {
		if j, ok := k[d.Job]; ok {
			out = append(out, judgementRows(kind, j, d)...)
		}
	}
	return out
}

// judgements are pages of those that may be of the jobs wanted, newest first: a
// job is judged after it is opened.
func (s Source) judgements(ctx context.Context, k Kind) iter.Seq2[[]store.Judgement, error] {
	q := store.JudgementQuery{Job: s.Job, From: s.From, Limit: store.Most}
	if k == Packs {
		q.What = WhatPack
	}
	return func(yield func([]store.Judgement, error) bool) {
		for {
			page, err := s.Store.Judgements(ctx, q)
			if !yield(page, err) || err != nil || len(page) < store.Most {
				return
			}
			q.Before = page[len(page)-1].Seq
		}
	}
}

// jobs are those wanted, newest opened first.
func (s Source) jobs(ctx context.Context) iter.Seq2[store.Job, error] {
	return func(yield func(store.Job, error) bool) {
		q := store.JobQuery{From: s.From, Until: s.Until, Limit: store.Most}
		for {
			page, err := s.Store.Jobs(ctx, q)
			if err != nil {
				yield(store.Job{}, err)
				return
			}
			for _, j := range page {
				if s.Job != "" && j.ID != s.Job {
					continue
				}
				if !yield(j, nil) || s.Job != "" {
					return
				}
			}
			if len(page) < store.Most {
				return
			}
			q.Before = &page[len(page)-1]
		}
	}
}

// inOrder works a few items ahead at the same time and gives what comes of them
// in their own order. It ends with the first error.
func inOrder[T, R any](items iter.Seq2[T, error], work func(T) (R, error)) iter.Seq2[R, error] {
	type done struct {
		r   R
		err error
	}
	return func(yield func(R, error) bool) {
		begun := make(chan chan done, atOnce)
		quit := make(chan struct{})
		ended := make(chan struct{})
		defer func() { close(quit); <-ended }()
		go func() {
			defer close(ended)
			defer close(begun)
			for item, err := range items {
				one := make(chan done, 1)
				select {
				case begun <- one:
				case <-quit:
					return
				}
				if err != nil {
					one <- done{err: err}
					return
				}
				go func() { r, err := work(item); one <- done{r, err} }()
			}
		}()
		for one := range begun {
			if d := <-one; !yield(d.r, d.err) || d.err != nil {
				return
			}
		}
	}
}
