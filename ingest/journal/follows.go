package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"slices"

	"shimwright/ingest/store"
)

// Following is what a journal's facts are held to have given beside them: its
// rows by a rule, and what is kept of folds.
type Following struct {
	Rows  store.Rule[Stored]
	Folds []Fold
}

// A Fold makes anew what is kept by a name and version (Kept). Then takes every
// fact of the journal in order, those that are none of the fold's too; State is
// what would be kept of the facts so far.
type Fold struct {
	Name    string
	Version int
	Then    func(Stored) error
	State   func() ([]byte, error)
}

// Followed is how what lies beside the facts came out.
type Followed struct {
	// By is the version of the rule that made the file's rows. Where it is not
	// that of the rule given, they were not looked at: they are made anew by the
	// next bench, and boards do not read them until then.
	By               int
	Looked           bool
	Jobs, Judgements int      // rows that follow from the facts
	Kept             []string // the folds that were held to the facts
	Differs          []string // a sentence on each row that differs, the first ones
	More             int      // how many others differ
}

// Differences is how many rows and folds differ.
func (f Followed) Differences() int { return len(f.Differs) + f.More }

// mostDiffers bounds the sentences that are made and held.
const mostDiffers = 20

func (f *Followed) differs(format string, args ...any) {
	if len(f.Differs) == mostDiffers {
		f.More++
		return
	}
	f.Differs = append(f.Differs, fmt.Sprintf(format, args...))
}

// VerifyAll is Verify, and in the same pass over the facts works anew the rows
// that follow from them and what is kept of folds, and holds those of the file to
// that. What differs is in the Followed and is no error: the facts are whole, and
// the rows can be made anew from them (Options.Anew).
//
// Judgements are held to the facts page by page. Of each job some 200 bytes are
// held until the end, when the list of jobs is read in one transaction.
func (r *Reader) VerifyAll(ctx context.Context, by Following, progress Progress) (Followed, error) {
	w := &anew{r: r, by: by, jobs: map[string]*jobAnew{}, texts: map[string]string{}, below: math.MinInt64}
	var err error
	if w.out.By, err = r.RowsMade(ctx); err != nil {
		return w.out, err
	}
	w.out.Looked = by.Rows.Of != nil && w.out.By == by.Rows.Version
	if err := w.openFolds(ctx); err != nil {
		return w.out, err
	}
	if err := r.verify(ctx, w, progress); err != nil {
		return Followed{}, err
	}
	return w.out, nil
}

// anew works what follows from facts, beside the chain that they are held to.
type anew struct {
	r     *Reader
	by    Following
	out   Followed
	jobs  map[string]*jobAnew
	texts map[string]string // one copy of texts that many jobs have
	folds []*foldAnew
	// judged are the rows of judgements since below, by number; facts counts the
	// facts since, so that a page of rows is never larger than one of facts
	judged []judgementAnew
	below  int64
	upto   int64
	facts  int
}

// then takes the next fact. On nil it does nothing.
func (w *anew) then(ctx context.Context, s Stored) error {
	if w == nil {
		return nil
	}
	for _, f := range w.folds {
		f.then(s, &w.out)
	}
	if !w.out.Looked {
		return nil
	}
	c, err := w.by.Rows.Of(s)
	if err != nil {
		w.out.differs("fact %d, %s of %s, cannot be read, so that no row follows from it: %v", s.Seq, quote(s.Kind), quote(s.Subject), err)
	} else if err := w.change(s, c); err != nil {
		return err
	}
	w.upto = s.Seq
	if w.facts++; w.facts >= pageFacts {
		return w.holdJudgements(ctx, w.r.db, w.upto)
	}
	return nil
}

// change does to the rows in mind what changing.change does to those of the file.
func (w *anew) change(s Stored, c store.Change) error {
	if o := c.Opens; o != nil {
		w.opens(s, o)
	}
	if e := c.Ends; e != nil {
		if j := w.jobs[e.Job]; j != nil {
			j.state, j.endedUS, j.ended = w.once(string(e.State)), s.UTC.UnixMicro(), s.Seq
		}
	}
	d := c.Judged
	if d == nil {
		return nil
	}
	j := w.jobs[d.Job]
	sheet := ""
	if j != nil {
		sheet = j.sheet
		if d.Training && !j.training {
			j.training, j.trained = true, s.Seq
		}
	}
	row, err := judgementCells(s, d, sheet)
	if err != nil {
		return err
	}
	w.judged = append(w.judged, judgementAnew{s.Seq, d.Job, row})
	w.out.Judgements++
	return nil
}

