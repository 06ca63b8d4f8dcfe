package serve

import (
	"bufio"
	"errors"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

const mediaXLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

const (
	// maxUnzipped bounds what a workbook may unpack to, in bytes.
	maxUnzipped = 128 << 20
	// headerWithin is how far down the header of a sheet is looked for.
	headerWithin = 20
)

// workbook reads the rows of a workbook's active sheet and writes the answers
// into columns beside them; everything else in the workbook stays as it is.
type workbook struct {
	columnMatch
	file  *excelize.File
	sheet string
	rows  *excelize.Rows
	line  int // of the sheet that was read last, from 1
	first int // column of the first answer, from 1
	w     *bufio.Writer
}

func newWorkbook(e *endpoint, r io.Reader, w *bufio.Writer) (*workbook, error) {
	file, err := excelize.OpenReader(r, excelize.Options{RawCellValue: true, UnzipSizeLimit: maxUnzipped, UnzipXMLSizeLimit: maxUnzipped})
	if err != nil {
		return nil, &wire.Unparsable{Reason: "the workbook cannot be opened: " + err.Error()}
	}
	b := &workbook{file: file, sheet: file.GetSheetName(file.GetActiveSheetIndex()), w: w}
	if b.rows, err = file.Rows(b.sheet); err != nil {
		return nil, &wire.Unparsable{Reason: "the active sheet cannot be read: " + err.Error()}
	}
	for b.line < headerWithin && b.rows.Next() {
		b.line++
		cells, err := b.rows.Columns()
		if err != nil {
			return nil, &wire.Unparsable{Reason: "the active sheet cannot be read: " + err.Error()}
		}
		if !slices.ContainsFunc(cells, e.takes) {
			continue
		}
		if b.columnMatch, err = match(e, cells); err != nil {
			return nil, err
		}
		b.first = len(cells) + 1
		names := make([]any, 0, len(b.names)+1)
		for _, n := range append(slices.Clone(b.names), errorColumn) {
			names = append(names, n)
		}
		return b, b.setRow(b.line, names)
	}
	return nil, calc.Refuse("", nil, "none of the first %d rows of the sheet %q names an input; the inputs are %s", headerWithin, b.sheet, strings.Join(e.inputNames(), ", "))
}

func (b *workbook) setRow(line int, values []any) error {
	at, err := excelize.CoordinatesToCellName(b.first, line)
	if err != nil {
		return err
	}
	return b.file.SetSheetRow(b.sheet, at, &values)
}

// next reads the next row in which an input is filled.
func (b *workbook) next(r *row) error {
	for b.rows.Next() {
		b.line++
		cells, err := b.rows.Columns()
		if err != nil {
			return &wire.Unparsable{Reason: "row " + strconv.Itoa(b.line) + " of the sheet cannot be read: " + err.Error()}
		}
		pairs, filled := b.pairsOf(cells)
		if !filled {
			continue
		}
		r.line = b.line
		r.in, r.err = b.e.shape.ReadPairs(pairs)
		return nil
	}
	if err := b.rows.Close(); err != nil {
		return err
	}
	return io.EOF
}

func (b *workbook) put(r *row) error {
	values := make([]any, 0, len(b.e.columns)+1)
	if r.err == nil {
		v := reflect.ValueOf(r.out)
		for _, c := range b.e.columns {
			cell, err := c.Append(nil, v)
			if err != nil {
				r.err = err
				break
			}
			values = append(values, typed(string(cell)))
		}
	}
	message := any(nil)
	if r.err != nil {
		values = make([]any, len(b.e.columns))
		message = strings.TrimPrefix(problemOf(r.err, "row").line(), "! ")
	}
	return b.setRow(r.line, append(values, message))
}

// typed makes a number of a cell that is one. Text stays text: it is stored
// as a string, which no spreadsheet takes for a formula.
func typed(cell string) any {
	if cell == "" {
		return nil
	}
	if f, err := strconv.ParseFloat(cell, 64); err == nil {
		return f
	}
	return cell
}

// close writes the workbook; formulas that rest on the new cells are marked
// to be worked out anew.
func (b *workbook) close(broken error) error {
	if broken != nil {
		return broken
	}
	return errors.Join(b.file.UpdateLinkedValue(), b.file.Write(b.w), b.file.Close())
}
