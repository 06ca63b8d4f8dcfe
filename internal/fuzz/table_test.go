package fuzz

import (
	"bytes"
	"encoding/base64"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"mime/multipart"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/xuri/excelize/v2"
)

const (
	mediaCSV    = "text/csv"
	mediaXLSX   = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
	mediaNDJSON = "application/x-ndjson"
	mediaForm   = "multipart/form-data"
)

// grid is a table of the inputs of a batch, with columns of the caller's own.
type grid struct {
	header  []string
	columns object // the schemas of those that are inputs
	rows    [][]any
}

// inputs names the scalars of an input and its lists of scalars, nested ones with dots.
func (g *generator) inputs(schema object, prefix string, depth int, found object) {
	properties, _ := resolve(g.contract, schema)["properties"].(object)
	for name, p := range properties {
		p := resolve(g.contract, p.(object))
		switch items, _ := p["items"].(object); typeOf(p) {
		case "object":
			if depth < 3 {
				g.inputs(p, prefix+name+".", depth+1, found)
			}
		case "array":
			if t := typeOf(resolve(g.contract, items)); t != "object" && t != "array" {
				found[prefix+name] = p
			}
		default:
			found[prefix+name] = p
		}
	}
}

func (g *generator) grid(o operation, spare bool) grid {
	rows := o.bodies["application/json"].(object)
	item := resolve(g.contract, resolve(g.contract, rows["schema"].(object))["items"].(object))
	t := grid{columns: object{}}
	g.inputs(item, "", 0, t.columns)
	needed, _ := item["required"].([]any)
	for _, name := range sorted(t.columns) {
		if !spare && (slices.Contains(needed, any(name)) && g.IntN(20) > 0 || g.IntN(4) == 0) {
			t.header = append(t.header, name)
		}
	}
	t.header = append(t.header, pick(g, []string{"order", "=1", "", "Mass_g", "é", "error"}))
	g.Shuffle(len(t.header), func(i, j int) { t.header[i], t.header[j] = t.header[j], t.header[i] })
	list, _ := g.example(rows).([]any)
	for range g.IntN(5) {
		known, _ := any(nil), 0
		if len(list) > 0 {
			known = pick(g, list)
		}
		t.rows = append(t.rows, g.record(t, known))
	}
	return t
}

// record is a row: the cells of an example, new ones, and now and then wrong ones.
func (g *generator) record(t grid, known any) []any {
	cells := make([]any, len(t.header))
	for i, name := range t.header {
		schema, input := t.columns[name].(object)
		leaf := name[strings.LastIndex(name, ".")+1:]
		example, _ := known.(object)
		switch v, ok := example[name]; {
		case !input:
			cells[i] = pick(g, texts)
		case g.IntN(12) == 0:
			cells[i] = clone(pick(g, odd))
		case g.IntN(12) == 0:
			cells[i] = nil
		case ok && g.IntN(2) == 0:
			cells[i] = v
		default:
			cells[i] = g.value(schema, leaf, maxDepth)
		}
	}
	return cells
}

func cellText(v any) string {
	if v == nil {
		return ""
	}
	return wordOf(v)
}

// table is a CSV batch.
func (g *generator) table(o operation, spare bool) (text []byte, rows int) {
	comma := pick(g, []rune{',', ';', '\t'})
	if example, ok := g.example(o.bodies[mediaCSV].(object)).(string); ok && g.IntN(2) == 0 && !spare {
		text, comma = []byte(example), ','
	} else {
		t := g.grid(o, spare)
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		w.Comma, w.UseCRLF = comma, g.IntN(4) == 0
		_ = w.Write(t.header) // a Buffer takes everything
		for _, r := range t.rows {
			record := make([]string, len(r))
			for i, v := range r {
				record[i] = cellText(v)
			}
			_ = w.Write(record)
		}
		w.Flush()
		text = b.Bytes()
	}
	return text, countTable(text, comma)
}

func countTable(text []byte, comma rune) int {
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord = comma, -1
	records, err := r.ReadAll()
	if err != nil {
		return unknownRows
	}
	return len(records) - 1
}

// sheet is what was put into a workbook, so that the answer can be held to it.
type sheet struct {
	name  string
	texts map[string]string // by cell, of those that are texts
	last  int               // the right-most column that holds anything
	head  int               // the row of the header
}

