package workbook

import (
	"fmt"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
)

// page is a sheet that is being written. Its first error is kept.
type page struct {
	file  *excelize.File
	name  string
	looks map[string]int
	err   error
}

// The looks of cells.
const (
	title   = "title"
	heading = "heading"
	entry   = "entry"  // the maker's own figures go here
	result  = "result" // the server's answers come here
	aside   = "aside"
	remark  = "remark" // an aside of some lines
	warning = "warning"
	date    = "date"
)

func styles(f *excelize.File) (map[string]int, error) {
	dateFormat := "yyyy-mm-dd"
	fill := func(colour string) excelize.Fill {
		return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
	}
	edge := []excelize.Border{{Type: "bottom", Color: "B0B0B0", Style: 1}}
	wrap := &excelize.Alignment{WrapText: true, Vertical: "top"}
	looks := map[string]int{}
	for _, l := range []struct {
		name  string
		style excelize.Style
	}{
		{title, excelize.Style{Font: &excelize.Font{Bold: true, Size: 15}}},
		{heading, excelize.Style{Font: &excelize.Font{Bold: true}, Border: edge, Alignment: wrap}},
		{entry, excelize.Style{Fill: fill("FFF6D6"), Border: edge}},
		{date, excelize.Style{Fill: fill("FFF6D6"), Border: edge, CustomNumFmt: &dateFormat}},
		{result, excelize.Style{Fill: fill("E4F1E8"), Border: edge}},
		{aside, excelize.Style{Font: &excelize.Font{Color: "707070", Size: 9}, Alignment: &excelize.Alignment{Vertical: "top"}}},
		{remark, excelize.Style{Font: &excelize.Font{Color: "707070", Size: 9}, Alignment: wrap}},
		{warning, excelize.Style{Font: &excelize.Font{Bold: true, Color: "9C1C1C"}, Alignment: wrap}},
	} {
		id, err := f.NewStyle(&l.style)
		if err != nil {
			return nil, err
		}
		looks[l.name] = id
	}
	return looks, nil
}

func (p *page) keep(err error) {
	if p.err == nil && err != nil {
		p.err = fmt.Errorf("sheet %s: %w", p.name, err)
	}
}

// put writes a value or, where it begins with =, a formula of ours.
func (p *page) put(at string, v any, look string) {
	if s, ok := v.(string); ok && strings.HasPrefix(s, "=") {
		p.keep(p.file.SetCellFormula(p.name, at, s[1:]))
	} else if v != nil {
		p.keep(p.file.SetCellValue(p.name, at, v))
	}
	if look != "" {
		p.keep(p.file.SetCellStyle(p.name, at, at, p.looks[look]))
	}
}

func (p *page) widths(columns string, width float64) {
	from, to, _ := strings.Cut(columns, ":")
	p.keep(p.file.SetColWidth(p.name, from, to, width))
}

// choice offers a list for a range of cells.
func (p *page) choice(cells string, values ...string) {
	v := excelize.NewDataValidation(true)
	v.Sqref = cells
	p.keep(v.SetDropList(values))
	p.keep(p.file.AddDataValidation(p.name, v))
}

// param is one field of a question: its name, the cell that holds its value, and
// the formula that sends it.
type param struct{ name, cell, formula string }

// number sends a cell's number with a decimal point, whatever the locale of
// the spreadsheet. An empty cell leaves the field out.
func number(name, cell string) param {
	return param{name, cell, fmt.Sprintf(`SUBSTITUTE(%s,",",".")`, cell)}
}

func text(name, cell string) param {
	return param{name, cell, fmt.Sprintf("_xlfn.ENCODEURL(%s)", cell)}
}

// day sends a date as YYYY-MM-DD; the codes of TEXT depend on the locale.
func day(name, cell string) param {
	return param{name, cell, fmt.Sprintf(`IF(%[1]s="","",YEAR(%[1]s)&"-"&RIGHT("0"&MONTH(%[1]s),2)&"-"&RIGHT("0"&DAY(%[1]s),2))`, cell)}
}

// question is the address that asks for an answer, or nothing as long as the
// cell key is empty.
func question(key, calculation string, params ...param) string {
	var b strings.Builder
	fmt.Fprintf(&b, `=IF(%s="","",Server&"/v1/%s?errors=text&working=false"`, key, calculation)
	for _, p := range params {
		fmt.Fprintf(&b, `&"&%s="&%s`, p.name, p.formula)
	}
	b.WriteString(")")
	return b.String()
}

