package serve

import (
	"slices"
	"strconv"
	"strings"

	"pourwright/internal/calc"
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

// feed is the input that a column feeds; its name is empty where there is none.
type feed struct {
	wire.Field
	unit string // that the column's bare numbers are in; empty for that of the name
}

const errorColumn = "error"

func (e *endpoint) inputNames() []string {
	fields := e.shape.FlatFields()
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.Name
	}
	return names
}

// feedOf finds the input that a header names: its name, and behind it in
// brackets a unit that the cells are in, as in "piece_g (ozt)".
func feedOf(fields []wire.Field, header string) (feed, error) {
	name, in := header, ""
	if open := strings.LastIndexByte(header, '('); open > 0 && strings.HasSuffix(header, ")") {
		name, in = strings.TrimSpace(header[:open]), strings.TrimSpace(header[open+1:len(header)-1])
	}
	i := slices.IndexFunc(fields, func(f wire.Field) bool { return f.Name == name })
	if i < 0 {
		return feed{}, nil
	}
	f := feed{fields[i], in}
	if in == "" {
		return f, nil
	}
	if !f.Number {
		return f, calc.Refuse(header, "", "%s is not a quantity; leave the unit out", name)
	}
	if _, err := unit.Parse(name, "1 "+in); err != nil {
		return f, calc.Refuse(header, "", "%s", err)
	}
	return f, nil
}

// named counts the columns that feed an input.
func (e *endpoint) named(header []string) int {
	n, fields := 0, e.shape.FlatFields()
	for _, h := range header {
		if f, _ := feedOf(fields, strings.TrimSpace(h)); f.Name != "" {
			n++
		}
	}
	return n
}

// match refuses a header that stands twice, or that seems misspelt: a value
// that is silently left out would be worse.
func match(e *endpoint, header []string) (columnMatch, error) {
	m := columnMatch{e: e}
	fields, known := e.shape.FlatFields(), e.inputNames()
	var checks calc.Checks
	for _, h := range header {
		h = strings.TrimSpace(h)
		m.header = append(m.header, h)
		f, err := feedOf(fields, h)
		switch {
		case err != nil:
			checks.Under("", err)
		case f.Name == "":
			name, _, _ := strings.Cut(h, " (")
			if near := calc.Nearest(name, known); near != "" && !slices.Contains(header, near) {
				checks.Refuse(h, "", "did you mean the column %s? rename it, or rename yours so that it is not taken for it", near)
			}
		case slices.ContainsFunc(m.feeds, func(other feed) bool { return other.Name == f.Name }):
			checks.Refuse(h, "", "the column stands twice; name it once")
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
	for i := range names {
		for slices.Contains(own, names[i]) {
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
	if i >= len(m.feeds) || m.feeds[i].Name == "" {
		return
	}
	f := m.feeds[i]
	cell = strings.TrimSpace(cell)
	if cell != "" {
		m.filled = true
		if f.Number {
			cell = m.quantity(f, cell)
		}
	}
	m.pairs = append(m.pairs, wire.Pair{Name: f.Name, Text: cell})
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
	if !m.decimalComma && f.unit == "" && (f.List || strings.IndexByte(cell, ',') < 0) {
		return cell
	}
	marks := ";"
	if f.List && !m.decimalComma {
		marks = ",;"
	}
	parts := []string{cell}
	if f.List {
		parts = strings.FieldsFunc(cell, func(c rune) bool { return strings.ContainsRune(marks, c) })
	}
	for i, part := range parts {
		part = strings.TrimSpace(part)
		switch {
		case m.decimalComma && strings.Contains(part, "."):
			m.checks.Refuse(f.Name, part, "write the decimals with a comma, as the table was sent with decimal=comma, and no mark for thousands")
		case m.decimalComma:
			part = strings.Replace(part, ",", ".", 1)
		case strings.Contains(part, ","):
			m.checks.Refuse(f.Name, part, pointOnly)
		}
		if _, err := strconv.ParseFloat(part, 64); err == nil && f.unit != "" {
			part += " " + f.unit
		}
		parts[i] = part
	}
	return strings.Join(parts, ";")
}
