package exchange

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/register"
)

// Limits of a list that is read.
const (
	MostList  = 1 << 20 // bytes
	mostLines = 5000
	mostCell  = 400 // bytes of a cell
)

// PieceColumns and StockColumns are the columns of the two lists. The first line
// names those that are there, in any order; the first of them must be.
func PieceColumns() (must, may []string) {
	return []string{"piece", "size"}, []string{"role", "uncertainty", "k", "certificate", "dated", "due"}
}

// StockColumns are the columns of a list of stock.
func StockColumns() (must, may []string) {
	return []string{"tray", "leaf", "count"}, []string{"measured", "low"}
}

// A line is one line of a list, by column.
type line struct {
	at    int
	cells map[string]string
}

// fault lays a fault at a line.
func (l line) fault(format string, args ...any) error {
	return fmt.Errorf("line %d: %w", l.at, fmt.Errorf(format, args...))
}

// readList reads a list whole: separated by commas, or by semicolons as some
// spreadsheets write it.
func readList(data []byte, must, may []string) ([]line, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	switch {
	case len(data) > MostList:
		return nil, fmt.Errorf("it has more than %d KiB: is it the right file?", MostList>>10)
	case !utf8.Valid(data):
		return nil, fmt.Errorf("it is not in UTF-8: save it again as CSV in UTF-8")
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.ReuseRecord = true
	head, _, _ := strings.Cut(string(data), "\n")
	if strings.Contains(head, ";") && !strings.Contains(head, ",") {
		r.Comma = ';'
	}
	columns, err := readHead(r, must, may)
	if err != nil {
		return nil, err
	}
	var out []line
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, listFault(err)
		}
		at, _ := r.FieldPos(0)
		l := line{at, map[string]string{}}
		for i, c := range cells {
			if len(c) > mostCell {
				return nil, l.fault("the %s has %d bytes, and at most %d are read", columns[i], len(c), mostCell)
			}
			l.cells[columns[i]] = Undone(strings.TrimSpace(c))
		}
		if out = append(out, l); len(out) > mostLines {
			return nil, l.fault("more than %d lines are one list too many: split it", mostLines)
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("it lists nothing below its first line")
	}
	return out, nil
}

func readHead(r *csv.Reader, must, may []string) ([]string, error) {
	want := fmt.Sprintf("the first line names the columns: %s, and where they are known %s", strings.Join(must, ", "), strings.Join(may, ", "))
	head, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("it is empty: %s", want)
	}
	if err != nil {
		return nil, listFault(err)
	}
	columns := slices.Clone(head)
	for i, c := range columns {
		c = strings.ToLower(strings.TrimSpace(c))
		if !slices.Contains(must, c) && !slices.Contains(may, c) {
			return nil, fmt.Errorf("line 1: %s is no column of it: %s", devices.Quote([]byte(c)), want)
		}
		if slices.Contains(columns[:i], c) {
			return nil, fmt.Errorf("line 1: there are two columns called %s: take one out", c)
		}
		columns[i] = c
	}
	for _, c := range must {
		if !slices.Contains(columns, c) {
			return nil, fmt.Errorf("line 1: there is no column %s: %s", c, want)
		}
	}
	return columns, nil
}

// listFault says what the reader of CSV found.
func listFault(err error) error {
	var at *csv.ParseError
	switch {
	case !errors.As(err, &at):
		return err
	case errors.Is(err, csv.ErrFieldCount):
		return fmt.Errorf("line %d: it has another number of cells than the first line: where a cell holds the separator, put it in quotes", at.Line)
	}
	return fmt.Errorf("line %d, column %d: it is no sound CSV: %w", at.Line, at.Column, at.Err)
}

// optionalValue reads a figure with its unit; nil for an empty cell.
func optionalValue(s string) (*quantity.Value, error) {
	if s == "" {
		return nil, nil
	}
	v, err := quantity.ParseWithUnit(s)
	return &v, err
}

// A ListedPiece is a piece of a list.
type ListedPiece struct {
	ID   string
	Fact fact.Certified
}

