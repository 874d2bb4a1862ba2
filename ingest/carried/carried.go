// Package carried holds one job's facts as they are carried outside a journal:
// on a build record, to whoever wants to check it.
//
// A fact is carried with every byte that its hash covers, and with the hash of
// the fact before it. So each can be held to its own hash without the journal.
// Where facts of other subjects lie between two of the job's, the hash before is
// carried and not worked out: what lies there cannot be seen from here. Whoever
// writes facts and hashes anew makes a whole set that agrees with itself; only
// the last hash, kept elsewhere, tells that apart.
package carried

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"
	"unicode/utf8"

	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// MostFacts is how many facts of a job are carried. A whole job has some
// hundreds.
const MostFacts = 10_000

// ErrNoJob is a job that the journal has no facts of.
var ErrNoJob = errors.New("there is no such job")

// A Fact is one stored fact. All fields but Hash are what the hash covers.
type Fact struct {
	Seq     int64     `json:"seq"`
	UTC     time.Time `json:"utc"`
	Run     string    `json:"run"`
	SinceNS int64     `json:"since_run_ns"` // since that run opened the journal
	Kind    string    `json:"kind"`
	Version int       `json:"version"`
	// Payload is the fact's own bytes, as text; Bytes has them where they are not
	// UTF-8.
	Payload string `json:"payload,omitempty"`
	Bytes   []byte `json:"payload_base64,omitempty"`
	Before  string `json:"hash_before"`
	Hash    string `json:"hash"`
}

// A Job is one job's facts, in order.
type Job struct {
	Bench string `json:"bench"`
	ID    string `json:"job"`
	Facts []Fact `json:"facts"`
}

const subject = "job/"

// Load reads a job's facts from a journal. Errors: ErrNoJob, and those of the
// journal.
func Load(ctx context.Context, r *journal.Reader, id string) (Job, error) {
	j := Job{Bench: r.Bench(), ID: id}
	var last journal.Stored
	err := r.Read(ctx, subject+id, math.MinInt64, func(s journal.Stored) error {
		if len(j.Facts) == MostFacts {
			return fmt.Errorf("job %s has more than %d facts: no record carries so many", show(id), MostFacts)
		}
		before := last.Hash
		if len(j.Facts) == 0 || s.Seq != last.Seq+1 {
			var err error
			if before, err = r.HashBefore(ctx, s.Seq); err != nil {
				return err
			}
		}
		j.Facts, last = append(j.Facts, carry(before, s)), s
		return nil
	})
	if err == nil && len(j.Facts) == 0 {
		err = fmt.Errorf("job %s: %w in the journal of bench %q: shimwright trace lists jobs by their gauges", show(id), ErrNoJob, r.Bench())
	}
	return j, err
}

func carry(before journal.Hash, s journal.Stored) Fact {
	f := Fact{Seq: s.Seq, UTC: s.UTC, Run: s.Run, SinceNS: int64(s.SinceRun), Kind: s.Kind, Version: s.Version,
		Before: before.String(), Hash: s.Hash.String()}
	if utf8.Valid(s.Payload) {
		f.Payload = string(s.Payload)
	} else {
		f.Bytes = s.Payload
	}
	return f
}

// show quotes a name of any content for a message.
func show(name string) string { return devices.Quote([]byte(name)) }

// stored is a carried fact as the journal has it.
func (j Job) stored(f Fact) (s journal.Stored, before journal.Hash, err error) {
	payload := f.Bytes
	if f.Payload != "" {
		payload = []byte(f.Payload)
	}
	s = journal.Stored{
		Record: journal.Record{Subject: subject + j.ID, Kind: f.Kind, Version: f.Version, Payload: payload},
		Seq:    f.Seq, UTC: f.UTC, Run: f.Run, SinceRun: time.Duration(f.SinceNS),
	}
	if s.Hash, err = journal.ParseHash(f.Hash); err != nil {
		return s, before, fmt.Errorf("fact %d: %w", f.Seq, err)
	}
	if before, err = journal.ParseHash(f.Before); err != nil {
		return s, before, fmt.Errorf("fact %d, the hash before it: %w", f.Seq, err)
	}
	return s, before, nil
}

// Decode reads the facts that are carried.
func (j Job) Decode() ([]fact.Fact, error) {
	if len(j.Facts) > MostFacts {
		return nil, fmt.Errorf("%d facts are carried, and a job has at most %d: this is no record of one job", len(j.Facts), MostFacts)
	}
	out := make([]fact.Fact, 0, len(j.Facts))
	for _, f := range j.Facts {
		s, _, err := j.stored(f)
		if err != nil {
			return nil, err
		}
		read, err := fact.Decode(s)
		if err != nil {
			return nil, err
		}
		out = append(out, read)
	}
	return out, nil
}

// A Proof is what holding the facts to their hashes showed.
type Proof struct {
	Faults []string // in words; none where every fact gives its hash
	Runs   int      // stretches of facts with none of another subject between
	Gaps   int64    // facts of other subjects that lie between, in all
}

// Prove holds each fact to its own hash, and each to the one before it where that
// one is carried too.
func (j Job) Prove() Proof {
	var p Proof
	var last journal.Stored
	for i, f := range j.Facts {
		s, before, err := j.stored(f)
		if err != nil {
			p.Faults = append(p.Faults, err.Error())
			last = journal.Stored{Seq: f.Seq}
			continue
		}
		follows := i > 0 && s.Seq == last.Seq+1
		switch {
		case i > 0 && s.Seq <= last.Seq:
			p.Faults = append(p.Faults, fmt.Sprintf("fact %d stands behind fact %d: facts are carried in their order", s.Seq, last.Seq))
		case !s.Follows(before):
			p.Faults = append(p.Faults, fmt.Sprintf("fact %d, %q: its content and the hash before it do not give its hash: one of them was changed", s.Seq, s.Kind))
		case follows && before != last.Hash:
			p.Faults = append(p.Faults, fmt.Sprintf("fact %d does not follow fact %d: its hash before is not that one's hash", s.Seq, last.Seq))
		}
		if !follows {
			p.Runs++
			if i > 0 && s.Seq > last.Seq {
				p.Gaps += s.Seq - last.Seq - 1
			}
		}
		last = s
	}
	return p
}

// Last is the hash of the last fact and its number; zero where none is carried.
func (j Job) Last() (seq int64, hash string) {
	if len(j.Facts) == 0 {
		return 0, ""
	}
	f := j.Facts[len(j.Facts)-1]
	return f.Seq, f.Hash
}
