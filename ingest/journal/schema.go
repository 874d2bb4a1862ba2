package journal

import (
	"context"
	"database/sql"
	"fmt"
	"time"
)

// applicationID marks the file as ours in SQLite's header: "Shmw".
const applicationID = 0x53686d77

// migrations bring a file from version n (its place in the list) to n+1. They
// only ever grow at the end, and one that was released is never edited.
func migrations() []string {
	return []string{firstForm, rowsForm, decidedForm, keptForm, packForm}
}

// firstForm. The insert triggers are needed beside those on update and delete:
// INSERT OR REPLACE removes a row without asking a delete trigger.
const firstForm = `
CREATE TABLE journal (
	id      INTEGER PRIMARY KEY CHECK (id = 1),
	bench   TEXT    NOT NULL,
	made_us INTEGER NOT NULL
) STRICT;

CREATE TABLE fact (
	seq      INTEGER PRIMARY KEY,
	utc_us   INTEGER NOT NULL,
	since_ns INTEGER NOT NULL,
	run      TEXT    NOT NULL,
	subject  TEXT    NOT NULL,
	kind     TEXT    NOT NULL,
	version  INTEGER NOT NULL,
	payload  BLOB    NOT NULL,
	hash     BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT;

CREATE INDEX fact_by_subject ON fact (subject, seq);

CREATE TRIGGER keep_fact_update BEFORE UPDATE ON fact
BEGIN SELECT RAISE(ABORT, 'a stored fact is never changed: append a new one'); END;

CREATE TRIGGER keep_fact_delete BEFORE DELETE ON fact
BEGIN SELECT RAISE(ABORT, 'a stored fact is never removed: append a new one'); END;

CREATE TRIGGER keep_fact_insert BEFORE INSERT ON fact
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM fact)
BEGIN SELECT RAISE(ABORT, 'a fact is stored only after the last one'); END;

CREATE TRIGGER keep_journal_update BEFORE UPDATE ON journal
BEGIN SELECT RAISE(ABORT, 'a journal keeps its bench'); END;

CREATE TRIGGER keep_journal_delete BEFORE DELETE ON journal
BEGIN SELECT RAISE(ABORT, 'a journal keeps its bench'); END;

CREATE TRIGGER keep_journal_insert BEFORE INSERT ON journal
WHEN EXISTS (SELECT 1 FROM journal)
BEGIN SELECT RAISE(ABORT, 'a journal keeps its bench'); END;
`

// rowsForm adds the rows that follow from the facts, for boards and exports.
// derived says by which version of the rule they were made; 0 is by none yet.
const rowsForm = `
CREATE TABLE job (
	id        TEXT    PRIMARY KEY,
	drive     TEXT    NOT NULL,
	serial    TEXT    NOT NULL,
	sheet     TEXT    NOT NULL,
	issue     INTEGER NOT NULL,
	digest    TEXT    NOT NULL,
	opened_us INTEGER NOT NULL,
	state     TEXT    NOT NULL,
	ended_us  INTEGER,
	training  INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX job_by_opening ON job (opened_us, id);
CREATE INDEX job_by_state ON job (state, opened_us, id);
CREATE INDEX job_by_sheet ON job (sheet, opened_us, id);

CREATE TABLE judgement (
	seq         INTEGER PRIMARY KEY,
	job         TEXT    NOT NULL,
	sheet       TEXT    NOT NULL,
	step        TEXT    NOT NULL,
	what        TEXT    NOT NULL,
	verdict     TEXT    NOT NULL,
	words       TEXT    NOT NULL,
	advice      TEXT    NOT NULL,
	value       TEXT    NOT NULL,
	low         TEXT    NOT NULL,
	high        TEXT    NOT NULL,
	uncertainty TEXT    NOT NULL,
	mean        TEXT    NOT NULL,
	spread      TEXT    NOT NULL,
	points      TEXT    NOT NULL, -- a JSON list of texts
	build       INTEGER NOT NULL,
	training    INTEGER NOT NULL,
	program     TEXT    NOT NULL,
	utc_us      INTEGER NOT NULL
) STRICT;

CREATE INDEX judgement_by_job ON judgement (job, seq);
CREATE INDEX judgement_by_sheet ON judgement (sheet, what, seq);

CREATE TABLE derived (
	id      INTEGER PRIMARY KEY CHECK (id = 1),
	version INTEGER NOT NULL
) STRICT;

INSERT INTO derived (id, version) VALUES (1, 0);
`

