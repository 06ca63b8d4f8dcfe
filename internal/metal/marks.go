package metal

import "pourwright/internal/calc"

// Mark is the highest usual legal standard that a fineness reaches at a place.
type Mark struct {
	Place      string  `json:"place" doc:"Where the list of standards holds" example:"United Kingdom"`
	MarkPermil float64 `json:"mark_permil" doc:"Highest standard on that list which the fineness reaches, parts per thousand; 0 if none" example:"925"`
}

// lists of legal standards by place, falling. Law changes and is local: they
// are information, not advice.
var lists = []struct {
	place  string
	source calc.Source
	marks  map[string][]float64
}{
	{"United Kingdom", calc.Source{For: "standards of fineness, United Kingdom", Text: "Hallmarking Convention, site of the member states", Status: calc.Confirmed},
		map[string][]float64{"Au": {999, 990, 916, 750, 585, 375}, "Ag": {999, 958, 925, 800}, "Pt": {999, 950, 900, 850}, "Pd": {999, 950, 500}}},
	{"Ireland", calc.Source{For: "standards of fineness, Ireland", Text: "Hallmarking Convention, site of the member states", Status: calc.Confirmed},
		map[string][]float64{"Au": {999, 990, 916, 833, 750, 585, 417, 375}, "Ag": {999, 958, 925, 800}, "Pt": {999, 950, 900, 850, 600}, "Pd": {999, 950, 500}}},
	{"Finland", calc.Source{For: "standards of fineness, Finland", Text: "Finnish safety and chemicals agency, precious metal articles", Status: calc.Confirmed},
		map[string][]float64{"Au": {999, 916, 750, 585, 375}, "Ag": {999, 925, 830, 800}, "Pt": {999, 950, 900, 850}, "Pd": {999, 950, 850, 500}}},
	{"Norway", calc.Source{For: "standards of fineness, Norway", Text: "regulation FOR-2011-01-10-12", Status: calc.Confirmed},
		map[string][]float64{"Au": {999, 916, 750, 585, 375}, "Ag": {999, 925, 830, 800}, "Pt": {999, 950, 900, 850}}},
	{"Germany", calc.Source{For: "usual standards of fineness, Germany", Text: "Feingehaltsgesetz s. 5 and trade pages; any fineness may be stated, ware from 585 gold and 800 silver", Status: calc.Confirmed},
		map[string][]float64{"Au": {750, 585, 333}, "Ag": {925, 835, 800}, "Pt": {950}}},
	{"United States", calc.Source{For: "standards of fineness, United States", Text: "16 CFR 23.6, copy: sterling 925, coin 900", Status: calc.Confirmed},
		map[string][]float64{"Ag": {925, 900}}},
	{"Convention, lowest", calc.Source{For: "lowest standards of the Hallmarking Convention", Text: "Norwegian draft 2003, annex I", Status: calc.Confirmed},
		map[string][]float64{"Au": {375}, "Ag": {800}, "Pt": {850}, "Pd": {500}}},
}

// Marks returns, for each place that lists the metal ("Ag", "Au", "Pd" or
// "Pt"), the highest standard that the fineness reaches, with no tolerance
// below it, and the sources of the lists.
func Marks(symbol string, finenessPermil float64) ([]Mark, []calc.Source) {
	const rounding = 1e-9
	marks, sources := []Mark{}, []calc.Source{}
	for _, l := range lists {
		if len(l.marks[symbol]) == 0 {
			continue
		}
		m := Mark{Place: l.place}
		for _, v := range l.marks[symbol] {
			if v <= finenessPermil+rounding {
				m.MarkPermil = v
				break
			}
		}
		marks = append(marks, m)
		sources = append(sources, l.source)
	}
	return marks, sources
}
