package serve

import (
	"archive/zip"
	"bufio"
	"bytes"
	"errors"
	"io"
	"net/http"
	"strings"

	"github.com/xuri/excelize/v2"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

const mediaXLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

const (
	// maxUnzipped bounds what a workbook may unpack to, in bytes.
	maxUnzipped = 64 << 20
	// maxAnswers bounds what the answers add to it, and answersPerByte does in
	// proportion to what was sent, beyond leastAnswer.
	maxAnswers     = 64 << 20
	answersPerByte = 16
	// maxPart bounds the parts that are read into structures many times their
	// size: the workbook's list of sheets, its styles, its relations.
	maxPart = 4 << 20
	// maxEntries bounds the parts of a workbook.
	maxEntries = 2000
	// maxCellText is the longest text of a cell, in bytes: spreadsheets hold
	// 32,767 characters.
	maxCellText = 32_000
	// headerWithin is how far down the header of a sheet is looked for.
	headerWithin = 20
	// maxSheetRows bounds the rows of a sheet that are answered.
	maxSheetRows = 100_000
)

// workbook reads the rows of a workbook's active sheet and writes the answers
// into cells right of them. The library opens and saves the workbook; the
// sheet's own XML is copied byte by byte around the new cells, so that its
// formulas, formats and whatever else it holds stay as they are.
type workbook struct {
	columnMatch
	file     *excelize.File
	sheet    string
	part     string
	raw      []byte
	scanner  *sheetScanner
	texts    []string // shared by cells
	looks    map[int]look
	date1904 bool

	head   placed
	rows   []placed
	widest int    // the right-most column that holds anything
	added  int    // about how many bytes the answers take
	cached []span // values of formulas that may rest on the answers
	echo   bool   // whether the rows' own cells are wanted as texts
	w      *bufio.Writer

	cell, cells []byte // of the row being written
	escaped     bytes.Buffer
}

// placed is a row that gets cells: where it stands, and what it gets.
type placed struct {
	number int
	tag    span
	end    int64
	style  int    // of the new cells
	cells  string // the answers, encoded without their place, a zero byte between
}

// workbookMemory looks at the directory of a workbook and tells what working on
// it takes, in bytes: unpacked, as texts, spliced, and the answers. The sizes
// told there are the most that come out: the archive's reader goes by them.
func workbookMemory(raw []byte) (int64, error) {
	archive, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return int64(len(raw)), nil // it will be refused in its own words
	}
	if len(archive.File) > maxEntries {
		return 0, problem(http.StatusRequestEntityTooLarge, "the workbook has more than %d parts", maxEntries)
	}
	var whole uint64
	for _, f := range archive.File {
		data := strings.HasPrefix(f.Name, "xl/worksheets/") || f.Name == "xl/sharedStrings.xml" || strings.HasPrefix(f.Name, "xl/media/")
		if !data && f.UncompressedSize64 > maxPart {
			return 0, problem(http.StatusRequestEntityTooLarge, "the workbook's part %s unpacks to more than %d bytes", clip(f.Name, 60), maxPart)
		}
		if whole += f.UncompressedSize64; whole > maxUnzipped {
			return 0, problem(http.StatusRequestEntityTooLarge, "the workbook unpacks to more than %d bytes", maxUnzipped)
		}
	}
	return 4*int64(whole) + 2*answersLimit(int(whole)), nil
}

// answersLimit bounds what the answers add to a workbook of that many bytes.
func answersLimit(unpacked int) int64 {
	return min(maxAnswers, leastAnswer+answersPerByte*int64(unpacked))
}

// compoundFile begins a file of MS-CFB, in which workbooks under a password and
// those before 2007 are kept.
const compoundFile = "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"