// ReadPieces reads a list of certified pieces. Sizes and uncertainties have their
// units beside them, days are as in 2026-02-03.
func ReadPieces(data []byte) ([]ListedPiece, error) {
	must, may := PieceColumns()
	lines, err := readList(data, must, may)
	if err != nil {
		return nil, err
	}
	var out []ListedPiece
	seen := map[string]int{}
	for _, l := range lines {
		p, err := l.piece()
		if err != nil {
			return nil, l.fault("%w", err)
		}
		if was, ok := seen[p.ID]; ok {
			return nil, l.fault("piece %s stands in line %d already: take one out", p.ID, was)
		}
		seen[p.ID] = l.at
		out = append(out, p)
	}
	return out, nil
}

func (l line) piece() (p ListedPiece, err error) {
	p.ID = l.cells["piece"]
	if err := fact.CheckID("the piece's number", p.ID); err != nil {
		return p, err
	}
	p.Fact.Standard, p.Fact.Certificate.Number = l.cells["role"], l.cells["certificate"]
	if p.Fact.Size, err = quantity.ParseWithUnit(l.cells["size"]); err != nil {
		return p, fmt.Errorf("the size: %w", err)
	}
	if p.Fact.Uncertainty, err = optionalValue(l.cells["uncertainty"]); err != nil {
		return p, fmt.Errorf("the uncertainty: %w", err)
	}
	if k := l.cells["k"]; k != "" {
		v, err := quantity.Parse(k, quantity.Bare)
		if err != nil {
			return p, fmt.Errorf("k: %w", err)
		}
		p.Fact.K = &v
	}
	for _, d := range []struct {
		column string
		into   *fact.Day
	}{{"dated", &p.Fact.Certificate.Dated}, {"due", &p.Fact.Certificate.Due}} {
		if s := l.cells[d.column]; s != "" {
			if *d.into, err = fact.ParseDay(s); err != nil {
				return p, fmt.Errorf("%s: %w", d.column, err)
			}
		}
	}
	return p, register.CheckCertified(p.Fact)
}

// A Tray is what a list says of one tray: its counts, and the counts below which
// a size runs low.
type Tray struct {
	Name   string
	Counts []fact.Heap
	Lows   []fact.LowLimit
}

// ReadStock reads a list of stock, by tray in the order of the list. It counts the
// sizes that it lists and no others.
func ReadStock(data []byte) ([]Tray, error) {
	must, may := StockColumns()
	lines, err := readList(data, must, may)
	if err != nil {
		return nil, err
	}
	var out []Tray
	seen := map[string]int{}
	for _, l := range lines {
		name := l.cells["tray"]
		heap, low, err := l.heap()
		if err == nil {
			err = fact.CheckName("the tray's name", name)
		}
		if err != nil {
			return nil, l.fault("%w", err)
		}
		key := name + "\n" + heap.Size.Exact().String()
		if was, ok := seen[key]; ok {
			return nil, l.fault("leaves of %s of tray %s stand in line %d already: add them up", heap.Size, name, was)
		}
		seen[key] = l.at
		i := slices.IndexFunc(out, func(t Tray) bool { return t.Name == name })
		if i < 0 {
			out = append(out, Tray{Name: name})
			i = len(out) - 1
		}
		out[i].Counts = append(out[i].Counts, heap)
		if low != nil {
			out[i].Lows = append(out[i].Lows, *low)
		}
	}
	for _, t := range out {
		if err := register.CheckHeaps(t.Counts); err != nil {
			return nil, fmt.Errorf("tray %s: %w", t.Name, err)
		}
	}
	return out, nil
}

func (l line) heap() (h fact.Heap, low *fact.LowLimit, err error) {
	if h.Size, err = quantity.ParseWithUnit(l.cells["leaf"]); err != nil {
		return h, nil, fmt.Errorf("the leaf: %w", err)
	}
	if h.Count, err = count("the count", l.cells["count"]); err != nil {
		return h, nil, err
	}
	if h.Measured, err = optionalValue(l.cells["measured"]); err != nil {
		return h, nil, fmt.Errorf("measured: %w", err)
	}
	if s := l.cells["low"]; s != "" {
		n, err := count("low", s)
		if err != nil {
			return h, nil, err
		}
		low = &fact.LowLimit{Size: h.Size, Count: n}
	}
	return h, low, register.CheckHeaps([]fact.Heap{h})
}

func count(what, s string) (int, error) {
	n, err := strconv.Atoi(s)
	if err != nil || n < 0 {
		return 0, fmt.Errorf("%s is %s: write a whole number, as in 10", what, devices.Quote([]byte(s)))
	}
	return n, nil
}
