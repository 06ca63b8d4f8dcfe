package workbook

import (
	"fmt"

	"pourwright/internal/schema"
)

// order follows one bangle from its size to its price; each question takes
// the answers of those before it.
func (p *page) order() {
	p.columns()
	p.head("One order: a bangle")
	p.put("A4", "The piece", heading)
	p.form(5,
		field{"For whom, or a number", "enquiry 1", "", "not sent to the server"},
		of("mould-sizes", "inside_diameter_mm", 62),
		of("mould-sizes", "shape", "half_round"),
		of("mould-sizes", "thickness_mm", 2.4),
		of("mould-sizes", "width_mm", 6),
		of("melts", "alloy", "silver-925"),
		of("quotes", "fineness_permil", 925))
	p.choice("B7", "round", "oval", "half_round", "rectangular", "d", "knife_edge")
	p.put("A13", "The mould", heading)
	p.form(14,
		of("melts", "sprue_diameter_mm", 7),
		of("melts", "sprue_length_mm", 25),
		of("melts", "funnel_head_mm", 15),
		of("melts", "funnel_diameter_mm", 14),
		of("melts", "vent_count", 2),
		of("melts", "vent_diameter_mm", 1.2),
		of("melts", "vent_length_mm", 30))
	p.put("A22", "Work and prices", heading)
	p.form(23,
		of("quotes", "currency", "EUR"),
		of("quotes", "metal_price_per_gram", 0.95),
		of("quotes", "metal_price_date", ymd(2026, 11, 23)),
		of("quotes", "hourly_rate", 38),
		of("quotes", "mould_min", 40),
		of("quotes", "pour_min", 30),
		of("quotes", "cleaning_min", 45),
		of("quotes", "polishing_min", 40),
		of("quotes", "client_metal_g", 45),
		of("quotes", "client_metal_fineness_permil", 900),
		of("quotes", "overhead_pct", 20),
		of("quotes", "markup_pct", 25),
		of("quotes", "tax_pct", 21))
	p.orderAnswers()
}

func (p *page) orderAnswers() {
	const mould, finished, melt, fill, price = "$F$53", "$F$54", "$F$55", "$F$56", "$F$57"
	p.put("A37", "What the server says", heading)
	lines := []asked{
		{mould, "mould.inside_diameter_mm"},
		{mould, "mould.section.thickness_mm"},
		{mould, "mould.section.width_mm"},
		{mould, "casting_volume_mm3"},
		{finished, "casting_mass_g"},
		{melt, "casting_mass_g"},
		{melt, "feed_mass_g"},
		{melt, "melt_mass_g"},
		{melt, "pour_c"},
		{fill, "failure_pct"},
		{price, "total"},
		{price, "low_total"},
		{price, "high_total"},
		{price, "remake"},
	}
	piece := func(shape, thickness, width string) []param {
		return []param{number("inside_diameter_mm", "$B$6"), text("shape", shape), number("thickness_mm", thickness), number("width_mm", width), text("alloy", "$B$10")}
	}
	p.answers(38, lines, []ask{
		{mould, "mould-sizes", piece("$B$7", "$B$8", "$B$9")},
		{finished, "melts", piece("$B$7", "$B$8", "$B$9")},
		{melt, "melts", []param{number("volume_mm3", "$B$41"), text("alloy", "$B$10"), number("sprue_diameter_mm", "$B$14"), number("sprue_length_mm", "$B$15"),
			number("funnel_head_mm", "$B$16"), number("funnel_diameter_mm", "$B$17"), number("vent_count", "$B$18"), number("vent_diameter_mm", "$B$19"), number("vent_length_mm", "$B$20")}},
		{fill, "fills", []param{number("inside_diameter_mm", "$B$38"), text("section.shape", "$B$7"), number("section.thickness_mm", "$B$39"), number("section.width_mm", "$B$40"),
			text("alloy", "$B$10"), number("sprue_diameter_mm", "$B$14"), number("sprue_length_mm", "$B$15"), number("funnel_head_mm", "$B$16"), number("funnel_diameter_mm", "$B$17"),
			number("vent_count", "$B$18"), number("vent_diameter_mm", "$B$19")}},
		{price, "quotes", []param{number("piece_g", "$B$42"), text("currency", "$B$23"), number("fineness_permil", "$B$11"), number("cast_g", "($B$43+$B$44)"),
			number("metal_price_per_gram", "$B$24"), day("metal_price_date", "$B$25"), number("hourly_rate", "$B$26"), number("mould_min", "$B$27"), number("pour_min", "$B$28"),
			number("cleaning_min", "$B$29"), number("polishing_min", "$B$30"), number("client_metal_g", "$B$31"), number("client_metal_fineness_permil", "$B$32"),
			number("overhead_pct", "$B$33"), number("markup_pct", "$B$34"), number("tax_pct", "$B$35"), number("failure_pct", "$B$47")}},
	})
}