// book is an XLSX batch: a title above the header, an empty column left of it,
// dates, percentages, formulas and a second sheet, each now and then.
func (g *generator) book(o operation, spare bool) (text []byte, rows int, s *sheet) {
	t := g.grid(o, spare)
	f := excelize.NewFile()
	defer f.Close()
	s = &sheet{name: "Sheet1", texts: map[string]string{}, head: 1 + g.IntN(3)}
	left := g.IntN(2)
	percent, _ := f.NewStyle(&excelize.Style{NumFmt: 9})
	set := func(column, row int, v any) (written bool) {
		at, _ := excelize.CoordinatesToCellName(column, row)
		switch text, isText := v.(string); {
		case v == nil, isText && text == "", strings.ContainsFunc(text, unicode.IsControl):
			return false // XML holds no control characters
		case isText:
			_ = f.SetCellStr(s.name, at, text)
			s.texts[at] = text
		default:
			_ = f.SetCellValue(s.name, at, v)
		}
		s.last = max(s.last, column)
		return true
	}
	if s.head > 1 {
		set(1, 1, "Orders")
	}
	for i, name := range t.header {
		set(left+1+i, s.head, name)
	}
	for i, r := range t.rows {
		filled := false
		for j, v := range r {
			if number, ok := v.(float64); !ok && v != nil {
				if _, isBool := v.(bool); !isBool {
					v = cellText(v)
				}
			} else if ok && t.columns[t.header[j]] != nil && g.IntN(10) == 0 {
				at, _ := excelize.CoordinatesToCellName(left+1+j, s.head+1+i)
				switch g.IntN(3) {
				case 0:
					_ = f.SetCellStyle(s.name, at, at, percent)
				case 1:
					v = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC).AddDate(0, 0, g.IntN(1000))
				case 2:
					_ = f.SetCellFormula(s.name, at, fmt.Sprintf("%g*1", number))
					s.last = max(s.last, left+1+j)
				}
			}
			written := set(left+1+j, s.head+1+i, v)
			filled = filled || written && t.columns[t.header[j]] != nil && strings.TrimSpace(cellText(v)) != ""
		}
		if filled {
			rows++
		}
	}
	if g.IntN(6) == 0 {
		_, _ = f.NewSheet("Sums")
		_ = f.SetCellFormula("Sums", "A1", "SUM(Sheet1!A1:Z9)")
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		panic(err)
	}
	return b.Bytes(), rows, s
}

// form is a form of the operation's scalars and files.
func (g *generator) form(o operation, spare bool) (mediaType string, body []byte) {
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	_ = w.SetBoundary(fmt.Sprintf("b%d", g.Uint64())) // one of the seed's
	fields := object{}
	g.inputs(o.bodies["application/json"].(object)["schema"].(object), "", 0, fields)
	for _, name := range sorted(fields) {
		if g.IntN(4) == 0 && !strings.HasSuffix(name, "_base64") {
			_ = w.WriteField(name, cellText(g.value(fields[name].(object), name, maxDepth)))
		}
	}
	if spare {
		_ = w.WriteField("no_such_field", "1")
	}
	properties, _ := resolve(g.contract, o.bodies[mediaForm].(object)["schema"].(object))["properties"].(object)
	for _, name := range sorted(properties) {
		if part, err := w.CreateFormFile(name, "pattern.stl"); err == nil && g.IntN(6) > 0 {
			_, _ = part.Write(g.solid())
		}
	}
	_ = w.Close()
	return w.FormDataContentType(), b.Bytes()
}

// solid is the STL file of an example, or nonsense.
func (g *generator) solid() []byte {
	if list := g.known["stl_base64"]; len(list) > 0 && g.IntN(3) > 0 {
		if file, err := base64.StdEncoding.DecodeString(pick(g, list).(string)); err == nil {
			if g.IntN(3) == 0 {
				return g.damage(file)
			}
			return file
		}
	}
	return []byte(pick(g, []string{"", "PK\x03\x04", "solid x\nendsolid x\n", "solid x\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 nan 0\nendloop\nendfacet\nendsolid", strings.Repeat("\x00", 134)}))
}

// unknownRows is how many rows a batch has whose text was damaged.
const unknownRows = -1

// lost says how an answer to a batch falls short of what was sent; "" if not.
func lost(r request, mediaType string, body []byte) string {
	got := r.rows
	switch mediaType {
	case "application/json":
		var list []json.RawMessage
		if err := json.Unmarshal(body, &list); err != nil {
			return err.Error()
		}
		got = len(list)
	case mediaNDJSON:
		got = bytes.Count(body, []byte("\n"))
		if r.rows == 0 {
			got = len(bytes.TrimSpace(body))
		}
	case mediaCSV:
		got = unknownRows
		for _, comma := range ",;\t" {
			if n := countTable(body, comma); n == r.rows {
				got = n
			}
		}
	case mediaXLSX:
		return r.sheet.lost(r.rows, body)
	}
	if got != r.rows {
		return fmt.Sprintf("%d rows sent, %d answered", r.rows, got)
	}
	return ""
}

// lost says what of the sheet is not in the answered workbook, which rows have
// no answer right of it, or that an answer is no number.
func (s *sheet) lost(rows int, body []byte) string {
	f, err := excelize.OpenReader(bytes.NewReader(body))
	if err != nil {
		return err.Error()
	}
	defer f.Close()
	if s == nil { // it was damaged on the way, and yet could be opened
		return ""
	}
	cells, err := f.GetRows(s.name, excelize.Options{RawCellValue: true})
	if err != nil {
		return err.Error()
	}
	for at, want := range s.texts {
		if got, _ := f.GetCellValue(s.name, at); got != want {
			return fmt.Sprintf("cell %s held %q and holds %q", at, want, got)
		}
	}
	answered := 0
	for _, row := range cells[min(s.head, len(cells)):] {
		answers := strings.Join(row[min(s.last, len(row)):], "")
		if answers != "" {
			answered++
		}
		if slices.ContainsFunc(row[min(s.last, len(row)):], func(c string) bool { return notFinite.MatchString(c) && len(c) < 5 }) {
			return "an answer is no number: " + answers
		}
	}
	if answered != rows {
		return fmt.Sprintf("%d rows sent, %d answered", rows, answered)
	}
	return ""
}
