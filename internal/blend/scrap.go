package blend

import (
	"fmt"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/verdict"
)

// SourceLot is a lot of scrap as the bench sees it: its mass, whose it is,
// what is known of its fineness and what was noticed on it.
type SourceLot struct {
	ID                string             `json:"id,omitempty" maxLength:"80" doc:"What you call the lot; lot 1, lot 2 and so on when left out" example:"spoons"`
	MassG             float64            `json:"mass_g" minimum:"0.001" maximum:"1000000" doc:"Mass at hand, g, after stones, steel and solder seams are taken off" example:"42.5"`
	Owner             string             `json:"owner,omitempty" enum:"client,studio" default:"client" doc:"Whose metal it is"`
	OwnerName         string             `json:"owner_name,omitempty" maxLength:"80" doc:"Which client, where there are several" example:"client A"`
	Alloy             string             `json:"alloy,omitempty" maxLength:"40" doc:"Id of a catalogue alloy, instead of the other ways to say what it is" example:"silver-925"`
	CompositionPermil map[string]float64 `json:"composition_permil,omitempty" maxProperties:"28" doc:"Parts per thousand by mass of each element, by symbol; what is missing to 1000 counts as copper"`
	FinenessPermil    *float64           `json:"fineness_permil,omitempty" minimum:"0" maximum:"1000" doc:"Fineness in the metal of the melt, parts per thousand; the rest counts as copper" example:"900"`
	FinenessLow       *float64           `json:"fineness_low_permil,omitempty" minimum:"0" maximum:"1000" doc:"Least that the fineness can be, where only an interval is known" example:"800"`
	FinenessHigh      *float64           `json:"fineness_high_permil,omitempty" minimum:"0" maximum:"1000" doc:"Greatest that the fineness can be" example:"925"`
	PlusMinus         *float64           `json:"fineness_plus_minus_permil,omitempty" minimum:"0" maximum:"500" doc:"Half-width of fineness_permil, as a laboratory states it, parts per thousand" example:"3"`
	ElementsPermil    map[string]float64 `json:"elements_permil,omitempty" maxProperties:"28" doc:"Other elements that a report names beside the fineness, parts per thousand by mass; what is missing to 1000 counts as copper"`
	Colour            string             `json:"colour,omitempty" enum:"yellow,rose,red,green,white_palladium,white_nickel" doc:"Colour of gold known by its fineness alone: the rest is then within the usual window of that colour, not anything between silver and copper" example:"yellow"`
	Kind              string             `json:"kind,omitempty" enum:"uk_silver_coin_to_1919,uk_silver_coin_1920_to_1946,uk_silver_coin_from_1947,us_silver_coin_to_1964,us_half_dollar_1965_to_1970,us_five_cents_1942_to_1945,latin_union_five_francs,latin_union_small_silver,britannia_silver,sovereign,nickel_silver,silver_plate,britannia_metal,unmarked" doc:"A kind of scrap whose fineness is known, or whose name deceives"`
	Evidence          string             `json:"evidence,omitempty" enum:"known,marked,touchstone,acid,xray,xray_bench,titration,fire_assay,none" default:"known" doc:"How the fineness was found; each but known widens it, parts per thousand both ways: acid kit 80, touchstone 20, X-ray in the hand 12, on the bench 5, titration 1, fire assay 0.3; a mark holds as stamped, less the solder of solder_pct. none: nobody can vouch for it, so it is not weighed in before it is tested"`
	SolderPct         *float64           `json:"solder_pct,omitempty" minimum:"0" maximum:"100" doc:"Part of the lot that is solder, per cent: none in spoons and plain castings, 1 to 2 in rings, 5 to 10 in chain and filigree. 2 when silver_solder was noticed and this is left out, else 0" example:"2"`
	SolderFineness    *float64           `json:"solder_fineness_permil,omitempty" minimum:"0" maximum:"1000" doc:"Fineness of that solder; 650 for silver and that of the lot for gold when not given" example:"650"`
	Observations      []string           `json:"observations,omitempty" maxItems:"21" enum:"soft_solder,lead,cadmium_solder,arsenic,mercury_gilding,mercury,aluminium,unknown_white_metal,silver_solder,steel_pins,magnetic,plated,rhodium,enamel,stones,glue,hollow,filled,wet,filings" doc:"What was noticed on the lot"`
	DealtWith         []string           `json:"dealt_with,omitempty" maxItems:"21" enum:"soft_solder,lead,cadmium_solder,arsenic,mercury_gilding,mercury,aluminium,unknown_white_metal,silver_solder,steel_pins,magnetic,plated,rhodium,enamel,stones,glue,hollow,filled,wet,filings" doc:"Observations that have been dealt with as the answer asks: cut open, dried, taken out, cut away and weighed again. mass_g is then the mass after it"`
	PricePerG         *float64           `json:"price_per_gram,omitempty" minimum:"0" maximum:"100000" doc:"What the lot costs to use, your money per g; nothing when left out" example:"0.6"`
	Use               string             `json:"use,omitempty" enum:"part,whole,whole_or_none" default:"part" doc:"part: any part may go in; whole: all of it must; whole_or_none: it must not be cut"`
}

