package metal

import (
	"math"
	"slices"
	"strings"
	"sync"

	"pourwright/internal/calc"
)

// AlloyFilter picks alloys from the catalogue.
type AlloyFilter struct {
	Metal          string  `json:"metal,omitempty" enum:"silver,gold,copper,tin,solder,element" doc:"Kind of metal" example:"silver"`
	FinenessPermil float64 `json:"fineness_permil,omitempty" minimum:"0" maximum:"1000" doc:"Least fineness of the alloy's main precious metal, parts per thousand" example:"900"`
	Text           string  `json:"text,omitempty" maxLength:"60" doc:"Words to find in the id, name or composition" example:"rose"`
}

// AlloyEntry is an alloy of the catalogue.
type AlloyEntry struct {
	ID               string        `json:"id" doc:"Id, as other calculations take it" example:"silver-925"`
	Name             string        `json:"name" doc:"Name" example:"Sterling silver 925"`
	Metal            string        `json:"metal" enum:"silver,gold,copper,tin,solder,element" doc:"Kind of metal" example:"silver"`
	Composition      string        `json:"composition" doc:"Symbol and parts per thousand by mass in turn" example:"Ag 925 Cu 75"`
	FinenessPermil   float64       `json:"fineness_permil" doc:"Fineness in its main precious metal, parts per thousand; 0 if none" example:"925"`
	DensityGCm3      float64       `json:"density_g_cm3" doc:"Density of the solid at 20 °C, g/cm³" example:"10.36"`
	SolidusC         float64       `json:"solidus_c" doc:"Equilibrium solidus, °C" example:"803"`
	LiquidusC        float64       `json:"liquidus_c" doc:"Liquidus, °C" example:"896"`
	LiquidusBandK    float64       `json:"liquidus_band_k" doc:"Uncertainty of the liquidus, ± K" example:"5"`
	RangeBasis       Basis         `json:"range_basis" enum:"assessed,element,tabulated,estimated" doc:"Where solidus and liquidus come from" example:"assessed"`
	FreezingEndC     float64       `json:"freezing_end_c" doc:"Where the last liquid of a casting freezes, °C" example:"779"`
	LatentKJKg       float64       `json:"latent_kj_kg" doc:"Latent heat, kJ/kg" example:"107"`
	HandbookSolidus  *float64      `json:"handbook_solidus_c,omitempty" doc:"Handbook solidus, °C, where one was found: a check on a computed one" example:"802"`
	HandbookLiquidus *float64      `json:"handbook_liquidus_c,omitempty" doc:"Handbook liquidus, °C" example:"893"`
	Window           string        `json:"window" doc:"What the alloying elements may be for a charge to be this alloy, parts per thousand by mass; empty where there is no such rule" example:"Ag 100-170, Cu 80-150, Zn 0-20"`
	Colour           *Colour       `json:"colour,omitempty" doc:"Computed colour of the polished metal; left out where it is not known"`
	Cautions         []string      `json:"cautions" doc:"Codes of its cautions; POST /v1/alloys gives them in full"`
	Sources          []calc.Source `json:"sources" doc:"Where composition and melting range come from"`
}

// entries are the catalogue's answers, made once.
var entries = sync.OnceValues(func() ([]AlloyEntry, error) {
	list := make([]AlloyEntry, 0, len(catalogue))
	for _, a := range catalogue {
		m, err := Named(a.id)
		if err != nil {
			return nil, err
		}
		list = append(list, a.entry(m))
	}
	return list, nil
})

func (a alloy) entry(m Metal) AlloyEntry {
	made := *a.made
	made.For = "composition of " + a.name
	e := AlloyEntry{
		ID: a.id, Name: a.name, Metal: a.kind, Composition: m.Composition.String(), FinenessPermil: m.fineness(),
		DensityGCm3: m.DensityGCm3(), SolidusC: m.solidus, LiquidusC: m.liquidus, LiquidusBandK: m.band,
		RangeBasis: m.basis, FreezingEndC: m.end, LatentKJKg: m.latent, Cautions: []string{}, Sources: []calc.Source{made},
	}
	if w, ok := WindowOf(a.id); ok {
		e.Window = w.String()
		e.Sources = append(e.Sources, w.Source)
	}
	if e.Colour = ColourOf(m.Composition); e.Colour != nil {
		e.Sources = append(e.Sources, ColourSources()...)
	}
	for _, c := range m.cautions {
		e.Cautions = append(e.Cautions, c.Code)
	}
	e.Sources = append(e.Sources, m.sources[0])
	if a.liquidus.value != 0 {
		solidus, liquidus := a.solidus.value, a.liquidus.value
		e.HandbookSolidus, e.HandbookLiquidus = &solidus, &liquidus
		if m.basis != Tabulated {
			s := *a.liquidus.source
			s.For = "handbook melting range"
			if a.solidus.source != a.liquidus.source {
				other := *a.solidus.source
				s.For, other.For = "handbook liquidus", "handbook solidus"
				e.Sources = append(e.Sources, other)
			}
			e.Sources = append(e.Sources, s)
		}
	}
	return e
}

// fineness returns the parts per thousand of the most precious metal: gold
// before platinum, palladium and silver.
func (m Metal) fineness() float64 {
	for _, s := range [...]string{"Au", "Pt", "Pd", "Ag"} {
		// A white gold is a gold, a trace of gold in silver is not.
		if w := m.Composition[s]; w >= 0.3 {
			return math.Round(w*1e6) / 1e3
		}
	}
	return 0
}

// List returns the alloys that the filter picks.
func List(f AlloyFilter) ([]AlloyEntry, error) {
	all, err := entries()
	if err != nil {
		return nil, err
	}
	picked := []AlloyEntry{}
	for _, e := range all {
		text := strings.ToLower(e.ID + "\n" + e.Name + "\n" + e.Composition)
		if f.Metal != "" && e.Metal != f.Metal || e.FinenessPermil < f.FinenessPermil ||
			!strings.Contains(text, strings.ToLower(strings.TrimSpace(f.Text))) {
			continue
		}
		picked = append(picked, e)
	}
	return picked, nil
}

// Find returns the alloy of that id, or a refusal that offers the nearest.
func Find(id string) (AlloyEntry, error) {
	all, err := entries()
	if err != nil {
		return AlloyEntry{}, err
	}
	if i := slices.IndexFunc(all, func(e AlloyEntry) bool { return e.ID == id }); i >= 0 {
		return all[i], nil
	}
	_, err = Named(id)
	return AlloyEntry{}, err
}
