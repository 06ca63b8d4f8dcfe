package serve

import (
	"strconv"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
	"pourwright/internal/unit"
	"pourwright/internal/wire"
)

// columnMatch matches the columns of a table with the inputs by name, in any
// order; the columns that are not inputs are left alone.
type columnMatch struct {
	e            *endpoint
	header       []string
	feeds        []feed
	names        []string // of the answer's columns, and last of the errors'
	decimalComma bool

	pairs  []wire.Pair
	checks calc.Checks
	filled bool // whether any input of the row is
}

// feed is the input that a column feeds; nil where there is none.
type feed struct {
	*schema.Leaf
	unit string // that the column's bare numbers are in; empty for that of the name
}

func (f feed) number() bool { return f.Scalar().Kind <= schema.Integer }
func (f feed) list() bool   { return f.Kind == schema.List }

const errorColumn = "error"

// feedOf finds the input that a header names: its name, and behind it in
// brackets a unit that the cells are in, as in "piece_g (ozt)".
func (e *endpoint) feedOf(header string) (feed, error) {
	name, in := header, ""
	if open := strings.LastIndexByte(header, '('); open > 0 && strings.HasSuffix(header, ")") {
		name, in = strings.TrimSpace(header[:open]), strings.TrimSpace(header[open+1:len(header)-1])
	}
	f := feed{e.shape.Leaf(name), in}
	if f.Leaf == nil || in == "" {
		return f, nil
	}
	if !f.number() {
		return f, calc.Refuse(clip(header, 100), "", "%s is not a quantity; leave the unit out", name)
	}
	if _, err := unit.Parse(name, "1 "+in); err != nil {
		return f, calc.Refuse(clip(header, 100), "", "%s", err)
	}
	return f, nil
}

// named counts the columns that feed an input.
func (e *endpoint) named(header []string) int {
	n := 0
	for _, h := range header {
		if f, _ := e.feedOf(strings.TrimSpace(h)); f.Leaf != nil {
			n++
		}
	}
	return n
}

// maxHints bounds the columns of a header that are looked up among the inputs
// as misspelt: a header of many thousand columns holds notes, not slips.
const maxHints = 200

// match refuses a header that stands twice, or that seems misspelt: a value
// that is silently left out would be worse.
func match(e *endpoint, header []string) (columnMatch, error) {
	m := columnMatch{e: e}
	own := make(map[string]bool, len(header))
	for _, h := range header {
		own[strings.TrimSpace(h)] = true
	}
	fed := map[string]bool{}
	var checks calc.Checks
	for i, h := range header {
		h = strings.TrimSpace(h)
		m.header = append(m.header, h)
		f, err := e.feedOf(h)
		switch {
		case err != nil:
			checks.Under("", err)
		case f.Leaf == nil && i < maxHints:
			name, _, _ := strings.Cut(h, " (")
			if near := calc.Nearest(name, e.shape.Paths()); near != "" && !own[near] {
				checks.Refuse(h, "", "did you mean the column %s? rename it, or rename yours so that it is not taken for it", near)
			}
		case f.Leaf != nil && fed[f.Path]:
			checks.Refuse(h, "", "the column stands twice; name it once")
		case f.Leaf != nil:
			fed[f.Path] = true
		}
		m.feeds = append(m.feeds, f)
	}
	m.names = answerNames(e, m.header)
	return m, checks.Err()
}

// answerNames names the answer's columns so that none stands twice in a table
// that has the columns own.
func answerNames(e *endpoint, own []string) []string {
	names := make([]string, 0, len(e.columns)+1)
	for _, c := range e.columns {
		names = append(names, c.Name)
	}
	names = append(names, errorColumn)
	taken := make(map[string]bool, len(own))
	for _, name := range own {
		taken[name] = true
	}
	for i := range names {
		for taken[names[i]] {
			names[i] = "answer." + names[i]
		}
	}
	return names
}

// begin forgets the row before.
func (m *columnMatch) begin() {
	m.pairs, m.checks, m.filled = m.pairs[:0], calc.Checks{}, false
}

// take takes a cell in the column i, from 0.
func (m *columnMatch) take(i int, cell string) {
	if i >= len(m.feeds) || m.feeds[i].Leaf == nil {
		return
	}
	f := m.feeds[i]
	cell = strings.TrimSpace(cell)
	if cell != "" {
		m.filled = true
		if f.number() {
			cell = m.quantity(f, cell)
		}
	}
	m.pairs = append(m.pairs, wire.Pair{Name: f.Path, Text: cell})
}

// read makes the row's input of the cells taken.
func (m *columnMatch) read(r *row) {
	if r.err = m.checks.Err(); r.err == nil {
		r.in, r.err = m.e.shape.ReadPairs(m.pairs)
	}
}

const pointOnly = "write the decimals with a point and no mark for thousands; a CSV table may have decimal commas throughout if it is sent with decimal=comma"

// quantity writes the number, or the list of them, with a decimal point and
// with the unit of its column. A mark that may mean either decimals or
// thousands is refused: the two differ by a factor of a thousand.
func (m *columnMatch) quantity(f feed, cell string) string {
	if !m.decimalComma && f.unit == "" && (f.list() || strings.IndexByte(cell, ',') < 0) {
		return cell
	}
	marks := ";"
	if f.list() && !m.decimalComma {
		marks = ",;"
	}
	parts := []string{cell}
	if f.list() {
		parts = strings.FieldsFunc(cell, func(c rune) bool { return strings.ContainsRune(marks, c) })
	}
	for i, part := range parts {
		part = strings.TrimSpace(part)
		switch {
		case m.decimalComma && strings.Contains(part, "."):
			m.checks.Refuse(f.Path, part, "write the decimals with a comma, as the table was sent with decimal=comma, and no mark for thousands")
		case m.decimalComma:
			part = strings.Replace(part, ",", ".", 1)
		case strings.Contains(part, ","):
			m.checks.Refuse(f.Path, part, pointOnly)
		}
		if _, err := strconv.ParseFloat(part, 64); err == nil && f.unit != "" {
			part += " " + f.unit
		}
		parts[i] = part
	}
	return strings.Join(parts, ";")
}
