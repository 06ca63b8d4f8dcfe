package workbook

import (
	"fmt"
)

// order follows one bangle from its size to its price; each question takes
// the answers of those before it.
func (p *page) order() {
	p.columns()
	p.head("One order: a bangle")
	p.put("A4", "The piece", heading)
	p.form(5,
		field{"For whom, or a number", "enquiry 1", "", "not sent to the server"},
		field{"Inside diameter, finished", 62, "mm", "a closed bangle; see Sizes for rings"},
		field{"Section", "half_round", "", ""},
		field{"Thickness, finished", 2.4, "mm", "from the inside out"},
		field{"Width, finished", 6, "mm", ""},
		field{"Alloy", "silver-925", "", "an id of the server's list of alloys, at /v1/alloys"},
		field{"Fineness to be paid for", 925, "parts per 1000", ""})
	p.choice("B7", "round", "oval", "half_round", "rectangular", "d", "knife_edge")
	p.put("A13", "The mould", heading)
	p.form(14,
		field{"Sprue, mean diameter", 7, "mm", ""},
		field{"Sprue, length", 25, "mm", ""},
		field{"Funnel, depth of metal in it", 15, "mm", ""},
		field{"Funnel, mean diameter", 14, "mm", ""},
		field{"Vents", 2, "", ""},
		field{"Vent, diameter", 1.2, "mm", ""},
		field{"Vent, length", 30, "mm", ""})
	p.put("A22", "Work and prices", heading)
	p.form(23,
		field{"Currency", "EUR", "", "three letters (ISO 4217)"},
		field{"Fine metal", 0.95, "a gram", "your buying price"},
		field{"of the day", ymd(2026, 11, 23), "date", ""},
		field{"Labour", 38, "an hour", ""},
		field{"Mould", 40, "min", ""},
		field{"Melt and pour", 30, "min", ""},
		field{"Clean up", 45, "min", ""},
		field{"Polish", 40, "min", ""},
		field{"Client's metal", 45, "g", "for the whole order"},
		field{"its fineness", 900, "parts per 1000", "the least it can be"},
		field{"Overhead", 20, "%", "of cost; as a number, without the sign"},
		field{"Mark-up", 25, "%", "of cost"},
		field{"Tax", 21, "%", "your local rate"})
	p.orderAnswers()
}

func (p *page) orderAnswers() {
	const mould, finished, melt, fill, price = "$F$53", "$F$54", "$F$55", "$F$56", "$F$57"
	p.put("A37", "What the server says", heading)
	p.answers(38,
		asked{"Mould: inside diameter", mould, "mould.inside_diameter_mm", "mm", "larger: the metal shrinks, and the bench takes some"},
		asked{"Mould: thickness", mould, "mould.section.thickness_mm", "mm", ""},
		asked{"Mould: width", mould, "mould.section.width_mm", "mm", ""},
		asked{"Mould: volume of the casting", mould, "casting_volume_mm3", "mm³", ""},
		asked{"Finished piece", finished, "casting_mass_g", "g", "its mass, without stones"},
		asked{"Casting", melt, "casting_mass_g", "g", ""},
		asked{"Sprue, funnel and vents", melt, "feed_mass_g", "g", ""},
		asked{"Metal to weigh out and melt", melt, "melt_mass_g", "g", "with the button and the melt loss"},
		asked{"Pour at", melt, "pour_c", "°C", "an estimate from the melting range"},
		asked{"Chance that the pour fails", fill, "failure_pct", "%", "by calculation, for a clay nobody has measured: see the page on fill risk"},
		asked{"Price for the client", price, "total", "with tax", ""},
		asked{"at the least", price, "low_total", "", ""},
		asked{"at the most", price, "high_total", "", ""},
		asked{"of it the allowance for failed pours", price, "remake", "", ""})
	p.put("A52", "The questions", heading)
	piece := func(shape, thickness, width string) []param {
		return []param{number("inside_diameter_mm", "$B$6"), text("shape", shape), number("thickness_mm", thickness), number("width_mm", width), text("alloy", "$B$10")}
	}
	questions := []struct{ label, formula string }{
		{"the mould", question("$B$6", "mould-sizes", piece("$B$7", "$B$8", "$B$9")...)},
		{"the finished piece", question("$B$6", "melts", piece("$B$7", "$B$8", "$B$9")...)},
		{"the melt", question("$B$41", "melts", text("alloy", "$B$10"), number("volume_mm3", "$B$41"), number("sprue_diameter_mm", "$B$14"), number("sprue_length_mm", "$B$15"),
			number("funnel_head_mm", "$B$16"), number("funnel_diameter_mm", "$B$17"), number("vent_count", "$B$18"), number("vent_diameter_mm", "$B$19"), number("vent_length_mm", "$B$20"))},
		{"the fill", question("$B$38", "fills", number("inside_diameter_mm", "$B$38"), text("section.shape", "$B$7"), number("section.thickness_mm", "$B$39"), number("section.width_mm", "$B$40"),
			text("alloy", "$B$10"), number("sprue_diameter_mm", "$B$14"), number("sprue_length_mm", "$B$15"), number("funnel_head_mm", "$B$16"), number("funnel_diameter_mm", "$B$17"),
			number("vent_count", "$B$18"), number("vent_diameter_mm", "$B$19"))},
		{"the price", question("$B$42", "quotes", text("currency", "$B$23"), number("piece_g", "$B$42"), number("fineness_permil", "$B$11"), number("cast_g", "($B$43+$B$44)"),
			number("metal_price_per_gram", "$B$24"), day("metal_price_date", "$B$25"), number("hourly_rate", "$B$26"), number("mould_min", "$B$27"), number("pour_min", "$B$28"),
			number("cleaning_min", "$B$29"), number("polishing_min", "$B$30"), number("client_metal_g", "$B$31"), number("client_metal_fineness_permil", "$B$32"),
			number("overhead_pct", "$B$33"), number("markup_pct", "$B$34"), number("tax_pct", "$B$35"), number("failure_pct", "$B$47"))},
	}
	for i, q := range questions {
		r := fmt.Sprint(53 + i)
		p.put("A"+r, q.label, aside)
		p.put("F"+r, q.formula, aside)
	}
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
		field, label string
		value        any
		param        func(name, cell string) param
	}{
		{"currency", "currency", "EUR", text}, {"metal", "metal", "silver", text}, {"fineness_permil", "fineness, ‰", 925, number},
		{"metal_price_per_gram", "fine metal, a gram", 0.95, number}, {"metal_price_date", "of the day", ymd(2026, 11, 23), day},
		{"hourly_rate", "labour, an hour", 38, number}, {"failure_pct", "failed pours, %", 10, number}, {"overhead_pct", "overhead, %", 20, number},
		{"markup_pct", "mark-up, %", 25, number}, {"tax_pct", "tax, %", 21, number}, {"deposit_pct", "deposit, %", 50, number},
	}
	params := []param{}
	for i, t := range terms {
		column := string(rune('B' + i))
		p.put(column+"4", t.label, heading)
		look := entry
		if t.field == "metal_price_date" {
			look = date
		}
		p.put(column+"5", t.value, look)
		params = append(params, t.param(t.field, "$"+column+"$5"))
	}
	headings := []string{"enquiry", "piece", "pieces", "piece, g", "poured, g", "client's metal, g", "its fineness, ‰", "mould, min", "pour, min", "setting, min", "clean up, min", "polish, min",
		"your stones", "price of one", "price", "at the least", "at the most", "deposit", "what is wrong", "the question", "answers as they came"}
	for i, h := range headings {
		p.put(fmt.Sprintf("%c7", 'A'+i), h, heading)
	}
	rowParams := []string{"pieces", "piece_g", "cast_g", "client_metal_g", "client_metal_fineness_permil", "mould_min", "pour_min", "setting_min", "cleaning_min", "polishing_min", "stones", "stone_price"}
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
	for j, f := range []string{"total", "low_total", "high_total", "deposit"} {
		raw := fmt.Sprintf("%c%s", 'U'+j, r)
		p.put(raw, answer("$T"+r, f), aside)
		p.put(fmt.Sprintf("%c%s", 'O'+j, r), amount(raw), result)
	}
	p.put("S"+r, trouble("U"+r), "")
}