// answer fetches some fields of the answer to the question in a cell, in one
// request: each comes on a line of its own.
func answer(question string, fields []string) string {
	return fmt.Sprintf(`=IF(%[1]s="","",IFERROR(_xlfn.WEBSERVICE(%[1]s&"&pick=%[2]s"),"! no answer from the server"))`, question, strings.Join(fields, ","))
}

// longest is more than any field of an answer that is shown, in characters.
const longest = 500

// line is the formula of the line of an answer with that number, from 0: each
// is moved so far apart that the next does not reach into it.
func line(answer string, number int) string {
	return fmt.Sprintf(`TRIM(MID(SUBSTITUTE(%s,CHAR(10),REPT(" ",%[2]d)),%d,%[2]d))`, answer, longest, number*longest+1)
}

// shown is a line of an answer as a number where it is one; of a problem, which
// has one line, its words.
func shown(answer string, number int) string {
	return fmt.Sprintf(`=IF(LEFT(%[1]s,1)="!",%[1]s,IFERROR(_xlfn.NUMBERVALUE(%[2]s,".",",")/(%[2]s<>""),%[2]s))`, answer, line(answer, number))
}

// amount is shown, but empty where the answer is a problem: that has a column
// of its own.
func amount(answer string, number int) string {
	return fmt.Sprintf(`=IF(OR(%[1]s="",LEFT(%[1]s,1)="!"),"",_xlfn.NUMBERVALUE(%[2]s,".",","))`, answer, line(answer, number))
}

// trouble shows the problem of an answer, if it is one.
func trouble(answer string) string {
	return fmt.Sprintf(`=IF(LEFT(%[1]s,1)="!",MID(%[1]s,3,250),"")`, answer)
}

// field is a line of a form: what it is, the cell for it, its unit and a remark.
type field struct {
	label  string
	value  any
	unit   string
	remark string
}

// form writes lines from a row on.
func (p *page) form(row int, fields ...field) {
	for i, f := range fields {
		r := fmt.Sprint(row + i)
		p.put("A"+r, f.label, "")
		look := entry
		if _, ok := f.value.(time.Time); ok {
			look = date
		}
		p.put("B"+r, f.value, look)
		p.put("C"+r, f.unit, aside)
		p.put("D"+r, f.remark, remark)
	}
}

// ask is a question of a sheet: its cell, which the answer as it came stands
// beside, and what it asks.
type ask struct {
	cell, calculation string
	params            []param
}

// asked is a line that shows a field of the answer to a question.
type asked struct{ question, field string }

// beside is the cell right of one in column F.
func beside(question string) string { return strings.Replace(question, "F", "G", 1) }

// answers writes lines from a row on, and the questions under them with one
// request each.
func (p *page) answers(row int, lines []asked, questions []ask) {
	fields, asks := map[string][]string{}, map[string]calc.Calculation{}
	for _, q := range questions {
		asks[q.cell] = named(q.calculation)
	}
	for i, l := range lines {
		r := fmt.Sprint(row + i)
		words, unit, doc := describe(schema.Of(asks[l.question].Out()), l.field)
		p.put("A"+r, capital(words), "")
		p.put("B"+r, shown(beside(l.question), len(fields[l.question])), result)
		p.put("C"+r, unit, aside)
		p.put("D"+r, doc, remark)
		fields[l.question] = append(fields[l.question], l.field)
	}
	head := fmt.Sprint(row + len(lines))
	p.put("A"+head, "What is asked", heading)
	p.put("F"+head, "the question", aside)
	p.put("G"+head, "the answer as it came", aside)
	for i, q := range questions {
		r := fmt.Sprint(row + len(lines) + 1 + i)
		p.put("A"+r, asks[q.cell].Info().Summary, aside)
		p.put("F"+r, question(q.params[0].cell, q.calculation, q.params...), aside)
		p.put("G"+r, answer(q.cell, fields[q.cell]), aside)
	}
}

func paneBelow(row int) *excelize.Panes {
	return &excelize.Panes{Freeze: true, YSplit: row, XSplit: 1, TopLeftCell: fmt.Sprintf("B%d", row+1), ActivePane: "bottomRight"}
}
