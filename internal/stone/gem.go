// Package stone answers what a maker asks of stones that are cast in place:
// will it live, how deep to press it, what holds it, where it goes, what it
// weighs. The thermal physics is in package shock below it.
//
// | question | here |
// |---|---|
// | what is known of this material | gem.go, catalogue.go, body.go, treatment.go |
// | what does it weigh, how big is it | cut.go, size.go, solid.go |
// | can it be cast in place | judge.go, reasons.go, verdict.go |
// | what does the metal do to it | heat.go, transient.go, package shock |
// | how deep, how much metal round it | seat.go, capillary.go |
// | what holds it | grain.go |
// | where does each go | layout.go, layout_seat.go, layout_grain.go |
// | what keeps it in the clay, who bears the risk | holding.go, consent.go |
package stone

import (
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/verdict"
)

// Unknown is the status of a figure that nobody has given: it is never read as 0.
const Unknown calc.Status = "unknown"

// GemFigure is one property with its range and its standing. A nil number is
// unknown, and stops whatever would need it.
type GemFigure struct {
	Typical *float64    `json:"typical" doc:"Typical value; null where unknown" example:"3.52"`
	Low     *float64    `json:"low" doc:"Low end of the range; null where unknown" example:"3.51"`
	High    *float64    `json:"high" doc:"High end of the range; null where unknown" example:"3.53"`
	Status  calc.Status `json:"status" enum:"confirmed,computed,from_memory,practice,choice,unknown" doc:"How well the figure stands" example:"from_memory"`
	Source  string      `json:"source" doc:"Where it comes from" example:"Webster, Gems; Gem Reference Guide"`
}

// Known reports whether the figure can be used.
func (f GemFigure) Known() bool { return f.Typical != nil }

// Is returns the typical value, and whether there is one.
func (f GemFigure) Is() (float64, bool) {
	if f.Typical == nil {
		return 0, false
	}
	return *f.Typical, true
}

func fig(typical, low, high float64, status calc.Status, source string) GemFigure {
	return GemFigure{&typical, &low, &high, status, source}
}

func unknown(why string) GemFigure { return GemFigure{Status: Unknown, Source: why} }

// Kind is what a material is, to the trade.
type Kind string

// The kinds.
const (
	Natural   Kind = "natural"
	Lab       Kind = "lab"
	Simulant  Kind = "simulant"
	Glass     Kind = "glass"
	Organic   Kind = "organic"
	Assembled Kind = "assembled"
)

// Custom is what the trade does with a material in a preheated flask that
// cools slowly. It is not a promise for cold clay.
type Custom string

// The customs.
const (
	Customary    Custom = "customary"
	WithCare     Custom = "with_care"
	NotCast      Custom = "not"
	CustomUnsure Custom = "unknown"
)

// HeatEvent is something that heat does to a material.
type HeatEvent struct {
	FromC      GemFigure `json:"from_c" doc:"Temperature from which it happens, °C"`
	What       string    `json:"what" doc:"What happens" example:"oxidises in air"`
	Colour     bool      `json:"colour" doc:"true where it is the colour that changes"`
	Reversible bool      `json:"reversible" doc:"true where it returns on cooling"`
}

// Gem is one material of the catalogue.
type Gem struct {
	ID              string        `json:"id" doc:"Name in requests" example:"sapphire"`
	Name            string        `json:"name" doc:"Name in print" example:"Sapphire"`
	Kind            Kind          `json:"kind" enum:"natural,lab,simulant,glass,organic,assembled" doc:"Origin of the material"`
	AlsoLab         bool          `json:"also_lab" doc:"true where the laboratory-grown twin is kept in the same entry"`
	Formula         string        `json:"formula" doc:"Chemical formula or make-up" example:"Al2O3"`
	SpecificGravity GemFigure     `json:"specific_gravity" doc:"Density over that of water, g/cm³"`
	Hardness        GemFigure     `json:"hardness_mohs" doc:"Mohs hardness: resistance to scratching, not to heat or blows"`
	Cleavage        string        `json:"cleavage" enum:"none,poor,good,perfect,unknown" doc:"How readily it splits along crystal planes"`
	Toughness       string        `json:"toughness" enum:"poor,poor_to_fair,poor_to_good,fair,good,excellent,unknown" doc:"Resistance to breaking"`
	TableStatus     calc.Status   `json:"table_status" doc:"Standing of cleavage, toughness and change in heat; the custom of casting is common practice without a source"`
	InHeat          string        `json:"in_heat" doc:"What heat does to it" example:"colour can shift above 800 °C"`
	HeatEvents      []HeatEvent   `json:"heat_events" doc:"The changes in heat that have a temperature, lowest first"`
	Treatments      []Treatment   `json:"treatments" doc:"Treatments met with in the trade; another one may have been done"`
	Cast            Custom        `json:"cast" enum:"customary,with_care,not,unknown" doc:"Custom with preheated flasks; in cold clay see verdict_in_cold_clay"`
	InColdClay      verdict.Level `json:"verdict_in_cold_clay" enum:"go,care,cannot_tell,do_not_pour" doc:"The best verdict a clean, untreated stone of proven size can have in oil-bonded clay poured cold"`
	Pickle          string        `json:"pickle" enum:"warm_when_whole,keep_out,unknown" doc:"Whether it may go into the pickle"`
	Body            *GemBody      `json:"body,omitempty" doc:"Thermal and elastic properties at room temperature; absent where none were found"`
}