var (
	srcOtherCoin = calc.Source{For: "further metals of a coin", Text: "manganese, nickel and zinc of the reduced coinages", Status: calc.FromMemory}
	srcStandards = calc.Source{For: "fineness of coins and marks", Text: "tables of the coinage and of the hallmarking laws, as collected; ask your assay office for pieces you do not know", Status: calc.Practice}
	srcSolder    = calc.Source{For: "solder in marked scrap", Text: "1-2 % in rings, 5-10 % in chain and filigree; silver solder of 650 or better", Status: calc.Practice}
	srcTouch     = calc.Source{For: "touchstone ±20 ‰", Text: "assaying handbooks: 10 to 20 parts per thousand", Status: calc.Practice}
	srcXray      = calc.Source{For: "X-ray ±12 ‰", Text: "worst of 15 gold alloys against fire assay, +11.3 ‰; reads the skin only", Status: calc.Practice}
	srcAcid      = calc.Source{For: "acid kit ±80 ‰", Text: "kits of acids tell carat classes, 40 to 80 parts per thousand", Status: calc.FromMemory}
	srcXrayBench = calc.Source{For: "X-ray on the bench ±5 ‰", Text: "2 to 5 parts per thousand, as a refiner who cannot be named here states; reads the skin only", Status: calc.Practice}
	srcRest      = calc.Source{For: "unlisted rest of a lot is copper", Text: "usual base of silver alloys; list the elements where it matters", Status: calc.Choice}
)

// span is what a lot may hold, by element: least and most mass fraction.
type span struct {
	least, most metal.Composition
	likely      metal.Composition // nil: between the two
}

// middle is what the lot most likely holds.
func (s span) middle(symbol string) metal.Composition {
	if s.likely != nil {
		return s.likely
	}
	return middle(symbol, s.least, s.most)
}

// graded is a lot of the fineness low to high, the rest copper.
func graded(symbol string, low, high float64) span {
	s := span{least: metal.Composition{symbol: low}, most: metal.Composition{symbol: high}}
	if symbol != "Cu" {
		s.least["Cu"], s.most["Cu"] = 1-high, 1-low
	}
	return s
}

