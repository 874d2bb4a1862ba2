package register

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// The name and version of what a journal keeps of the register. The version goes
// up whenever the fold, or the form below, changes.
const (
	keptName    = "register"
	keptVersion = 1
	keepAfter   = 2000 // facts read, after which the fold is kept anew
)

// The form in which a register is kept.
type (
	keptRegister struct {
		Pieces map[string][]keptSpan[fact.Certified] `json:"pieces"`
		Gauges map[string]keptGauge                  `json:"gauges"`
		Trays  map[string]map[string]keptLeaf        `json:"trays"`
		Sheets map[string][]keptApproval             `json:"sheets"`
	}
	keptSpan[T any] struct {
		Since     time.Time `json:"since"`
		What      T         `json:"what"`
		Withdrawn string    `json:"withdrawn,omitempty"`
	}
	keptGauge struct {
		History []keptSpan[fact.GaugeCertified] `json:"history"`
		Checks  []keptSpan[fact.Checked]        `json:"checks"`
		Zero    *keptSpan[fact.ZeroChecked]     `json:"zero"`
	}
	keptLeaf struct {
		Size     quantity.Value  `json:"size"`
		Measured *quantity.Value `json:"measured"`
		Count    int             `json:"count"`
		Low      int             `json:"low"`
		File     *int            `json:"file"`
	}
	keptApproval struct {
		fact.Approved
		Since time.Time `json:"since"`
	}
)

// pack puts a register in the form in which it is kept.
func (r *Register) pack() keptRegister {
	k := keptRegister{map[string][]keptSpan[fact.Certified]{}, map[string]keptGauge{}, map[string]map[string]keptLeaf{}, map[string][]keptApproval{}}
	for id, h := range r.pieces {
		k.Pieces[id] = packHistory(h)
	}
	for id, g := range r.gauges {
		kg := keptGauge{History: packHistory(g.history)}
		for _, c := range g.checks {
			kg.Checks = append(kg.Checks, keptSpan[fact.Checked]{Since: c.At, What: c.Checked})
		}
		if g.zero != nil {
			kg.Zero = &keptSpan[fact.ZeroChecked]{Since: g.zero.At, What: g.zero.ZeroChecked}
		}
		k.Gauges[id] = kg
	}
	for name, t := range r.trays {
		k.Trays[name] = map[string]keptLeaf{}
		for size, l := range t {
			k.Trays[name][size] = keptLeaf{l.Size, l.Measured, l.Count, l.Low, l.file}
		}
	}
	for id, approvals := range r.sheets {
		for _, a := range approvals {
			k.Sheets[id] = append(k.Sheets[id], keptApproval{a.Approved, a.Since})
		}
	}
	return k
}

func packHistory[T any](h history[T]) []keptSpan[T] {
	var out []keptSpan[T]
	for _, s := range h {
		out = append(out, keptSpan[T]{s.since, s.what, s.withdrawn})
	}
	return out
}

// unpack is the register that was kept.
func (k keptRegister) unpack() *Register {
	r := New()
	for id, h := range k.Pieces {
		r.pieces[id] = unpackHistory(h)
	}
	for id, kg := range k.Gauges {
		g := gauge{history: unpackHistory(kg.History)}
		for _, c := range kg.Checks {
			g.checks = append(g.checks, Check{c.What, c.Since})
		}
		if kg.Zero != nil {
			g.zero = &Zero{kg.Zero.What, kg.Zero.Since}
		}
		r.gauges[id] = g
	}
	for name, leaves := range k.Trays {
		r.trays[name] = tray{}
		for size, l := range leaves {
			r.trays[name][size] = Leaf{Size: l.Size, Measured: l.Measured, Count: l.Count, Low: l.Low, file: l.File}
		}
	}
	for id, approvals := range k.Sheets {
		for _, a := range approvals {
			r.sheets[id] = append(r.sheets[id], Approval{id, a.Approved, a.Since})
		}
	}
	return r
}

func unpackHistory[T any](h []keptSpan[T]) history[T] {
	var out history[T]
	for _, s := range h {
		out = append(out, span[T]{s.Since, s.What, s.Withdrawn})
	}
	return out
}

// Load folds what a journal says: what it keeps of the register, and the facts
// since.
func Load(ctx context.Context, j *journal.Reader) (*Register, error) {
	r, _, err := load(ctx, j)
	return r, err
}

// LoadAndKeep is Load over a journal open for writing, which keeps the fold where
// many facts had to be read.
func LoadAndKeep(ctx context.Context, j *journal.Journal) (*Register, error) {
	last, ok, err := j.Last(ctx)
	if err != nil {
		return nil, err
	}
	r, read, err := load(ctx, j.Reader)
	if err != nil || !ok || read < keepAfter {
		return r, err
	}
	state, err := json.Marshal(r.pack())
	if err != nil {
		return nil, fmt.Errorf("the register cannot be kept: %w", err)
	}
	return r, j.Keep(ctx, journal.Kept{Name: keptName, Version: keptVersion, Seq: last.Seq, State: state})
}

// Fold makes anew what a journal keeps of the register.
func Fold() journal.Fold {
	r := New()
	return journal.Fold{Name: keptName, Version: keptVersion,
		Then: func(s journal.Stored) error {
			if !slices.ContainsFunc([]string{pieces, gauges, stock, sheets}, func(prefix string) bool { return strings.HasPrefix(s.Subject, prefix) }) {
				return nil
			}
			return r.take(s)
		},
		State: func() ([]byte, error) { return json.Marshal(r.pack()) },
	}
}

// take folds one fact of the register's.
func (r *Register) take(s journal.Stored) error {
	f, err := fact.Decode(s)
	if err != nil {
		return err
	}
	if err := r.fold(s.Subject, s.UTC, f); err != nil {
		return fmt.Errorf("fact %d, %q of %s: %w", s.Seq, s.Kind, devices.Quote([]byte(s.Subject)), err)
	}
	return nil
}

// load gives how many facts it read, too. What is kept and cannot be read is left
// aside: the facts say it all.
func load(ctx context.Context, j *journal.Reader) (r *Register, read int, err error) {
	r = New()
	kept, ok, err := j.Kept(ctx, keptName, keptVersion)
	if err != nil {
		return nil, 0, err
	}
	var form keptRegister
	if ok && json.Unmarshal(kept.State, &form) == nil {
		r = form.unpack()
	} else {
		kept.Seq = 0
	}
	for _, prefix := range []string{pieces, gauges, stock, sheets} {
		subjects, err := j.Subjects(ctx, prefix)
		if err != nil {
			return nil, 0, err
		}
		for _, subject := range subjects {
			err := j.Read(ctx, subject, kept.Seq, func(s journal.Stored) error {
				read++
				return r.take(s)
			})
			if err != nil {
				return nil, 0, err
			}
		}
	}
	return r, read, nil
}
