package serve

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"path"
	"regexp"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"pourwright/internal/wire"
)

// sheetCell is a cell of a worksheet as its XML holds it.
type sheetCell struct {
	column  int    // from 1
	kind    string // attribute t: "s" for a shared text, "" for a number
	style   int
	text    string
	joined  []byte // the text so far, where it comes in parts
	formula bool
	cached  span // where the value of a formula stands, with its tags
}

// span is a part of a worksheet's XML.
type span struct{ from, to int64 }

// sheetRow is a row of a worksheet.
type sheetRow struct {
	number int
	tag    span  // its start tag
	end    int64 // where its last cell ends
	cells  []sheetCell
}

// sheetScanner reads the rows of a worksheet from its XML and notes where
// each stands, so that cells can be added and every other byte kept.
type sheetScanner struct {
	dec       *xml.Decoder
	dimension span // of the element that tells the used range
	row       sheetRow
	column    int // of the cell read last

	cell             *sheetCell // that is being read
	prefix           string     // of the namespace, before the names of elements
	inRow            bool
	inText, phonetic bool // inside its text; inside a reading aid, which is not part of it
}

func newSheetScanner(raw []byte) *sheetScanner {
	return &sheetScanner{dec: xml.NewDecoder(bytes.NewReader(raw))}
}

const (
	maxSheetRow    = excelize.TotalRows
	maxSheetColumn = excelize.MaxColumns
)

// next reads the next row; io.EOF ends the sheet. The row holds until the next call.
func (s *sheetScanner) next() (*sheetRow, error) {
	for {
		at := s.dec.InputOffset()
		token, err := s.dec.RawToken()
		if err != nil {
			return nil, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			if err := s.start(t, at); err != nil {
				return nil, err
			}
		case xml.CharData:
			if s.cell != nil && s.inText && !s.phonetic {
				s.cell.joined = append(s.cell.joined, t...)
			}
		case xml.EndElement:
			if s.finish(t.Name.Local, at) {
				return &s.row, nil
			}
		}
	}
}

func (s *sheetScanner) start(t xml.StartElement, at int64) (err error) {
	switch t.Name.Local {
	case "dimension":
		if s.row.number == 0 {
			s.dimension.from = at
		}
	case "row":
		if s.inRow {
			return errors.New("a row stands inside another")
		}
		return s.startRow(t, span{at, s.dec.InputOffset()})
	case "c":
		if !s.inRow || s.cell != nil {
			return errors.New("a cell stands outside a row")
		}
		s.cell, err = s.startCell(t)
	case "f":
		if s.cell != nil {
			s.cell.formula = true
		}
	case "v":
		s.inText = true
		if s.cell != nil {
			s.cell.cached.from = at
		}
	case "t":
		s.inText = true
	case "rPh":
		s.phonetic = true
	}
	return err
}

// finish closes an element, and says whether it was a row.
func (s *sheetScanner) finish(name string, at int64) bool {
	switch name {
	case "dimension":
		if s.dimension.from > 0 && s.row.number == 0 {
			s.dimension.to = s.dec.InputOffset()
		}
	case "v":
		s.inText = false
		if s.cell != nil && s.cell.cached.from > 0 {
			s.cell.cached.to = s.dec.InputOffset()
		}
	case "t":
		s.inText = false
	case "rPh":
		s.phonetic = false
	case "c":
		if s.cell != nil {
			s.cell.text = string(s.cell.joined)
		}
		s.cell = nil
	case "row":
		ended := s.inRow && s.cell == nil
		s.inRow, s.row.end = false, at
		return ended
	}
	return false
}

func (s *sheetScanner) startRow(t xml.StartElement, tag span) error {
	number := s.row.number + 1
	if r := attribute(t, "r"); r != "" {
		var err error
		if number, err = strconv.Atoi(r); err != nil || number <= s.row.number || number > maxSheetRow {
			return errors.New("its rows are not numbered in order")
		}
	}
	s.row = sheetRow{number: number, tag: tag, cells: s.row.cells[:0]}
	s.prefix = t.Name.Space
	s.column, s.inRow = 0, true
	return nil
}