// enquiry is an invented row of the sheet of quotes.
type enquiry struct {
	who, piece                                      string
	pieces                                          int
	pieceG, castG                                   float64
	clientG, clientFineness                         float64
	mould, pour, setting, clean, polish, stonePrice float64
	stones                                          int
}

var enquiries = []enquiry{
	{"enquiry 1", "half-round bangle", 1, 38, 62, 45, 900, 40, 30, 20, 45, 40, 0, 0},
	{"enquiry 2", "band ring", 2, 6.5, 14, 0, 0, 25, 15, 0, 20, 25, 0, 0},
	{"enquiry 3", "cuff from old spoons", 1, 55, 90, 110, 800, 55, 35, 0, 60, 50, 0, 0},
	{"enquiry 4", "bangle, six stones in place", 1, 42, 70, 0, 0, 60, 30, 35, 50, 45, 9, 6},
	{"enquiry 5", "signet ring", 1, 11.2, 22, 12, 925, 30, 20, 0, 40, 30, 0, 0},
	{"enquiry 6", "client's metal, fineness not known", 1, 20, 35, 25, 0, 35, 25, 0, 30, 30, 0, 0},
}

// prices are the fields that a row of quotes shows.
var prices = []string{"total", "low_total", "high_total", "deposit"}

// quotes prices forty enquiries, a row each, on the terms above them.
func (p *page) quotes() {
	p.head("Forty enquiries")
	p.widths("A:A", 26)
	p.widths("B:B", 32)
	p.widths("C:N", 11)
	p.widths("O:R", 13)
	p.widths("S:S", 60)
	p.put("A4", "Terms of all", heading)
	terms := []struct {
		field string
		value any
		param func(name, cell string) param
	}{
		{"currency", "EUR", text}, {"metal", "silver", text}, {"fineness_permil", 925, number},
		{"metal_price_per_gram", 0.95, number}, {"metal_price_date", ymd(2026, 11, 23), day},
		{"hourly_rate", 38, number}, {"failure_pct", 10, number}, {"overhead_pct", 20, number},
		{"markup_pct", 25, number}, {"tax_pct", 21, number}, {"deposit_pct", 50, number},
	}
	in, out := schema.Of(named("quotes").In()), schema.Of(named("quotes").Out())
	params := []param{}
	for i, t := range terms {
		letter := string(rune('B' + i))
		p.put(letter+"4", column(in, t.field), heading)
		look := entry
		if t.field == "metal_price_date" {
			look = date
		}
		p.put(letter+"5", t.value, look)
		params = append(params, t.param(t.field, "$"+letter+"$5"))
	}
	rowParams := []string{"pieces", "piece_g", "cast_g", "client_metal_g", "client_metal_fineness_permil", "mould_min", "pour_min", "setting_min", "cleaning_min", "polishing_min", "stones", "stone_price"}
	headings := []string{"enquiry", column(in, "piece")}
	for _, name := range rowParams {
		headings = append(headings, column(in, name))
	}
	for _, name := range prices {
		headings = append(headings, column(out, name))
	}
	for i, h := range append(headings, "what is wrong", "the question", "the answer as it came") {
		p.put(fmt.Sprintf("%c7", 'A'+i), h, heading)
	}
	for i := range Enquiries {
		r := fmt.Sprint(8 + i)
		own := append([]param{text("piece", "$B"+r)}, params...)
		for j, name := range rowParams {
			own = append(own, number(name, fmt.Sprintf("$%c%s", 'C'+j, r)))
		}
		p.enquiry(r, i, question("$D"+r, "quotes", own...))
	}
	p.keep(p.file.SetPanes(p.name, paneBelow(7)))
}

