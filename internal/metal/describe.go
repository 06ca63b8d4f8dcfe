package metal

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
)

// AlloyPropertyIn asks for the properties of a metal in flat fields.
type AlloyPropertyIn struct {
	Alloy        string    `json:"alloy,omitempty" maxLength:"60" doc:"Id of a catalogue alloy (GET /v1/alloys), or leave out and give a composition" example:"silver-925"`
	Composition  string    `json:"composition,omitempty" maxLength:"200" doc:"Symbol and parts per thousand by mass in turn, summing to 1000" example:"Ag 925 Cu 75"`
	TemperatureC *float64  `json:"temperature_c,omitempty" minimum:"-50" maximum:"2200" doc:"Temperature of the properties, °C; 100 K above the liquidus when left out" example:"1000"`
	TableC       []float64 `json:"table_c,omitempty" minimum:"-50" maximum:"2200" maxItems:"60" doc:"Temperatures of the table of fraction solid, °C; eleven from the end of freezing to the liquidus when left out"`
	SolidusC     *float64  `json:"solidus_c,omitempty" minimum:"100" maximum:"2100" doc:"Your own solidus, °C, with liquidus_c: used instead of ours"`
	LiquidusC    *float64  `json:"liquidus_c,omitempty" minimum:"100" maximum:"2100" doc:"Your own liquidus, °C, with solidus_c"`
}

// AlloyIn asks for the properties of a metal.
type AlloyIn struct {
	AlloyPropertyIn
	CompositionPermil map[string]float64 `json:"composition_permil,omitempty" maxProperties:"23" doc:"Parts per thousand by mass by symbol, summing to 1000, instead of alloy or composition"`
}

// AlloyPart is an element of an alloy.
type AlloyPart struct {
	Symbol     string  `json:"symbol" doc:"Chemical symbol" example:"Ag"`
	Name       string  `json:"name" doc:"Name" example:"silver"`
	MassPermil float64 `json:"mass_permil" doc:"Parts per thousand by mass" example:"925"`
	MolePermil float64 `json:"mole_permil" doc:"Parts per thousand by atoms" example:"879"`
}

// AlloyFreezing is a row of the freezing table.
type AlloyFreezing struct {
	TemperatureC        float64  `json:"temperature_c" doc:"Temperature, °C" example:"850"`
	SolidPct            float64  `json:"solid_pct" doc:"Solid in a casting, per cent by mass: no diffusion in the solid" example:"66"`
	EquilibriumSolidPct *float64 `json:"equilibrium_solid_pct,omitempty" doc:"Solid by the lever rule of the equilibrium diagram, per cent by mass; left out where no model is known" example:"77"`
	EnthalpyKJKg        float64  `json:"enthalpy_kj_kg" doc:"Heat content above the solid at 25 °C, kJ/kg" example:"263"`
}

// AlloyFineness is a precious metal of an alloy with the marks it reaches.
type AlloyFineness struct {
	Symbol         string  `json:"symbol" doc:"Chemical symbol" example:"Ag"`
	Metal          string  `json:"metal" doc:"Metal" example:"silver"`
	FinenessPermil float64 `json:"fineness_permil" doc:"Parts per thousand by mass" example:"925"`
	Marks          []Mark  `json:"marks" doc:"Highest usual legal standard reached, by place; for information"`
}