func (s *sheetScanner) startCell(t xml.StartElement) (*sheetCell, error) {
	cell := sheetCell{column: s.column + 1, kind: attribute(t, "t")}
	if r := attribute(t, "r"); r != "" {
		column, row, err := excelize.CellNameToCoordinates(r)
		if err != nil || row != s.row.number || column <= s.column {
			return nil, errors.New("its cells are not in order at " + clip(r, 20))
		}
		cell.column = column
	}
	if cell.column > maxSheetColumn {
		return nil, errors.New("a row has too many cells")
	}
	if style := attribute(t, "s"); style != "" {
		var err error
		if cell.style, err = strconv.Atoi(style); err != nil {
			return nil, errors.New("a cell has no style that can be read")
		}
	}
	s.column = cell.column
	s.row.cells = append(s.row.cells, cell)
	return &s.row.cells[len(s.row.cells)-1], nil
}

func attribute(t xml.StartElement, name string) string {
	for _, a := range t.Attr {
		if a.Name.Local == name && a.Name.Space == "" {
			return a.Value
		}
	}
	return ""
}

// sharedTexts reads the table of texts that cells refer to.
func sharedTexts(raw []byte) ([]string, error) {
	texts := []string{}
	dec := xml.NewDecoder(bytes.NewReader(raw))
	inText, phonetic := false, false
	var text []byte // of the entry being read, which may come in many parts
	for {
		token, err := dec.RawToken()
		if errors.Is(err, io.EOF) {
			return texts, nil
		}
		if err != nil {
			return nil, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "si":
				texts, text = append(texts, ""), text[:0]
			case "t":
				inText = true
			case "rPh":
				phonetic = true
			}
		case xml.EndElement:
			switch t.Name.Local {
			case "t":
				inText = false
			case "rPh":
				phonetic = false
			case "si":
				if len(texts) > 0 {
					texts[len(texts)-1] = string(text)
				}
			}
		case xml.CharData:
			if inText && !phonetic {
				text = append(text, t...)
			}
		}
	}
}

// partOf finds where in the package the sheet of that place in the workbook is.
func partOf(f *excelize.File, index int) (string, error) {
	raw, ok := f.Pkg.Load("xl/_rels/workbook.xml.rels")
	var links struct {
		Relationship []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		}
	}
	if ok && xml.Unmarshal(raw.([]byte), &links) == nil && index < len(f.WorkBook.Sheets.Sheet) {
		for _, l := range links.Relationship {
			if l.ID != f.WorkBook.Sheets.Sheet[index].ID {
				continue
			}
			part := path.Join("xl", l.Target)
			if strings.HasPrefix(l.Target, "/") {
				part = strings.TrimPrefix(l.Target, "/")
			}
			if _, ok := f.Pkg.Load(part); ok {
				return part, nil
			}
		}
	}
	return "", &wire.Unparsable{Reason: "the active sheet cannot be found in the workbook; save it anew from a spreadsheet"}
}

// spans is a hint that a row with more cells would belie; it may be left out.
var spans = regexp.MustCompile(` spans="[^"]*"`)

// splice copies a sheet and puts things in and out on the way.
type splice struct {
	raw []byte
	out bytes.Buffer
	at  int64
}

// keep copies up to an offset.
func (s *splice) keep(to int64) {
	s.out.Write(s.raw[s.at:to])
	s.at = to
}

// cut leaves out a part that is not needed.
func (s *splice) cut(c span) {
	if c.to > c.from && c.from >= s.at {
		s.keep(c.from)
		s.at = c.to
	}
}

func (s *splice) finish() []byte {
	s.keep(int64(len(s.raw)))
	return s.out.Bytes()
}
