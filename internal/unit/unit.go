// Package unit reads quantities written with the units of the trade, such as
// "2.5 ozt", "12 dwt", "0.25 in" or "14 B&S", into the unit that a field is
// named for. Factors are exact by definition unless said otherwise.
//
// Sources: international yard and pound agreement 1959 and NIST SP 811
// appendix B (inch, grain and their multiples); metric carat 0.2 g, CGPM 1907;
// Brown & Sharpe gauge after ASTM B258.
package unit

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

const gramsPerGrain = 0.06479891 // exact, 1959

// kind is a dimension with its canonical unit and the units it can be read from.
type kind struct {
	canonical string
	scale     map[string]float64 // canonical units per unit
	convert   func(v float64, unit string) (float64, bool)
	words     map[string]float64 // texts without a number, in lower case
	named     []string           // units that convert reads, for the hint
	example   string
}

// kinds by the ending of the field's name.
var kinds = map[string]kind{
	"_mm": {canonical: "mm", example: "0.25 in", convert: gauge, named: []string{"B&S"}, scale: map[string]float64{
		"mm": 1, "cm": 10, "m": 1000, "um": 1e-3, "µm": 1e-3, "in": 25.4, "inch": 25.4, "ft": 304.8}},
	"_mm2": {canonical: "mm²", example: "0.5 cm2", scale: map[string]float64{
		"mm2": 1, "mm²": 1, "cm2": 100, "cm²": 100, "in2": 645.16, "in²": 645.16}},
	"_mm3": {canonical: "mm³", example: "2.4 ml", scale: map[string]float64{
		"mm3": 1, "mm³": 1, "cm3": 1000, "cm³": 1000, "ml": 1000, "l": 1e6, "in3": 16387.064, "in³": 16387.064}},
	"_g": {canonical: "g", example: "2.5 ozt", scale: map[string]float64{
		"g": 1, "kg": 1000, "mg": 1e-3, "ct": 0.2, "gr": gramsPerGrain, "dwt": 24 * gramsPerGrain,
		"ozt": 480 * gramsPerGrain, "lbt": 5760 * gramsPerGrain, "oz": 437.5 * gramsPerGrain,
		"lb": 7000 * gramsPerGrain, "tola": 180 * gramsPerGrain}},
	"_ct": {canonical: "ct", example: "0.06 g", scale: map[string]float64{
		"ct": 1, "pt": 0.01, "g": 5, "mg": 5e-3}},
	"_c": {canonical: "°C", example: "1830 F", convert: temperature, named: []string{"F", "K"}, scale: map[string]float64{
		"C": 1, "°C": 1}},
	"_s": {canonical: "s", example: "2 min", scale: map[string]float64{
		"s": 1, "ms": 1e-3, "min": 60, "h": 3600}},
	"_min": {canonical: "min", example: "1.5 h", scale: map[string]float64{
		"min": 1, "s": 1.0 / 60, "h": 60}},
	"_pct":            {canonical: "%", example: "12 %", scale: map[string]float64{"%": 1}},
	"_permil":         {canonical: "‰", example: "92.5 %", scale: map[string]float64{"‰": 1, "%": 10}},
	"fineness_permil": fineness, "_fineness_permil": fineness,
	"_per_gram": {canonical: "per g", example: "29.55 /ozt", scale: map[string]float64{
		"/g": 1, "/kg": 1e-3, "/ozt": 1 / (480 * gramsPerGrain), "/dwt": 1 / (24 * gramsPerGrain), "/tola": 1 / (180 * gramsPerGrain)}},
}

// fineness is read in parts per thousand, in carats of gold, or by the name of
// a silver. A carat is taken as the mark that goes by it, 14 ct as 585, which
// is not 14/24: ISO 9202 and the laws of most countries (common practice; old
// American gold may be a carat or a half below its mark).
var fineness = kind{canonical: "‰", example: "18 ct", convert: carat, named: []string{"ct", "kt", "K"}, scale: map[string]float64{"‰": 1, "%": 10},
	words: map[string]float64{"sterling": 925, "britannia": 958, "fine": 999}}

var caratMarks = map[float64]float64{8: 333, 9: 375, 10: 417, 12: 500, 14: 585, 15: 625, 18: 750, 20: 833, 21: 875, 22: 916, 24: 999}

func carat(v float64, name string) (float64, bool) {
	switch strings.ToLower(name) {
	case "ct", "kt", "k", "carat", "karat":
		mark, ok := caratMarks[v]
		return mark, ok
	}
	return 0, false
}

// Of returns the canonical unit and a specimen of the text accepted by a
// field of the given name, and whether the name ends in a unit known here.
func Of(field string) (canonical, example string, ok bool) {
	k, ok := kindOf(field)
	return k.canonical, k.example, ok
}

// kindOf finds the kind by the longest ending of the field's name.
func kindOf(field string) (kind, bool) {
	for i := range field {
		if field[i] != '_' && i > 0 {
			continue
		}
		if k, ok := kinds[field[i:]]; ok {
			return k, true
		}
	}
	return kind{}, false
}

// Parse reads text, a number with or without a unit, for a field of the given
// name and returns it in the unit that the name ends with. The error says in
// one clause what is accepted.
func Parse(field, text string) (float64, error) {
	k, known := kindOf(field)
	if v, ok := k.words[strings.ToLower(strings.TrimSpace(text))]; ok {
		return v, nil
	}
	v, name, err := leading(text)
	if errors.Is(err, ErrAmbiguous) {
		return 0, fmt.Errorf("give a number%s; %w", k.hint(), err)
	}
	if err != nil {
		return 0, fmt.Errorf("give a number%s", k.hint())
	}
	if name == "" {
		return v, nil
	}
	if !known {
		return 0, fmt.Errorf("give a number without a unit")
	}
	if k.convert != nil {
		if r, ok := k.convert(v, name); ok {
			return r, nil
		}
	}
	if f, ok := k.scale[name]; ok {
		if v *= f; math.IsInf(v, 0) {
			return 0, fmt.Errorf("give a number%s", k.hint())
		}
		return v, nil
	}
	return 0, fmt.Errorf("unit %q is not known here; give a number%s", name, k.hint())
}

func (k kind) hint() string {
	if k.canonical == "" {
		return ""
	}
	names := make([]string, 0, len(k.scale)+2)
	for n := range k.scale {
		names = append(names, n)
	}
	names = append(names, k.named...)
	slices.Sort(names)
	hint := fmt.Sprintf(" in %s, or with one of the units %s (%q)", k.canonical, strings.Join(names, ", "), k.example)
	if k.words != nil {
		hint += ", or one of " + strings.Join(slices.Sorted(maps.Keys(k.words)), ", ")
	}
	return hint
}

// gauge reads Brown & Sharpe (American) wire gauge: 0.005 in × 92^((36−n)/39).
func gauge(v float64, name string) (float64, bool) {
	if name != "B&S" && name != "AWG" || v != math.Trunc(v) || v < 0 || v > 40 {
		return 0, false
	}
	return 0.127 * math.Pow(92, (36-v)/39), true
}

func temperature(v float64, name string) (float64, bool) {
	switch name {
	case "F", "°F":
		return (v - 32) / 1.8, true
	case "K":
		return v - 273.15, true
	}
	return 0, false
}