func (w *anew) opens(s Stored, o *store.Job) {
	if j := w.jobs[o.ID]; j != nil {
		w.out.differs("job %s: fact %d opens it, and fact %d opened it before", o.ID, s.Seq, j.opened)
		return
	}
	w.jobs[o.ID] = &jobAnew{
		drive: w.once(o.Drive), serial: o.Serial, sheet: w.once(o.Sheet), digest: w.once(o.Digest), issue: o.Issue,
		openedUS: s.UTC.UnixMicro(), opened: s.Seq, state: string(store.Open), training: o.Training,
	}
	w.out.Jobs++
}

// once gives one copy of a text that many jobs have, up to a limit of texts.
func (w *anew) once(s string) string {
	const most = 1000
	if had, ok := w.texts[s]; ok {
		return had
	}
	if len(w.texts) < most {
		w.texts[s] = s
	}
	return s
}

// end takes the facts that were stored meanwhile and holds the jobs to them all,
// in one transaction: a job's row changes with its facts.
func (w *anew) end(ctx context.Context, prev Stored) (err error) {
	if w == nil {
		return nil
	}
	for _, f := range w.folds {
		f.end(&w.out)
	}
	if !w.out.Looked {
		return nil
	}
	tx, err := w.r.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return explain(w.r.path, "holding its rows to its facts", err)
	}
	defer func() { err = errors.Join(err, tx.Rollback()) }() // nothing was written
	var by int
	if err := tx.QueryRowContext(ctx, `SELECT version FROM derived`).Scan(&by); err != nil {
		return explain(w.r.path, "looking which rule made its rows", err)
	}
	if by != w.by.Rows.Version { // another program opened it meanwhile
		w.out = Followed{By: by, Kept: w.out.Kept}
		return nil
	}
	if err := w.rest(ctx, tx, prev); err != nil {
		return err
	}
	if err := w.holdJudgements(ctx, tx, math.MaxInt64); err != nil {
		return err
	}
	return w.holdJobs(ctx, tx)
}

// rest takes the facts behind prev that a transaction sees.
func (w *anew) rest(ctx context.Context, tx *sql.Tx, prev Stored) error {
	rows, err := tx.QueryContext(ctx, columns+`WHERE seq > ? ORDER BY seq`, prev.Seq)
	if err != nil {
		return explain(w.r.path, "reading", err)
	}
	defer rows.Close()
	w.folds = nil
	for rows.Next() {
		s, err := scan(rows.Scan)
		if err != nil {
			return explain(w.r.path, "reading", err)
		}
		if err := w.r.follows(prev, s); err != nil {
			return err
		}
		prev = s
		c, err := w.by.Rows.Of(s)
		if err != nil {
			return fmt.Errorf("journal %s: the rows of fact %d: %w", w.r.path, s.Seq, err)
		}
		if err := w.change(s, c); err != nil {
			return err
		}
	}
	return explain(w.r.path, "reading", rows.Err())
}

// A foldAnew is a fold beside what is kept of it.
type foldAnew struct {
	Fold
	seq   int64
	hash  []byte
	state []byte
	over  bool
}

// openFolds reads what is kept now. A bench may keep it anew meanwhile; what was
// read is held to the facts that it was folded of.
func (w *anew) openFolds(ctx context.Context) error {
	for _, f := range w.by.Folds {
		k := &foldAnew{Fold: f}
		err := w.r.db.QueryRowContext(ctx, `SELECT seq, hash, state FROM kept WHERE name = ? AND version = ?`, f.Name, f.Version).Scan(&k.seq, &k.hash, &k.state)
		if errors.Is(err, sql.ErrNoRows) {
			continue
		}
		if err != nil {
			return explain(w.r.path, "reading what was kept of "+f.Name, err)
		}
		w.folds = append(w.folds, k)
	}
	return nil
}

func (f *foldAnew) then(s Stored, out *Followed) {
	if f.over || s.Seq > f.seq {
		return
	}
	if err := f.Then(s); err != nil {
		f.over = true
		out.differs("what is kept of %s cannot be worked anew: %v", f.Name, err)
		return
	}
	if s.Seq != f.seq {
		return
	}
	f.over = true
	state, err := f.State()
	switch {
	case err != nil:
		out.differs("what is kept of %s cannot be worked anew: %v", f.Name, err)
	case !slices.Equal(f.hash, s.Hash[:]):
		out.differs("what is kept of %s says that it goes up to fact %d, whose hash is another", f.Name, f.seq)
	case !slices.Equal(f.state, state):
		out.differs("what is kept of %s up to fact %d is not what follows from the facts: %s", f.Name, f.seq, firstDifference(f.state, state))
	default:
		out.Kept = append(out.Kept, f.Name)
	}
}

func (f *foldAnew) end(out *Followed) {
	if !f.over {
		out.differs("what is kept of %s says that it goes up to fact %d, which is not there", f.Name, f.seq)
	}
}
