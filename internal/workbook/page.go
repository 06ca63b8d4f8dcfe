package workbook

import (
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"
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

// param is one field of a question: its name and the cell, or the formula,
// that holds its value.
type param struct{ name, formula string }

// number sends a cell's number with a decimal point, whatever the locale of
// the spreadsheet. An empty cell leaves the field out.
func number(name, cell string) param {
	return param{name, fmt.Sprintf(`SUBSTITUTE(%s,",",".")`, cell)}
}

func text(name, cell string) param {
	return param{name, fmt.Sprintf("_xlfn.ENCODEURL(%s)", cell)}
}

// day sends a date as YYYY-MM-DD; the codes of TEXT depend on the locale.
func day(name, cell string) param {
	return param{name, fmt.Sprintf(`IF(%[1]s="","",YEAR(%[1]s)&"-"&RIGHT("0"&MONTH(%[1]s),2)&"-"&RIGHT("0"&DAY(%[1]s),2))`, cell)}
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

// answer fetches one field of the answer to the question in a cell.
func answer(question, field string) string {
	return fmt.Sprintf(`=IF(%[1]s="","",IFERROR(_xlfn.WEBSERVICE(%[1]s&"&pick=%[2]s"),"! no answer from the server"))`, question, field)
}

// shown turns an answer into a number where it is one.
func shown(answer string) string {
	return fmt.Sprintf(`=IF(%[1]s="","",IFERROR(_xlfn.NUMBERVALUE(%[1]s,".",","),%[1]s))`, answer)
}

// amount is shown, but empty where the answer is a problem: that has a column
// of its own.
func amount(answer string) string {
	return fmt.Sprintf(`=IF(OR(%[1]s="",LEFT(%[1]s,1)="!"),"",_xlfn.NUMBERVALUE(%[1]s,".",","))`, answer)
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
		if strings.Contains(f.unit, "date") {
			look = date
		}
		p.put("B"+r, f.value, look)
		p.put("C"+r, f.unit, aside)
		p.put("D"+r, f.remark, aside)
	}
}

// asked is a line that shows a field of the answer to the question in a cell;
// the answer as it came stands in column F.
type asked struct {
	label, question, field, unit, remark string
}

func (p *page) answers(row int, lines ...asked) {
	for i, l := range lines {
		r := fmt.Sprint(row + i)
		p.put("A"+r, l.label, "")
		p.put("F"+r, answer(l.question, l.field), aside)
		p.put("B"+r, shown("F"+r), result)
		p.put("C"+r, l.unit, aside)
		p.put("D"+r, l.remark, aside)
	}
}

func paneBelow(row int) *excelize.Panes {
	return &excelize.Panes{Freeze: true, YSplit: row, XSplit: 1, TopLeftCell: fmt.Sprintf("B%d", row+1), ActivePane: "bottomRight"}
}