// density returns the specific gravity in g/cm³ as the mean and its range.
func (g Gem) density() (typical, low, high float64, known bool) {
	f := g.SpecificGravity
	if f.Typical == nil || f.Low == nil || f.High == nil {
		return 0, 0, 0, false
	}
	return *f.Typical, *f.Low, *f.High, true
}

// GemFilter picks from the catalogue; an absent field picks all.
type GemFilter struct {
	Kind        Kind          `json:"kind,omitempty" enum:"natural,lab,simulant,glass,organic,assembled" doc:"Origin of the material" example:"natural"`
	Verdict     verdict.Level `json:"verdict,omitempty" enum:"go,care,cannot_tell,do_not_pour" doc:"Best verdict in cold clay" example:"care"`
	HardnessMin float64       `json:"hardness_min,omitempty" minimum:"0" maximum:"10" doc:"Least Mohs hardness (low end of the range); materials of unknown hardness are left out" example:"7"`
	Text        string        `json:"text,omitempty" maxLength:"80" doc:"Words to find in the id, name, formula or behaviour in heat" example:"garnet"`
}

// List returns the materials that the filter picks.
func List(f GemFilter) ([]Gem, error) {
	var picked []Gem
	text := strings.ToLower(strings.TrimSpace(f.Text))
	for _, g := range catalogue {
		switch {
		case f.Kind != "" && g.Kind != f.Kind && !(f.Kind == Lab && g.AlsoLab),
			f.Verdict != "" && g.InColdClay != f.Verdict,
			f.HardnessMin > 0 && (g.Hardness.Low == nil || *g.Hardness.Low < f.HardnessMin),
			!strings.Contains(strings.ToLower(g.ID+"\n"+g.Name+"\n"+g.Formula+"\n"+g.InHeat), text):
			continue
		}
		picked = append(picked, g)
	}
	return picked, nil
}

// otherNames are what people call materials, by the entry that they mean.
// Where a name means several, the commonest stands first.
var otherNames = map[string][]string{
	"garnet": {"almandine", "pyrope", "rhodolite", "spessartine", "grossular"}, "red-garnet": {"almandine", "pyrope"},
	"tsavorite": {"grossular"}, "hessonite": {"grossular"}, "onyx": {"chalcedony"}, "agate": {"chalcedony"}, "carnelian": {"chalcedony"},
	"chrysoprase": {"chalcedony"}, "jasper": {"chalcedony"}, "cubic-zirconia": {"cz"}, "zirconia": {"cz"}, "quartz": {"rock-crystal"},
	"jade": {"jadeite", "nephrite"}, "lapis-lazuli": {"lapis"}, "corundum": {"sapphire"}, "blue-sapphire": {"sapphire"}, "padparadscha": {"sapphire"},
	"lab-ruby": {"corundum-lab"}, "lab-sapphire": {"corundum-lab"}, "ruby-lab": {"corundum-lab"}, "sapphire-lab": {"corundum-lab"}, "lab-diamond": {"diamond-lab"},
	"lab-emerald": {"emerald-lab"}, "lab-spinel": {"spinel-lab"}, "crystal": {"rock-crystal"}, "glass": {"glass-soda"}, "paste": {"glass-lead"}, "triplet": {"doublet"},
	"olivine": {"peridot"}, "rubellite": {"tourmaline"}, "indicolite": {"tourmaline"}, "prasiolite": {"amethyst"}, "mother-of-pearl": {"pearl"},
}

// treatedNames are names that say what was done to a stone.
var treatedNames = map[string]struct {
	gem       string
	treatment Treatment
}{
	"glass-filled-ruby": {"ruby", LeadGlassFilled}, "lead-glass-filled-ruby": {"ruby", LeadGlassFilled}, "composite-ruby": {"ruby", LeadGlassFilled},
	"clarity-enhanced-diamond": {"diamond", FractureFilled}, "filled-diamond": {"diamond", FractureFilled}, "mystic-topaz": {"topaz", Coated},
}

// Find returns a material by its id or by another name of it, or a refusal
// that leads to the entry or offers the nearest id.
func Find(id string) (Gem, error) {
	by := func(id string) int { return slices.IndexFunc(catalogue, func(g Gem) bool { return g.ID == id }) }
	if i := by(id); i >= 0 {
		return catalogue[i], nil
	}
	name := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(id)), " ", "-")
	if others, ok := otherNames[name]; ok {
		return catalogue[by(others[0])], nil
	}
	if i := by(name); i >= 0 {
		return catalogue[i], nil
	}
	if t, ok := treatedNames[name]; ok {
		return Gem{}, calc.Refuse("gem", id, "give %q, with %q under treatments", t.gem, t.treatment)
	}
	if near := calc.Nearest(name, gemIDs()); near != "" {
		return Gem{}, calc.Refuse("gem", id, "give a material of /v1/stones; did you mean %q?", near)
	}
	return Gem{}, calc.Refuse("gem", id, "give a material of /v1/stones, such as \"sapphire\" or \"diamond\"")
}

func gemIDs() []string {
	ids := make([]string, len(catalogue))
	for i, g := range catalogue {
		ids[i] = g.ID
	}
	return ids
}