// enquiry writes a row: the maker's cells, the answers, what is wrong, and
// behind them the question with its answers as they came.
func (p *page) enquiry(r string, i int, question string) {
	for c := 'A'; c <= 'N'; c++ {
		p.put(string(c)+r, nil, entry)
	}
	if i < len(enquiries) {
		e := enquiries[i]
		for c, v := range []any{e.who, e.piece, e.pieces, e.pieceG, e.castG, e.clientG, e.clientFineness, e.mould, e.pour, e.setting, e.clean, e.polish, e.stones, e.stonePrice} {
			if f, ok := v.(float64); ok && f == 0 {
				continue // an empty cell is left out
			}
			p.put(fmt.Sprintf("%c%s", 'A'+c, r), v, entry)
		}
	}
	p.put("T"+r, question, aside)
	p.put("U"+r, answer("$T"+r, prices), aside)
	for j := range prices {
		p.put(fmt.Sprintf("%c%s", 'O'+j, r), amount("$U"+r, j), result)
	}
	p.put("S"+r, trouble("U"+r), "")
}

// sizes shows a ring size in every system.
func (p *page) sizes() {
	p.head("Ring sizes")
	fields := []string{"diameter_mm", "circumference_mm", "iso.size", "us.size", "uk.size", "japan.size"}
	in, out := schema.Of(named("ring-sizes").In()), schema.Of(named("ring-sizes").Out())
	headings := []string{column(in, "size"), column(in, "system")}
	for _, f := range fields {
		headings = append(headings, column(out, f))
	}
	headings = append(headings, "the question", "the answer as it came")
	p.widths("A:H", 15)
	for i, h := range headings {
		p.put(fmt.Sprintf("%c4", 'A'+i), h, heading)
	}
	demo := [][2]string{{"7", "us"}, {"N 1/2", "uk"}, {"54", "circumference"}, {"17.3", "diameter"}, {"14", "japan"}, {"Z+3", "uk"}}
	for i := range 12 {
		r := fmt.Sprint(5 + i)
		p.put("A"+r, nil, entry)
		p.put("B"+r, nil, entry)
		if i < len(demo) {
			p.put("A"+r, demo[i][0], entry)
			p.put("B"+r, demo[i][1], entry)
		}
		p.put("I"+r, question("$A"+r, "ring-sizes", param{"size", "$A" + r, fmt.Sprintf(`_xlfn.ENCODEURL(SUBSTITUTE($A%s,",","."))`, r)}, text("system", "$B"+r)), aside)
		p.put("J"+r, answer("$I"+r, fields), aside)
		for j := range fields {
			p.put(fmt.Sprintf("%c%s", 'C'+j, r), shown("$J"+r, j), result)
		}
	}
	p.choice("B5:B16", "circumference", "diameter", "us", "uk", "japan", "continental", "swiss", "italian", "spanish", "indian", "hong_kong")
	p.put("A18", "A size is a calculation by its standard. Try a gauge on the finger, and allow for a wide band.", "")
}

// melt is metal, heat and gas for a casting of a known volume or pattern.
func (p *page) melt() {
	p.columns()
	p.head("Metal to melt")
	p.put("A4", "Give one of volume, pattern or water", heading)
	p.form(5,
		of("melts", "alloy", "silver-925"),
		of("melts", "volume_mm3", nil),
		of("melts", "pattern_mass_g", 3.9),
		of("melts", "pattern_material", "wax"),
		of("melts", "displaced_water_g", nil),
		of("melts", "sprue_diameter_mm", 6),
		of("melts", "sprue_length_mm", 25),
		of("melts", "reserve_g", 0),
		of("melts", "torch_kw", 6),
		of("melts", "fuel", "propane"))
	p.put("A16", "What the server says", heading)
	const q = "$F$26"
	p.answers(17, []asked{
		{q, "melt_mass_g"},
		{q, "casting_mass_g"},
		{q, "feed_mass_g"},
		{q, "liquidus_c"},
		{q, "pour_c"},
		{q, "time_s"},
		{q, "fuel_g"},
		{q, "cautions.0.text"},
	}, []ask{{q, "melts", []param{text("alloy", "$B$5"), number("volume_mm3", "$B$6"), number("pattern_mass_g", "$B$7"), text("pattern_material", `IF($B$7="","",$B$8)`),
		number("displaced_water_g", "$B$9"), number("sprue_diameter_mm", "$B$10"), number("sprue_length_mm", "$B$11"), number("reserve_g", "$B$12"), number("torch_kw", "$B$13"), text("fuel", "$B$14")}}})
}