// kinds of scrap whose name says what they hold, parts per thousand.
var kinds = map[string]struct {
	symbol    string
	low, high float64
	most      metal.Composition // further elements that it may hold, as mass fractions
	says      string
}{
	"uk_silver_coin_to_1919":      {"Ag", 925, 925, nil, ""},
	"uk_silver_coin_1920_to_1946": {"Ag", 500, 500, metal.Composition{"Mn": .05, "Ni": .1, "Zn": .05}, "is 500 fine, not 925, and some years hold manganese or nickel, which make slag and brittle castings"},
	"uk_silver_coin_from_1947":    {"Ag", 0, 0, metal.Composition{"Ni": .25}, "holds no silver: it is cupronickel"},
	"us_silver_coin_to_1964":      {"Ag", 900, 900, nil, ""},
	"us_half_dollar_1965_to_1970": {"Ag", 400, 400, nil, "is clad: 400 fine over all, though its skin reads 800"},
	"us_five_cents_1942_to_1945":  {"Ag", 350, 350, metal.Composition{"Mn": .09}, "holds 9 % manganese, which burns, slags and makes the casting brittle"},
	"latin_union_five_francs":     {"Ag", 900, 900, nil, ""},
	"latin_union_small_silver":    {"Ag", 835, 835, nil, "is 835, not 900 like the five-franc piece"},
	"britannia_silver":            {"Ag", 958, 958, nil, "is silver of 958; Britannia metal is not silver at all"},
	"sovereign":                   {"Au", 11000. / 12, 11000. / 12, nil, ""},
	"nickel_silver":               {"Ag", 0, 0, metal.Composition{"Ni": .25, "Zn": .31}, "holds no silver: it is copper, nickel and zinc, also sold as German silver, alpaca or electroplate base"},
	"silver_plate":                {"Ag", 0, 0, metal.Composition{"Ni": .25, "Zn": .31}, "counts as no silver: the coat is some hundredths of a millimetre on a base of copper, nickel and zinc"},
	"unmarked":                    {"", 0, 1000, nil, ""},
}

// elements that may be listed: those of which properties are kept, and those
// that only spoil.
var elements = slices.Sorted(slices.Values(append(metal.Symbols(), "As", "Hg", "S", "Se", "Te")))

// poisons are elements that no melt may hold, and why.
var poisons = map[string]string{
	"Cd": observed["cadmium_solder"].refusal(), "Pb": observed["lead"].refusal(),
	"As": observed["arsenic"].refusal(), "Hg": observed["mercury_gilding"].refusal(),
}

// dearer is the mass fraction of a dearer metal from which a lot is not melted
// into silver. Ours: a tenth of it is worth more than the rest.
const dearer = 0.1

// spoilerTrace is the mass fraction above which a lot holds more of an element
// that embrittles than any dilution makes good.
const spoilerTrace = 1e-3

// poisonTrace is the mass fraction above which a poison is taken to be in the
// metal rather than in the last digit of its analysis: 0.1 ‰, the European
// limit of cadmium in jewellery.
const poisonTrace = 1e-4

// read turns a lot of the request into one of the programme. A reason means
// that the lot must stay out of any melt.
func (l *SourceLot) read(symbol string, notes *calc.Notes) (lot Lot, reason string, err error) {
	var checks calc.Checks
	s := l.known(symbol, notes, &checks)
	if err := checks.Err(); err != nil {
		return Lot{}, "", err
	}
	s = l.doubt(symbol, s, notes)
	reason = l.signs(notes, &checks)
	if l.Kind == "britannia_metal" {
		reason = cmpOr(reason, "Britannia metal is tin and antimony, not silver: it spoils a melt")
	}
	switch kind, ok := kinds[l.Kind]; {
	case ok && kind.symbol != "" && kind.high == 0:
		reason = cmpOr(reason, strings.ReplaceAll(l.Kind, "_", " ")+" "+kind.says)
	case symbol == "Ag" && s.least["Au"]+s.least["Pt"]+s.least["Pd"] > dearer:
		reason = cmpOr(reason, "its gold, platinum or palladium is worth far more than silver and would be lost in it: melt it in an order of its own")
	}
	for _, e := range []string{"As", "Cd", "Hg", "Pb"} {
		if s.most[e] > poisonTrace {
			reason = cmpOr(reason, poisons[e])
		}
	}
	for _, e := range []string{"Bi", "S", "Sb", "Se", "Te"} {
		if s.least[e] > spoilerTrace {
			reason = cmpOr(reason, fmt.Sprintf("%.3g parts per thousand of %s make silver and gold brittle in traces; send the lot to a refiner", 1000*s.least[e], e))
		}
	}
	clean, _ := l.clean()
	unready := slices.ContainsFunc(l.open(), func(o string) bool { return observed[o].level.Rank() >= verdict.NotYet.Rank() })
	lot = Lot{Unready: unready, ID: l.ID, StockG: clean, Middle: s.middle(symbol), Owner: l.owner(), Least: s.least, Most: s.most, Whole: l.Use == "whole", Undivided: l.Use == "whole_or_none"}
	if l.PricePerG != nil {
		lot.PricePerG = *l.PricePerG
	}
	return lot, reason, checks.Err()
}