// decidedForm adds an index of the few facts that a board lists over all jobs.
// Its condition is written out, so that an edit of isDecided cannot change a form
// that was released; a test holds the two together.
const decidedForm = `
CREATE INDEX fact_decided ON fact (seq) WHERE
	kind IN ('on hold', 'lifted', 'conceded') OR
	kind = 'pressed' AND instr(payload, CAST('"source":"keyed"' AS BLOB)) > 0;
`

// keptForm adds what is kept of folds over long lists of facts, and an index by
// which a sheet's newest judgements are found whatever they are of.
const keptForm = `
CREATE TABLE kept (
	name    TEXT    PRIMARY KEY,
	version INTEGER NOT NULL,
	seq     INTEGER NOT NULL,
	hash    BLOB    NOT NULL,
	state   BLOB    NOT NULL
) STRICT;

CREATE INDEX judgement_by_sheet_alone ON judgement (sheet, seq);
`

// packForm adds what a judgement says of a pack. The rule that fills both has a
// new version, so the rows are made anew.
const packForm = `
ALTER TABLE judgement ADD COLUMN leaves TEXT NOT NULL DEFAULT '[]'; -- a JSON list of texts
ALTER TABLE judgement ADD COLUMN total TEXT NOT NULL DEFAULT '';
`

// keepers is how many triggers named keep_... the newest form has.
const keepers = 6

// formOf says which version of the form a file has; 0 for an empty one. It
// refuses what is not ours to touch, and reads only.
func formOf(ctx context.Context, path string, db *sql.DB) (int, error) {
	var app, form, things int
	err := db.QueryRowContext(ctx, `SELECT
		(SELECT application_id FROM pragma_application_id),
		(SELECT user_version FROM pragma_user_version),
		(SELECT count(*) FROM sqlite_schema)`).Scan(&app, &form, &things)
	newest := len(migrations())
	switch {
	case err != nil:
		if other := notOurs(path, err); other != nil {
			return 0, other
		}
		return 0, explain(path, "reading what the file is", err)
	case app == 0 && form == 0 && things == 0:
		return 0, nil
	case app != applicationID:
		return 0, fmt.Errorf("journal %s: %w but some other program's database, left as it is: %s", path, ErrNotJournal, isJournal)
	case form > newest:
		return 0, fmt.Errorf("journal %s: %w: the file has form %d and this program knows forms up to %d; the file was left as it is: use the newer program",
			path, ErrNewer, form, newest)
	case form < 1:
		return 0, fmt.Errorf("journal %s: %w: its header gives form %d, which no program made: go on from a backup",
			path, ErrDamaged, form)
	}
	return form, nil
}

// migrate brings the file from form to the newest, all in one transaction, and
// writes a new journal's one row about itself.
func migrate(ctx context.Context, db *sql.DB, form int, bench string, made time.Time, progress Progress) error {
	steps := migrations()
	if form == len(steps) {
		return nil
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // after a commit it does nothing
	for i, step := range steps[form:] {
		if form > 0 {
			progress.tell(fmt.Sprintf("bringing the journal from form %d to form %d", form+i, form+i+1), 0, 0)
		}
		if _, err := tx.ExecContext(ctx, step); err != nil {
			return fmt.Errorf("form %d: %w", form+i+1, err)
		}
	}
	if form == 0 {
		if _, err := tx.ExecContext(ctx, `INSERT INTO journal (id, bench, made_us) VALUES (1, ?, ?)`,
			bench, made.UnixMicro()); err != nil {
			return err
		}
	}
	// a pragma takes no parameters
	mark := fmt.Sprintf(`PRAGMA application_id = %d; PRAGMA user_version = %d`, applicationID, len(steps))
	if _, err := tx.ExecContext(ctx, mark); err != nil {
		return err
	}
	return stopped(ctx, tx.Commit())
}