// AlloyOut is the answer to AlloyIn.
type AlloyOut struct {
	ID                 string          `json:"id,omitempty" doc:"Id in the catalogue, when it was asked for" example:"silver-925"`
	Name               string          `json:"name" doc:"Name, or the composition" example:"Sterling silver 925"`
	Composition        string          `json:"composition" doc:"Symbol and parts per thousand by mass in turn" example:"Ag 925 Cu 75"`
	TemperatureC       float64         `json:"temperature_c" doc:"Temperature of the properties below, °C" example:"1000"`
	State              string          `json:"state" enum:"solid,freezing,liquid" doc:"State of a casting at that temperature" example:"liquid"`
	SolidusC           float64         `json:"solidus_c" doc:"Equilibrium solidus, °C" example:"803"`
	LiquidusC          float64         `json:"liquidus_c" doc:"Liquidus, °C" example:"896"`
	LiquidusBandK      float64         `json:"liquidus_band_k" doc:"Uncertainty of the liquidus, ± K; 0 for your own" example:"5"`
	RangeBasis         Basis           `json:"range_basis" enum:"assessed,element,tabulated,estimated,given" doc:"Where solidus and liquidus come from: assessed Gibbs energies, the melting point of an element, a handbook figure of this alloy, an estimate between alloys, or you" example:"assessed"`
	FreezingEndC       float64         `json:"freezing_end_c" doc:"Where the last liquid of a casting freezes, °C" example:"779"`
	EutecticPct        *float64        `json:"eutectic_pct,omitempty" doc:"Part of a casting that freezes last as a mixture of two solids, per cent by mass; left out where no model is known" example:"11.4"`
	DensityGCm3        float64         `json:"density_g_cm3" doc:"Density of the sound solid at 20 °C, g/cm³; castings run up to 2 % below by pores" example:"10.36"`
	SolidPct           float64         `json:"solid_pct" doc:"Solid in a casting at the temperature, per cent by mass" example:"0"`
	EnthalpyKJKg       float64         `json:"enthalpy_kj_kg" doc:"Heat content at the temperature above the solid as cast at 25 °C, kJ/kg" example:"377"`
	UnmixedKJKg        *float64        `json:"unmixed_kj_kg,omitempty" doc:"Further heat that a charge of the pure metals takes up in mixing (below 0: gives off), kJ/kg; left out where no model is known" example:"24"`
	LatentKJKg         float64         `json:"latent_kj_kg" doc:"Latent heat of freezing, kJ/kg" example:"107"`
	SpecificHeatSolid  float64         `json:"specific_heat_solid_kj_kgk" doc:"Mean specific heat of the solid from 25 °C to the end of freezing, kJ/(kg K)" example:"0.268"`
	SpecificHeatLiquid float64         `json:"specific_heat_liquid_kj_kgk" doc:"Specific heat of the liquid, kJ/(kg K)" example:"0.32"`
	ConductivityWMK    float64         `json:"conductivity_w_mk" doc:"Thermal conductivity at the temperature, W/(m K); solids as cast" example:"173"`
	LiquidDensityGCm3  *float64        `json:"liquid_density_g_cm3,omitempty" doc:"Density of the liquid at the temperature, g/cm³; only above the liquidus" example:"9.18"`
	SurfaceTensionNM   *float64        `json:"surface_tension_n_m,omitempty" doc:"Surface tension of the clean liquid, N/m; only above the liquidus" example:"0.94"`
	ViscosityMPaS      *float64        `json:"viscosity_mpa_s,omitempty" doc:"Viscosity of the liquid, mPa s; only above the liquidus" example:"3.9"`
	ContractionPct     float64         `json:"contraction_pct" doc:"Linear contraction of the solid to 20 °C, per cent: pattern allowance" example:"1.65"`
	ContractionLowPct  float64         `json:"contraction_low_pct" doc:"Low end of its band, per cent" example:"1.16"`
	ContractionHighPct float64         `json:"contraction_high_pct" doc:"High end of its band, per cent" example:"2.15"`
	Colour             *Colour         `json:"colour,omitempty" doc:"Computed colour of the polished metal: gold, silver, copper and up to 30 % zinc; left out for other metals"`
	AlsoKnownAs        []string        `json:"also_known_as" doc:"Catalogue alloys of gold and silver whose fineness it reaches and in whose window of elements it lies, nearest first"`
	Parts              []AlloyPart     `json:"parts" doc:"The elements, the largest part first"`
	Freezing           []AlloyFreezing `json:"freezing" doc:"How a casting freezes, by falling temperature or as asked"`
	Fineness           []AlloyFineness `json:"fineness" doc:"Precious metals and the marks they reach"`
	Uncertainty        []Band          `json:"uncertainty" doc:"The properties with their uncertainty and range of validity"`
	calc.Notes
}

// Query answers an AlloyPropertyIn; see [Describe].
func Query(ctx context.Context, in AlloyPropertyIn) (AlloyOut, error) {
	return Describe(ctx, AlloyIn{AlloyPropertyIn: in})
}

