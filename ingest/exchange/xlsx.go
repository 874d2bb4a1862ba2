package exchange

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// MostRows is how many rows a spreadsheet's sheet takes here, below its own end
// at 1,048,576.
const MostRows = 1_000_000

// ErrTooLong is a table that a spreadsheet cannot hold.
var ErrTooLong = errors.New("a spreadsheet ends at about a million rows")

// XLSX writes a spreadsheet, a sheet for each kind. Rows go through a file in the
// system's folder for such, not through memory.
type XLSX struct {
	file   *excelize.File
	sheet  *excelize.StreamWriter
	kind   Kind
	rows   int
	most   int
	head   int         // style of the names of columns
	moment int         // and of times
	places map[int]int // and of figures, by decimals
	row    []any
}

// NewXLSX begins a spreadsheet; Close it whatever comes.
func NewXLSX() (*XLSX, error) {
	x := &XLSX{file: excelize.NewFile(), places: map[int]int{}, most: MostRows}
	var err error
	if x.head, err = x.file.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}}); err != nil {
		return nil, err
	}
	form := "yyyy-mm-dd hh:mm:ss"
	if x.moment, err = x.file.NewStyle(&excelize.Style{CustomNumFmt: &form}); err != nil {
		return nil, err
	}
	return x, nil
}

// Begin begins the sheet of a kind.
func (x *XLSX) Begin(k Kind) error {
	if err := x.end(); err != nil {
		return err
	}
	var err error
	if x.kind == "" {
		err = x.file.SetSheetName("Sheet1", string(k))
	} else {
		_, err = x.file.NewSheet(string(k))
	}
	if err != nil {
		return err
	}
	if x.sheet, err = x.file.NewStreamWriter(string(k)); err != nil {
		return err
	}
	x.kind, x.rows, x.row = k, 0, nil
	if err := x.sheet.SetColWidth(1, len(k.Columns()), 16); err != nil {
		return err
	}
	if err := x.sheet.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	var names []any
	for _, c := range k.Columns() {
		names = append(names, excelize.Cell{StyleID: x.head, Value: c})
	}
	return x.sheet.SetRow("A1", names)
}

// Row writes a row; ErrTooLong where the sheet is full.
func (x *XLSX) Row(cells []Cell) error {
	if x.rows == x.most {
		return fmt.Errorf("there are more than %d rows of %s, and %w: write them as CSV (shimwright export %s --csv FILE), or choose jobs with --from and --to",
			x.most, x.kind, ErrTooLong, x.kind)
	}
	x.rows++
	x.row = x.row[:0]
	for _, c := range cells {
		v, err := x.value(c)
		if err != nil {
			return err
		}
		x.row = append(x.row, v)
	}
	return x.sheet.SetRow("A"+strconv.Itoa(x.rows+1), x.row)
}

// value is a cell as the spreadsheet has it; a figure keeps its decimals.
func (x *XLSX) value(c Cell) (any, error) {
	switch c.form {
	case figure:
		f, err := strconv.ParseFloat(c.text, 64) // a spreadsheet's own numbers are these
		if err != nil {
			return Neutral(c.text), nil
		}
		style, err := x.style(c.text)
		return excelize.Cell{StyleID: style, Value: f}, err
	case moment:
		if c.at.IsZero() {
			return nil, nil
		}
		return excelize.Cell{StyleID: x.moment, Value: days(c.at)}, nil
	}
	if c.text == "" {
		return nil, nil
	}
	return Neutral(c.text), nil
}

// days is a time as spreadsheets count it: days since 30 December 1899, in UTC.
func days(t time.Time) float64 {
	return t.UTC().Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Seconds() / 86400
}

// mostPlaces is how many decimals a style of its own is made for.
const mostPlaces = 9

func (x *XLSX) style(digits string) (int, error) {
	places := 0
	if _, after, ok := strings.Cut(digits, "."); ok {
		places = min(len(after), mostPlaces)
	}
	if style, ok := x.places[places]; ok {
		return style, nil
	}
	form := "0"
	if places > 0 {
		form = "0." + strings.Repeat("0", places)
	}
	style, err := x.file.NewStyle(&excelize.Style{CustomNumFmt: &form})
	x.places[places] = style
	return style, err
}

func (x *XLSX) end() error {
	if x.sheet == nil {
		return nil
	}
	s := x.sheet
	x.sheet = nil
	return s.Flush()
}

// WriteTo writes the spreadsheet.
func (x *XLSX) WriteTo(w io.Writer) (int64, error) {
	if err := x.end(); err != nil {
		return 0, err
	}
	return x.file.WriteTo(w)
}

// Close removes what was kept on the disk meanwhile.
func (x *XLSX) Close() error { return x.file.Close() }
