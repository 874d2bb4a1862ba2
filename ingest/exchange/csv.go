package exchange

import (
	"encoding/csv"
	"fmt"
	"io"
)

// CSV writes one kind of rows as comma-separated values in UTF-8, lines ending
// in LF, the first line the names of the columns (RFC 4180 but for the line's
// end).
type CSV struct {
	w   *csv.Writer
	row []string
}

// NewCSV writes to w.
func NewCSV(w io.Writer) *CSV { return &CSV{w: csv.NewWriter(w)} }

// Begin writes the names of the columns; a file holds one kind.
func (c *CSV) Begin(k Kind) error {
	if c.row != nil {
		return fmt.Errorf("a CSV file holds one kind of rows: write %s to a file of their own", k)
	}
	c.row = k.Columns()
	return c.w.Write(c.row)
}

// Row writes a row.
func (c *CSV) Row(cells []Cell) error {
	for i, cell := range cells {
		c.row[i] = cell.CSV()
	}
	return c.w.Write(c.row[:len(cells)])
}

// Flush hands on what is not yet written; the error is the first there was.
func (c *CSV) Flush() error {
	c.w.Flush()
	return c.w.Error()
}