// openWorkbook opens a workbook at the sheet of that name, or at the active one.
func openWorkbook(e *endpoint, sheet string, r *bufio.Reader, w *bufio.Writer) (*workbook, error) {
	if start, _ := r.Peek(len(compoundFile)); string(start) == compoundFile {
		return nil, &wire.Unparsable{Reason: "the workbook is under a password, or of the older form .xls; save it as .xlsx without a password"}
	}
	file, err := excelize.OpenReader(r, excelize.Options{RawCellValue: true, UnzipSizeLimit: maxUnzipped, UnzipXMLSizeLimit: maxUnzipped})
	if err != nil {
		return nil, &wire.Unparsable{Reason: "the workbook cannot be opened: " + err.Error()}
	}
	b := &workbook{file: file, looks: map[int]look{}, w: w}
	index := file.GetActiveSheetIndex()
	if sheet != "" {
		if index, err = file.GetSheetIndex(sheet); err != nil || index < 0 {
			return nil, underQuery(calc.Refuse("sheet", clip(sheet, 60), "give one of the workbook's sheets: %s", clip(strings.Join(file.GetSheetList(), ", "), 300)))
		}
	}
	b.sheet = file.GetSheetName(index)
	if b.part, err = partOf(file, index); err != nil {
		return nil, err
	}
	raw, _ := file.Pkg.Load(b.part)
	b.raw = raw.([]byte)
	b.scanner = newSheetScanner(b.raw)
	if shared, ok := file.Pkg.Load("xl/sharedStrings.xml"); ok {
		if b.texts, err = sharedTexts(shared.([]byte)); err != nil {
			return nil, &wire.Unparsable{Reason: "the workbook's table of texts cannot be read: " + err.Error()}
		}
	}
	if props, err := file.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		b.date1904 = *props.Date1904
	}
	return b, b.findHeader(e)
}

// findHeader reads down to the row that names inputs.
func (b *workbook) findHeader(e *endpoint) error {
	for range headerWithin {
		line, err := b.line()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		var header []string
		for i := range line.cells {
			c := &line.cells[i]
			for len(header) < c.column-1 {
				header = append(header, "")
			}
			header = append(header, b.text(c))
		}
		if e.named(header) == 0 {
			b.note(line)
			continue
		}
		b.columnMatch, err = match(e, header)
		b.note(line)
		b.head = b.place(line)
		var names []byte
		for i, n := range b.names {
			if i > 0 {
				names = append(names, 0)
			}
			names = b.appendCell(names, []byte(n))
		}
		b.head.cells = string(names)
		return err
	}
	return calc.Refuse("", nil, "none of the first %d rows of the sheet %q names an input; the inputs are %s",
		headerWithin, b.sheet, strings.Join(e.shape.Paths(), ", "))
}

func (b *workbook) line() (*sheetRow, error) {
	line, err := b.scanner.next()
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, &wire.Unparsable{Reason: "the sheet cannot be read: " + err.Error()}
	}
	return line, err
}

func (b *workbook) place(line *sheetRow) placed {
	p := placed{number: line.number, tag: line.tag, end: line.end}
	if n := len(line.cells); n > 0 && b.head.number == 0 {
		p.style = line.cells[n-1].style // the header's new cells look like its last
	}
	return p
}

// note keeps the right-most column, and the values of formulas: they are
// worked out anew when the workbook is opened, but not those that were read.
func (b *workbook) note(line *sheetRow) {
	for _, c := range line.cells {
		if c.text != "" || c.formula {
			b.widest = max(b.widest, c.column)
		}
		read := c.column <= len(b.feeds) && b.feeds[c.column-1].Leaf != nil
		if c.formula && !read {
			b.cached = append(b.cached, c.cached)
		}
	}
}

// next reads the next row in which an input is filled.
func (b *workbook) next(r *row) error {
	for {
		line, err := b.line()
		if err != nil {
			return err
		}
		b.note(line)
		b.begin()
		for i := range line.cells {
			c := &line.cells[i]
			b.take(c.column-1, b.text(c))
		}
		if !b.filled {
			continue
		}
		if len(b.rows) == maxSheetRows {
			return problem(http.StatusRequestEntityTooLarge, "the sheet has more than %d rows; send them in parts", maxSheetRows)
		}
		b.rows = append(b.rows, b.place(line))
		r.place = len(b.rows) - 1
		b.columnMatch.read(r)
		if b.echo {
			r.record = make([]string, len(b.header))
			for i := range line.cells {
				if c := &line.cells[i]; c.column <= len(r.record) {
					r.record[c.column-1] = b.text(c)
				}
			}
		}
		return nil
	}
}
