package wire

import (
	"bytes"
	"encoding/csv"
	"reflect"
	"strings"
	"unicode/utf8"
)

// Table writes answers of one type as CSV with a header.
func Table(columns []Column, outs []any) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	record := make([]string, len(columns))
	for i, c := range columns {
		record[i] = c.Name
	}
	_ = w.Write(record) // a bytes.Buffer takes everything
	for _, out := range outs {
		v := follow(reflect.ValueOf(out))
		for i, c := range columns {
			cell, err := c.Append(nil, v)
			if err != nil {
				return nil, err
			}
			record[i] = Inert(string(cell))
		}
		_ = w.Write(record)
	}
	w.Flush()
	return b.Bytes(), nil
}

// Inert returns a cell that no spreadsheet takes for a formula: text that
// begins like one, and is not a number, gets an apostrophe in front.
func Inert(cell string) string {
	if cell == "" {
		return cell
	}
	switch cell[0] {
	case '=', '@', '\t', '\r', '\n':
		return "'" + cell
	case 0xef: // the full-width forms of = + - @, which some programs take for them
		if c, _ := utf8.DecodeRuneInString(cell); strings.ContainsRune("\uff1d\uff0b\uff0d\uff20", c) {
			return "'" + cell
		}
	case '+', '-':
		if !IsNumber(cell) {
			return "'" + cell
		}
	}
	return cell
}