// sizes shows a ring size in every system.
func (p *page) sizes() {
	p.head("Ring sizes")
	headings := []string{"size", "system", "diameter, mm", "circumference, mm", "ISO", "US", "UK", "Japan", "the question", "answers as they came"}
	fields := []string{"diameter_mm", "circumference_mm", "iso.size", "us.size", "uk.size", "japan.size"}
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
		p.put("I"+r, question("$A"+r, "ring-sizes", param{"size", fmt.Sprintf(`_xlfn.ENCODEURL(SUBSTITUTE($A%s,",","."))`, r)}, text("system", "$B"+r)), aside)
		for j, f := range fields {
			raw := fmt.Sprintf("%c%s", 'J'+j, r)
			p.put(raw, answer("$I"+r, f), aside)
			p.put(fmt.Sprintf("%c%s", 'C'+j, r), shown(raw), result)
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
		field{"Alloy", "silver-925", "", "an id of the server's list of alloys, at /v1/alloys"},
		field{"Volume of the casting", nil, "mm³", "or"},
		field{"Mass of the pattern", 3.9, "g", "with its material, or"},
		field{"its material", "wax", "", ""},
		field{"Water that it displaces", nil, "g", "weighed in a beaker on the scale"},
		field{"Sprue, mean diameter", 6, "mm", ""},
		field{"Sprue, length", 25, "mm", ""},
		field{"More than the button", 0, "g", ""},
		field{"Torch", 6, "kW", ""},
		field{"Fuel", "propane", "", ""})
	p.put("A16", "What the server says", heading)
	const q = "$F$27"
	p.answers(17,
		asked{"Metal to weigh out and melt", q, "melt_mass_g", "g", ""},
		asked{"Casting", q, "casting_mass_g", "g", ""},
		asked{"Sprue, funnel and vents", q, "feed_mass_g", "g", ""},
		asked{"All liquid at", q, "liquidus_c", "°C", ""},
		asked{"Pour at", q, "pour_c", "°C", "an estimate from the melting range"},
		asked{"Time at the torch", q, "time_s", "s", "the middle of its range"},
		asked{"Gas", q, "fuel_g", "g", ""},
		asked{"Beware of", q, "cautions.0.text", "", "the first of the server's cautions"})
	p.put("A26", "The question", heading)
	p.put("F27", question("$B$5", "melts", text("alloy", "$B$5"), number("volume_mm3", "$B$6"), number("pattern_mass_g", "$B$7"), text("pattern_material", `IF($B$7="","",$B$8)`),
		number("displaced_water_g", "$B$9"), number("sprue_diameter_mm", "$B$10"), number("sprue_length_mm", "$B$11"), number("reserve_g", "$B$12"), number("torch_kw", "$B$13"), text("fuel", "$B$14")), aside)
}