// Describe gives the properties of a metal: phases, heat, density, flow and
// fineness, each with its standing. Limits: -50 to 2200 °C; outside what the
// data cover the answer carries the caution outside_validity.
func Describe(ctx context.Context, in AlloyIn) (AlloyOut, error) {
	m, err := in.metal()
	if err != nil {
		return AlloyOut{}, err
	}
	tC := m.liquidus + 100
	if in.TemperatureC != nil {
		tC = *in.TemperatureC
	}
	out := AlloyOut{
		ID: m.ID, Name: m.Name, Composition: m.Composition.String(), TemperatureC: tC, State: m.state(tC),
		SolidusC: m.solidus, LiquidusC: m.liquidus, LiquidusBandK: m.band, RangeBasis: m.basis,
		FreezingEndC: m.end, DensityGCm3: m.DensityGCm3(),
		SolidPct: 100 * m.SolidFraction(tC), EnthalpyKJKg: m.EnthalpyKJKg(tC), LatentKJKg: m.latent,
		SpecificHeatSolid: m.CpSolidKJKgK(), SpecificHeatLiquid: m.CpLiquidKJKgK(), ConductivityWMK: m.ConductivityWMK(tC),
		Parts: []AlloyPart{}, Freezing: m.freezingTable(in.TableC), Fineness: []AlloyFineness{}, Uncertainty: m.Bands(tC),
	}
	if f, ok := m.EutecticFraction(); ok {
		f *= 100
		out.EutecticPct = &f
	}
	if h, ok := m.UnmixedKJKg(); ok {
		out.UnmixedKJKg = &h
	}
	out.ContractionPct, out.ContractionLowPct, out.ContractionHighPct = m.ContractionPct()
	if tC >= m.liquidus {
		rho, sigma, mu := m.LiquidDensityKgM3(tC)/1000, m.SurfaceTensionNM(tC), 1000*m.ViscosityPaS(tC)
		out.LiquidDensityGCm3, out.SurfaceTensionNM, out.ViscosityMPaS = &rho, &sigma, &mu
	}
	for _, p := range m.parts {
		out.Parts = append(out.Parts, AlloyPart{p.symbol, p.name, 1000 * p.mass, 1000 * p.mole})
	}
	out.AlsoKnownAs = m.Composition.Is()
	out.Notes = calc.Noting(ctx)
	if out.Colour = ColourOf(m.Composition); out.Colour != nil {
		out.Cite(ColourSources()...)
	}
	m.explain(&out.Notes, tC)
	for _, p := range m.parts {
		if !slices.Contains([]string{"Ag", "Au", "Pd", "Pt"}, p.symbol) {
			continue
		}
		// Rounded to the analyst's last digit, so that 925 is 925.
		fineness := math.Round(p.mass*1e8) / 1e5
		marks, sources := Marks(p.symbol, fineness)
		out.Fineness = append(out.Fineness, AlloyFineness{p.symbol, p.name, fineness, marks})
		out.Cite(sources...)
	}
	if len(out.Fineness) > 0 {
		out.Caution(safety.HallmarkLaw)
	}
	return out, nil
}

// metal finds the metal asked for.
func (in AlloyIn) metal() (Metal, error) {
	given := 0
	for _, yes := range [...]bool{in.Alloy != "", in.Composition != "", len(in.CompositionPermil) > 0} {
		if yes {
			given++
		}
	}
	if given != 1 {
		if given == 0 {
			return Metal{}, calc.Refuse("alloy", nil, "give one of alloy, composition or composition_permil")
		}
		return Metal{}, calc.Refuse("alloy", in.Alloy, "give only one of alloy, composition and composition_permil")
	}
	var own *MeltingRange
	switch {
	case in.SolidusC != nil && in.LiquidusC != nil:
		own = &MeltingRange{*in.SolidusC, *in.LiquidusC}
	case in.SolidusC != nil:
		return Metal{}, calc.Refuse("liquidus_c", nil, "give liquidus_c with solidus_c")
	case in.LiquidusC != nil:
		return Metal{}, calc.Refuse("solidus_c", nil, "give solidus_c with liquidus_c")
	}
	var c Composition
	switch {
	case in.Alloy != "":
		m, err := Named(in.Alloy)
		if err != nil || own == nil {
			return m, err
		}
		mine, err := Of(m.Composition, own)
		mine.ID, mine.Name = m.ID, m.Name
		return mine, err
	case in.Composition != "":
		var err error
		if c, err = ParseComposition(in.Composition); err != nil {
			return Metal{}, err
		}
	default:
		c = Composition{}
		for s, v := range in.CompositionPermil {
			c[s] = v / 1000
		}
		if _, err := c.normal(); err != nil {
			return Metal{}, renamed(err, "composition_permil")
		}
	}
	return Of(c, own)
}

