package journal

import "context"

// isDecided chooses what was decided about jobs, and figures keyed by hand; the
// index fact_decided has the same condition. Within a payload's texts quotation
// marks are escaped, so that none of them looks like its source.
const isDecided = `(kind IN ('on hold', 'lifted', 'conceded') OR
	kind = 'pressed' AND instr(payload, CAST('"source":"keyed"' AS BLOB)) > 0)`

// Decided gives the newest facts above a sequence number by which a hold was
// placed or lifted, something was conceded or a figure was keyed by hand, of all
// jobs, newest first; at most so many.
func (r *Reader) Decided(ctx context.Context, after int64, most int) ([]Stored, error) {
	rows, err := r.db.QueryContext(ctx, columns+`INDEXED BY fact_decided WHERE `+isDecided+` AND seq > ? ORDER BY seq DESC LIMIT ?`, after, most)
	if err != nil {
		return nil, explain(r.path, "reading what was decided", err)
	}
	defer rows.Close()
	var out []Stored
	for rows.Next() {
		s, err := scan(rows.Scan)
		if err != nil {
			return nil, explain(r.path, "reading what was decided", err)
		}
		out = append(out, s)
	}
	return out, explain(r.path, "reading what was decided", rows.Err())
}

// RowsMade is the version of the rule by which the file's rows were made; 0 is by
// none, so that they do not tell of its jobs.
func (r *Reader) RowsMade(ctx context.Context) (int, error) {
	n := 0
	err := r.db.QueryRowContext(ctx, `SELECT version FROM derived`).Scan(&n)
	return n, explain(r.path, "looking which rule made its rows", err)
}
