package relay

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"shimwright/ingest/journal"
	"shimwright/ingest/relay/shop"
)

// Dial gives the way to a shop for a bench.
func Dial(a shop.Address, bench string) func(context.Context) (Link, error) {
	return func(ctx context.Context) (Link, error) {
		c, err := shop.Connect(ctx, a, "shimwright "+bench)
		if err != nil {
			return nil, err
		}
		l := &link{c, bench}
		if err := shop.Check(ctx, c); err != nil {
			l.Close()
			return nil, err
		}
		return l, nil
	}
}

// link is a bench's connection to PostgreSQL.
type link struct {
	*pgx.Conn
	bench string
}

// Close takes its time only up to a limit: a bench that stops does not wait.
func (l *link) Close() {
	ctx, stop := context.WithTimeout(context.Background(), 2*time.Second)
	defer stop()
	_ = l.Conn.Close(ctx) // the server sees it gone, by word or by silence
}

func (l *link) Head(ctx context.Context) (Head, error) {
	var h Head
	var hash, origin []byte
	err := l.QueryRow(ctx, `SELECT last_seq, last_hash, origin, rule, rows_seq, shop FROM shimwright.head($1)`, l.bench).
		Scan(&h.Seq, &hash, &origin, &h.Rule, &h.Rows, &h.Shop)
	if err != nil {
		return h, shop.Explain("asking what the shop has of bench "+l.bench, err)
	}
	h.Begun = origin != nil
	if h.Begun && (len(hash) != len(h.Hash) || len(origin) != len(h.Origin)) {
		return h, fmt.Errorf("%w: its head of bench %s has no whole hash", shop.ErrForm, l.bench)
	}
	copy(h.Hash[:], hash)
	copy(h.Origin[:], origin)
	return h, nil
}

func (l *link) Kept(ctx context.Context, seq int64) (journal.Hash, bool, error) {
	var hash []byte
	err := l.QueryRow(ctx, `SELECT shimwright.kept($1, $2)`, l.bench, seq).Scan(&hash)
	if err != nil || len(hash) != len(journal.Hash{}) {
		return journal.Hash{}, false, shop.Explain("asking for a fact", err)
	}
	return journal.Hash(hash), true, nil
}

func (l *link) Anew(ctx context.Context, rule int) error {
	_, err := l.Exec(ctx, `SELECT shimwright.anew($1, $2)`, l.bench, rule)
	return shop.Explain("beginning the rows for boards anew", err)
}

func (l *link) Say(ctx context.Context, kind, words string) error {
	_, err := l.Exec(ctx, `SELECT shimwright.say($1, $2, $3)`, l.bench, kind, words)
	return shop.Explain("telling the shop's boards", err)
}

// Ship sends both calls at once: PostgreSQL takes what comes before one sync as
// one transaction.
func (l *link) Ship(ctx context.Context, b Batch) error {
	opened, judged, ended, err := b.Rows.columns()
	if err != nil {
		return fmt.Errorf("rows of a batch: %w", err)
	}
	var send pgx.Batch
	if len(b.Facts) > 0 {
		f := columnsOf(b.Facts)
		send.Queue(`SELECT shimwright.take($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
			l.bench, b.After, b.On[:], f.utc, f.since, f.run, f.subject, f.kind, f.version, f.payload, f.hash)
	}
	send.Queue(`SELECT shimwright.follow($1, $2, $3, $4, $5, $6, $7)`,
		l.bench, b.Rows.Rule, b.Rows.After, b.Rows.Upto, opened, judged, ended)
	return shop.Explain("shipping facts", l.SendBatch(ctx, &send).Close())
}

type columns struct {
	utc, since         []int64
	run, subject, kind []string
	version            []int32
	payload, hash      [][]byte
}

func columnsOf(facts []journal.Stored) columns {
	var c columns
	for _, s := range facts {
		c.utc, c.since = append(c.utc, s.UTC.UnixMicro()), append(c.since, int64(s.SinceRun))
		c.run, c.subject, c.kind = append(c.run, s.Run), append(c.subject, s.Subject), append(c.kind, s.Kind)
		c.version = append(c.version, int32(s.Version)) // the journal holds it to 31 bits
		payload := s.Payload
		if payload == nil {
			payload = []byte{} // empty, and not NULL
		}
		c.payload, c.hash = append(c.payload, payload), append(c.hash, s.Hash[:])
	}
	return c
}

// columns writes the rows as the shop's function reads them.
func (r Rows) columns() (opened, judged, ended string, err error) {
	o, j, e := []map[string]any{}, []map[string]any{}, []map[string]any{}
	for _, x := range r.Opened {
		o = append(o, map[string]any{"id": clean(x.ID), "drive": clean(x.Drive), "serial": clean(x.Serial), "sheet": clean(x.Sheet),
			"issue": x.Issue, "digest": clean(x.Digest), "opened_us": x.Opened.UnixMicro(), "training": x.Training})
	}
	for _, x := range r.Judged {
		points, err := json.Marshal(x.Points)
		leaves, leavesErr := json.Marshal(x.Leaves)
		if err := errors.Join(err, leavesErr); err != nil {
			return "", "", "", err
		}
		j = append(j, map[string]any{"seq": x.Seq, "job": clean(x.Job), "step": clean(x.Step), "what": clean(x.What), "verdict": clean(x.Verdict),
			"words": clean(x.Words), "advice": clean(x.Advice), "value": clean(x.Value), "low": clean(x.Low), "high": clean(x.High),
			"uncertainty": clean(x.Uncertainty), "mean": clean(x.Mean), "spread": clean(x.Spread), "points": string(points), "leaves": string(leaves), "total": clean(x.Total),
			"build": x.Build, "training": x.Training, "program": clean(x.Program), "utc_us": x.At.UnixMicro()})
	}
	for _, x := range r.Ended {
		e = append(e, map[string]any{"job": clean(x.Job), "state": string(x.State), "ended_us": x.At.UnixMicro()})
	}
	var errs []error
	text := func(rows []map[string]any) string {
		b, err := json.Marshal(rows)
		errs = append(errs, err)
		return string(b)
	}
	return text(o), text(j), text(e), errors.Join(errs...)
}

// clean takes out what a text of PostgreSQL cannot hold; the payload keeps it.
func clean(s string) string { return strings.ReplaceAll(s, "\x00", "\uFFFD") }