// renamed moves the faults of a refusal to another field.
func renamed(err error, field string) error {
	var r *calc.Refusal
	if !errors.As(err, &r) {
		return err
	}
	moved := &calc.Refusal{Detail: r.Detail, Explain: r.Explain}
	for _, f := range r.Faults {
		f.Field = strings.Replace(f.Field, "composition", field, 1)
		moved.Faults = append(moved.Faults, f)
	}
	return moved
}

func (m Metal) state(tC float64) string {
	switch {
	case tC >= m.liquidus:
		return "liquid"
	case tC <= m.end:
		return "solid"
	}
	return "freezing"
}

// freezingTable tabulates the freezing range, at the temperatures given or at
// eleven from the liquidus down.
func (m Metal) freezingTable(at []float64) []AlloyFreezing {
	if len(at) == 0 {
		for i := range 11 {
			at = append(at, m.liquidus+(m.end-m.liquidus)*float64(i)/10)
		}
	}
	rows := []AlloyFreezing{}
	for _, t := range at {
		row := AlloyFreezing{TemperatureC: t, SolidPct: 100 * m.SolidFraction(t), EnthalpyKJKg: m.EnthalpyKJKg(t)}
		if f, ok := m.EquilibriumSolidFraction(t); ok {
			f *= 100
			row.EquilibriumSolidPct = &f
		}
		rows = append(rows, row)
	}
	return rows
}

// explain writes the working, cautions and sources.
func (m Metal) explain(n *calc.Notes, tC float64) {
	n.Step("density", m.DensityGCm3(), "g/cm³", "1/Σ(w/ρ) over %s", m.Composition)
	n.Step("solidus", m.solidus, "°C", "%s", m.basis.words())
	n.Step("liquidus", m.liquidus, "°C", "%s, ± %.0f K", m.basis.words(), m.band)
	n.Step("end of freezing in a casting", m.end, "°C", "%s", m.endWords())
	n.Step("heat of the solid, 25 °C to end of freezing", m.EnthalpyKJKg(m.end), "kJ/kg", "mean cp %.4f kJ/(kg K) × %.0f K", m.CpSolidKJKgK(), m.end-coldC)
	n.Step("latent heat", m.latent, "kJ/kg", "heat of freezing less the sensible heat between %.0f and %.0f °C", m.liquidus, m.end)
	n.Step("heat content", m.EnthalpyKJKg(tC), "kJ/kg", "at %.0f °C with %.1f %% solid", tC, 100*m.SolidFraction(tC))
	typical, _, _ := m.ContractionPct()
	n.Step("contraction", typical, "%", "mean expansion × (%.0f − 20) K", m.end)
	n.Cite(m.sources...)
	n.Cite(m.behind("expansion", func(e *element) figure { return e.expansion })...)
	n.Cite(srcShrink)
	n.Cite(m.behind("conductivity of the solid", func(e *element) figure { return e.conductHot })...)
	if len(m.parts) > 1 {
		n.Cite(srcNordh)
	}
	if tC >= m.liquidus {
		n.Cite(m.behind("density of the liquid", func(e *element) figure { return e.liquidDensity })...)
		n.Cite(m.behind("conductivity of the liquid", func(e *element) figure { return e.conductLiquid })...)
		n.Cite(m.behind("surface tension", func(e *element) figure { return e.surface })...)
		n.Cite(m.behind("viscosity", func(e *element) figure { return e.viscosity })...)
		n.Cite(srcOxygen, srcAndrade)
		if len(m.parts) > 1 {
			n.Cite(srcButler)
		}
	}
	n.Caution(m.cautions...)
	n.Caution(m.CautionsAt(tC)...)
	if tC > m.end {
		n.Caution(safety.MoltenMetal)
	}
}

func (b Basis) words() string {
	switch b {
	case Assessed:
		return "equal chemical potentials of liquid and face-centred cubic solid"
	case Element:
		return "melting point"
	case Tabulated:
		return "handbook figure of this alloy"
	case Estimated:
		return "interpolated between tabulated alloys"
	}
	return "given by you"
}

func (m Metal) endWords() string {
	switch {
	case m.like != "":
		return "as for " + m.like + ", moved with the solidus"
	case m.basis != Assessed:
		return "the solidus"
	case m.eutectic > 0:
		return "two solids freeze together, no diffusion in the solid"
	}
	return "1 % of liquid left, no diffusion in the solid"
}