func (l *SourceLot) owner() string {
	if l.Owner == "studio" {
		return ""
	}
	return cmpOr(l.OwnerName, "client")
}

func cmpOr(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// known is what the lot is said to hold.
func (l *SourceLot) known(symbol string, notes *calc.Notes, checks *calc.Checks) span {
	ways := 0
	for _, given := range []bool{l.Alloy != "", len(l.CompositionPermil) > 0, l.FinenessPermil != nil, l.FinenessLow != nil || l.FinenessHigh != nil, l.Kind != ""} {
		if given {
			ways++
		}
	}
	if ways == 0 && l.unstated() {
		return graded(symbol, 0, 1)
	}
	if ways != 1 {
		checks.Refuse("fineness_permil", nil, "say what %s is in one way: fineness_permil, fineness_low_permil with fineness_high_permil, alloy, composition_permil or kind", l.ID)
		return span{}
	}
	switch {
	case l.Alloy != "":
		m, err := metal.Named(l.Alloy)
		checks.Under("", err)
		return span{least: m.Composition, most: m.Composition}
	case len(l.CompositionPermil) > 0:
		c := Analysis("composition_permil", l.CompositionPermil, checks)
		return span{least: c, most: c}
	case l.FinenessPermil != nil:
		checks.Within("fineness_permil", *l.FinenessPermil, 0, 1000, "parts per thousand (sterling is 925)")
		half := 0.0
		if l.PlusMinus != nil {
			half = *l.PlusMinus
		}
		return l.rest(symbol, max(*l.FinenessPermil-half, 0)/1000, min(*l.FinenessPermil+half, 1000)/1000, notes, checks)
	case l.Kind != "":
		return l.ofKind(symbol, notes, checks)
	}
	low, high := 0.0, 1000.0
	if l.FinenessLow != nil {
		low = *l.FinenessLow
	}
	if l.FinenessHigh != nil {
		high = *l.FinenessHigh
	}
	checks.Within("fineness_high_permil", high, 0, 1000, "parts per thousand")
	checks.Within("fineness_low_permil", low, 0, high, "parts per thousand, not above fineness_high_permil")
	if l.PlusMinus != nil {
		checks.Refuse("fineness_plus_minus_permil", *l.PlusMinus, "give it with fineness_permil, or low and high by themselves")
	}
	return l.rest(symbol, low/1000, high/1000, notes, checks)
}

func (l *SourceLot) ofKind(symbol string, notes *calc.Notes, checks *calc.Checks) span {
	if l.Kind == "britannia_metal" {
		return span{least: metal.Composition{"Sn": .9}, most: metal.Composition{"Sn": .95, "Sb": .1}}
	}
	kind, ok := kinds[l.Kind]
	if !ok {
		checks.Refuse("kind", l.Kind, "give one of the kinds listed in the contract")
		return span{}
	}
	notes.Cite(srcStandards)
	if kind.most != nil {
		notes.Cite(srcOtherCoin)
	}
	if kind.says != "" {
		notes.Warn("scrap_kind", calc.Care, "%s: %s %s.", l.ID, strings.ReplaceAll(l.Kind, "_", " "), kind.says)
	}
	of := cmpOr(kind.symbol, symbol)
	s := graded(of, kind.low/1000, kind.high/1000)
	for e, most := range kind.most {
		s.most[e] = most
		s.least["Cu"] -= most
	}
	s.least["Cu"] = max(s.least["Cu"], 0)
	return s
}

// Analysis reads parts per thousand by element; the rest is copper.
func Analysis(field string, permil map[string]float64, checks *calc.Checks) metal.Composition {
	c, sum := metal.Composition{}, 0.0
	for _, e := range sorted(permil) {
		v := permil[e]
		if !slices.Contains(elements, e) {
			accepts := "give symbols of " + strings.Join(elements, ", ")
			if near := calc.Nearest(e, elements); near != "" {
				accepts = fmt.Sprintf("did you mean %s?", near)
			}
			checks.Refuse(field, e, "%s", accepts)
			continue
		}
		checks.Within(field+"."+e, v, 0, 1000, "parts per thousand")
		c[e] = v / 1000
		sum += v
	}
	// Printed analyses are rounded; 5 ‰ is half a unit in the last place of
	// ten parts printed to 0.1 %.
	if sum > 1005 || sum < 900 {
		checks.Refuse(field, sum, "give parts that sum to 1000 (900 to 1005; what is missing counts as copper)")
		return c
	}
	if sum > 1000 {
		for e := range c {
			c[e] *= 1000 / sum
		}
	} else {
		c["Cu"] += (1000 - sum) / 1000
	}
	return c
}

func sorted[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// doubt widens what is known by how it was found.
func (l *SourceLot) doubt(symbol string, s span, notes *calc.Notes) span {
	out := span{least: metal.Composition{}, most: metal.Composition{}}
	out.likely = s.likely
	for e, v := range s.least {
		out.least[e] = v
	}
	for e, v := range s.most {
		out.most[e] = v
	}
	widen := func(down, up float64) {
		out.least[symbol] = max(s.least[symbol]-down, 0)
		out.most[symbol] = min(s.most[symbol]+up, 1)
		out.least["Cu"] = max(s.least["Cu"]-up, 0)
		out.most["Cu"] = min(s.most["Cu"]+down, 1)
	}
	skinOnly := false
	switch l.Evidence {
	case "acid":
		widen(0.080, 0.080)
		notes.Cite(srcAcid)
		skinOnly = true
	case "touchstone":
		widen(0.020, 0.020)
		notes.Cite(srcTouch)
		skinOnly = true
	case "xray":
		widen(0.012, 0.012)
		notes.Cite(srcXray)
		skinOnly = true
	case "xray_bench":
		widen(0.005, 0.005)
		notes.Cite(srcXrayBench)
		skinOnly = true
	case "titration":
		widen(0.001, 0.001)
	case "fire_assay":
		widen(0.0003, 0.0003)
	}
	if skinOnly && slices.Contains(l.Observations, "plated") {
		widen(1, 0)
	}
	if l.SolderPct != nil || slices.Contains(l.Observations, "silver_solder") {
		l.addSolder(symbol, out)
		notes.Cite(srcSolder)
	}
	return out
}

// addSolder lowers the fineness of out by the solder of the lot's seams.
func (l *SourceLot) addSolder(symbol string, out span) {
	part, fine := 0.02, min(0.65, out.least[symbol])
	if l.SolderPct != nil {
		part = *l.SolderPct / 100
	}
	if symbol != "Ag" { // the law asks solder of the article's own fineness
		fine = out.least[symbol]
	}
	if l.SolderFineness != nil {
		fine = min(*l.SolderFineness/1000, out.least[symbol])
	}
	fall := part * (out.least[symbol] - fine)
	out.least[symbol] -= fall
	zinc := 0.15 * part // easy solder: 65 Ag 20 Cu 15 Zn
	out.most["Zn"] = min(out.most["Zn"]+zinc, 1)
	out.least["Cu"] = max(out.least["Cu"]-zinc, 0)
	out.most["Cu"] = min(out.most["Cu"]+fall, 1)
}
