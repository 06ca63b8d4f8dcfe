// Package melt finds how much metal to melt for a casting, and the heat, time
// and gas that take it to the pour.
package melt

import (
	"context"

	"pourwright/internal/calc"
	"pourwright/internal/mesh"
	"pourwright/internal/metal"
	"pourwright/internal/safety"
	"pourwright/internal/section"
)

// In says what is cast, in one of five ways, and what is melted with it.
type In struct {
	Alloy       string   `json:"alloy,omitempty" maxLength:"200" doc:"The metal, an id of the list of alloys; or leave it out and give composition" example:"silver-925"`
	Composition string   `json:"composition,omitempty" maxLength:"200" doc:"Symbol and parts per thousand by mass in turn, summing to 1000" example:"Ag 935 Cu 55 Zn 10"`
	SolidusC    *float64 `json:"solidus_c,omitempty" minimum:"100" maximum:"2100" doc:"Your own solidus, with liquidus_c, in place of ours" example:"802"`
	LiquidusC   *float64 `json:"liquidus_c,omitempty" minimum:"100" maximum:"2100" doc:"Your own liquidus, with solidus_c" example:"893"`

	VolumeMM3          float64       `json:"volume_mm3,omitempty" minimum:"0.1" maximum:"2000000" doc:"Way 1: volume of the casting without sprue" example:"4200"`
	PatternMassG       float64       `json:"pattern_mass_g,omitempty" minimum:"0.01" maximum:"20000" doc:"Way 2: mass of the pattern; with pattern_material or pattern_density_g_cm3" example:"3.9"`
	PatternMaterial    string        `json:"pattern_material,omitempty" enum:"wax,printed_resin,pla,abs,polystyrene,lime_wood,pear_wood,maple_wood,birch_wood,beech_wood,box_wood,brass,bronze,copper,silver_925,tin,lead,aluminium,steel" doc:"What the pattern is made of" example:"wax"`
	PatternDensityGCm3 float64       `json:"pattern_density_g_cm3,omitempty" minimum:"0.01" maximum:"25" doc:"Your own density of the pattern, in place of pattern_material" example:"1.09"`
	DisplacedWaterG    float64       `json:"displaced_water_g,omitempty" minimum:"0.01" maximum:"20000" doc:"Way 3: mass of water that the pattern displaces: what overflows, or what a balance under the beaker gains while the pattern hangs in the water by a thread" example:"4.05"`
	WaterTemperatureC  float64       `json:"water_temperature_c" minimum:"0" maximum:"40" default:"20" doc:"Temperature of that water"`
	WaterRiseMM3       float64       `json:"water_rise_mm3,omitempty" minimum:"0.1" maximum:"2000000" doc:"Way 4: rise read in a measuring cylinder; \"4.1 ml\" is understood" example:"4100"`
	Shape              section.Shape `json:"shape,omitempty" enum:"round,oval,half_round,rectangular,d,knife_edge,comfort" doc:"Way 5: form of the section of a bar or band; with thickness_mm, width_mm and either length_mm or inside_diameter_mm" example:"half_round"`
	ThicknessMM        float64       `json:"thickness_mm,omitempty" minimum:"0.1" maximum:"60" doc:"Height of the section, inside face to outside face; diameter of a round one" example:"2.4"`
	WidthMM            float64       `json:"width_mm,omitempty" minimum:"0.1" maximum:"200" doc:"Width of the section; not needed for round" example:"6"`
	LengthMM           float64       `json:"length_mm,omitempty" minimum:"0.1" maximum:"5000" doc:"Length of a straight bar or an open cuff, along its middle" example:"160"`
	InsideDiameterMM   float64       `json:"inside_diameter_mm,omitempty" minimum:"1" maximum:"500" doc:"Inside diameter of a closed round band" example:"62"`
	ProfileAtPct       []float64     `json:"profile_at_pct,omitempty" minimum:"0" maximum:"100" maxItems:"24" doc:"For a section that varies: places along the length, 0 to 100, rising" example:"[0,50,100]"`
	ProfileThicknessMM []float64     `json:"profile_thickness_mm,omitempty" minimum:"0.1" maximum:"60" maxItems:"24" doc:"Thickness at each of these places, in place of thickness_mm; in proportion between them" example:"[2,3,2]"`
	ProfileWidthMM     []float64     `json:"profile_width_mm,omitempty" minimum:"0.1" maximum:"200" maxItems:"24" doc:"Width at each of these places, in place of width_mm" example:"[5,8,5]"`

	PatternMesh *mesh.Pattern `json:"pattern_mesh,omitempty" doc:"Way 6: the pattern's surface as an STL file in base64 (or the file pattern_mesh of a form)"`

	Castings        int     `json:"castings" minimum:"1" maximum:"24" default:"1" doc:"How many castings of that volume hang on one sprue and are fed by one button"`
	StonesVolumeMM3 float64 `json:"stones_volume_mm3" minimum:"0" maximum:"2000000" default:"0" doc:"Volume of stones cast in place inside that volume, which no metal fills, in one casting"`

	SprueG           *float64 `json:"sprue_g,omitempty" minimum:"0" maximum:"20000" doc:"Metal in the sprue; or give its measures. If absent, as the feeding needs" example:"8"`
	Sprues           int      `json:"sprue_count" minimum:"1" maximum:"20" default:"1" doc:"How many sprues of the measures given"`
	SprueDiameterMM  float64  `json:"sprue_diameter_mm,omitempty" minimum:"0.5" maximum:"50" doc:"Mean diameter of a sprue" example:"6"`
	SprueLengthMM    float64  `json:"sprue_length_mm,omitempty" minimum:"0.5" maximum:"500" doc:"Length of a sprue from funnel to piece" example:"25"`
	ButtonG          *float64 `json:"button_g,omitempty" minimum:"0" maximum:"20000" doc:"Metal left in the funnel (the button), which is the reserve; or give its measures. If absent, as the feeding needs: about 10 g of silver, 0.6 to 1 cm³ of gold" example:"12"`
	FunnelDiameterMM float64  `json:"funnel_diameter_mm,omitempty" minimum:"1" maximum:"100" doc:"Mean diameter of the metal in the funnel" example:"18"`
	FunnelHeadMM     float64  `json:"funnel_head_mm,omitempty" minimum:"1" maximum:"200" doc:"Depth of metal kept in the funnel" example:"12"`
	VentsG           *float64 `json:"vents_g,omitempty" minimum:"0" maximum:"20000" doc:"Metal in the vents if they fill; or give their measures. If absent, two of a needle's width"`
	Vents            *int     `json:"vent_count,omitempty" minimum:"0" maximum:"50" doc:"How many vents of the measures given; 0 for none" example:"2"`
	VentDiameterMM   float64  `json:"vent_diameter_mm,omitempty" minimum:"0.2" maximum:"20" doc:"Diameter of a vent" example:"1"`
	VentLengthMM     float64  `json:"vent_length_mm,omitempty" minimum:"0.5" maximum:"500" doc:"Length of a vent" example:"30"`
	FeedPct          *float64 `json:"feed_pct,omitempty" minimum:"0" maximum:"1000" doc:"Sprue, funnel and vents together as percent of the casting, in place of their measures" example:"60"`
	ReserveG         float64  `json:"reserve_g" minimum:"0" maximum:"5000" default:"0" doc:"Metal to melt beyond the button, which is the reserve already"`
	MetalAtHandG     *float64 `json:"metal_at_hand_g,omitempty" minimum:"0" maximum:"50000" doc:"What there is of this metal, such as a client's own gold: says what is missing and what it is enough for" example:"12"`
	MeltLossPct      float64  `json:"melt_loss_pct" minimum:"0" maximum:"50" default:"1" doc:"Lost as dross, fume and drops in the crucible, percent of the melt"`

	CrucibleVolumeMM3 float64 `json:"crucible_volume_mm3,omitempty" minimum:"100" maximum:"5000000" doc:"Volume of the crucible to its brim; \"30 ml\" is understood" example:"30000"`
	CrucibleCapacityG float64 `json:"crucible_capacity_g,omitempty" minimum:"1" maximum:"50000" doc:"Mass of this metal that the crucible is made to hold" example:"250"`
	CrucibleMassG     float64 `json:"crucible_mass_g" minimum:"0" maximum:"50000" default:"0" doc:"Mass of the cold dish or crucible, which takes no more heat than it can hold; 0 for a dish that is thick against a few minutes of heat"`
	CrucibleFillPct   float64 `json:"crucible_fill_pct" minimum:"1" maximum:"100" default:"80" doc:"How full a crucible may be to be carried and poured, percent of its volume"`
	FlaskCapacityG    float64 `json:"flask_capacity_g,omitempty" minimum:"1" maximum:"50000" doc:"Most metal that you will pour into this flask" example:"200"`
	FlaskInsideMM     float64 `json:"flask_inside_mm,omitempty" minimum:"10" maximum:"1000" doc:"Least width inside the flask, across the parting" example:"110"`
	ClayWallMM        float64 `json:"clay_wall_mm" minimum:"0" maximum:"100" default:"10" doc:"Clay to leave between casting and flask"`

	PourTemperatureC  float64  `json:"pour_c,omitempty" minimum:"100" maximum:"2500" doc:"Temperature of the melt at the pour; liquidus and superheat_k if absent" example:"1010"`
	SuperheatK        float64  `json:"superheat_k" minimum:"0" maximum:"500" default:"100" doc:"How far above the liquidus to pour, where pour_c is absent"`
	StartTemperatureC float64  `json:"start_temperature_c" minimum:"-20" maximum:"600" default:"20" doc:"Temperature of the cold metal"`
	Fuel              string   `json:"fuel" enum:"propane,butane,acetylene,natural_gas,electricity" default:"propane" doc:"What heats the melt"`
	FuelMJKg          float64  `json:"fuel_mj_kg,omitempty" minimum:"1" maximum:"150" doc:"Your own net heating value of the gas, MJ/kg" example:"46.3"`
	Tip               string   `json:"tip,omitempty" enum:"small,medium,large" doc:"Tip of the torch, where torch_kw is not known; the one usual for that much metal if absent" example:"medium"`
	TorchKW           float64  `json:"torch_kw,omitempty" minimum:"0.05" maximum:"200" doc:"Heat that the torch or furnace gives out, kW: gas burnt by its heating value" example:"4"`
	EfficiencyPct     *float64 `json:"efficiency_pct,omitempty" minimum:"0.5" maximum:"100" doc:"Your own share of that heat which enters metal and dish, percent, by a melt that you timed; 8 to 12 for a torch if absent" example:"10"`
}

// Out is what to melt and what it takes.
type Out struct {
	MeltMassG        float64     `json:"melt_mass_g" doc:"Metal to weigh out and melt" example:"75.4"`
	CastingMassG     float64     `json:"casting_mass_g" doc:"Of it, the casting itself, or all castings" example:"39.7"`
	CastingMassLowG  float64     `json:"casting_mass_low_g" doc:"The casting if the pattern is as dense as its material gets"`
	CastingMassHighG float64     `json:"casting_mass_high_g" doc:"The casting if the pattern is as light as its material gets"`
	CastingVolumeMM3 float64     `json:"casting_volume_mm3" doc:"Volume that metal fills in the casting, stones taken off"`
	FeedMassG        float64     `json:"feed_mass_g" doc:"Sprue, funnel and vents"`
	SprueMassG       float64     `json:"sprue_mass_g" doc:"Of it, the sprue; 0 where feed_pct stands for all"`
	ButtonMassG      float64     `json:"button_mass_g" doc:"Of it, the button in the funnel, which is the reserve"`
	VentsMassG       float64     `json:"vents_mass_g" doc:"Of it, the vents"`
	ReserveG         float64     `json:"reserve_g" doc:"Metal beyond the button, as given"`
	LossG            float64     `json:"loss_g" doc:"Metal expected to be lost in the melt"`
	YieldPct         float64     `json:"yield_pct" doc:"Casting as percent of the melt"`
	DensityGCm3      float64     `json:"density_g_cm3" doc:"Density of the solid metal at 20 °C used here"`
	LiquidVolumeMM3  float64     `json:"liquid_volume_mm3" doc:"Volume of the melt at the pour"`
	CrucibleFullPct  float64     `json:"crucible_full_pct,omitempty,omitzero" doc:"How full the crucible is, percent of its volume or capacity; where one is given"`
	CrucibleFits     *bool       `json:"crucible_fits,omitempty" doc:"Whether that is within crucible_fill_pct of its volume, or its capacity"`
	FlaskFits        *bool       `json:"flask_fits,omitempty" doc:"Whether the flask holds the metal and, for a round band, its width with the clay wall; where a flask is given"`
	LiquidusC        float64     `json:"liquidus_c" doc:"Where the metal is all liquid"`
	PourTemperatureC float64     `json:"pour_c" doc:"Temperature of the melt at the pour"`
	HeatKJ           float64     `json:"heat_kj" doc:"Heat that the metal takes up from cold to the pour"`
	CrucibleHeatKJ   float64     `json:"crucible_heat_kj" doc:"Heat that dish or crucible takes up meanwhile"`
	LostHeatKJ       float64     `json:"lost_heat_kj" doc:"Heat that metal and dish lose to the room meanwhile"`
	HeatGivenKJ      float64     `json:"heat_given_kj" doc:"Heat that the torch or furnace gives out for it"`
	TimeS            float64     `json:"time_s,omitempty,omitzero" doc:"Time to melt and bring to the pour from cold; absent where the heat is too little to get there"`
	TimeLowS         float64     `json:"time_low_s,omitempty,omitzero" doc:"The same with the most heat to expect of the tip and the hand"`
	TimeHighS        float64     `json:"time_high_s,omitempty,omitzero" doc:"The same with the least; absent where that never gets there"`
	Tip              string      `json:"tip,omitempty" doc:"Tip reckoned with, where torch_kw was not given"`
	FuelG            float64     `json:"fuel_g" doc:"Gas burnt for it; 0 for electricity"`
	EnergyKWh        float64     `json:"energy_kwh" doc:"The same heat in kilowatt-hours"`
	Channels         *Channels   `json:"channels,omitempty" doc:"Sprue, funnel and vents as the feeding needs them, for what was not given"`
	ShortG           float64     `json:"short_g,omitempty,omitzero" doc:"Metal missing from metal_at_hand_g"`
	CastingPossibleG *float64    `json:"casting_possible_g,omitempty" doc:"The largest casting that metal_at_hand_g is enough for, with the channels of the least metal; 0 where it is enough for none"`
	LeastMetal       *LeastMetal `json:"least_metal,omitempty" doc:"The same casting with the least metal a careful hand may dare, where that is less"`
	calc.Notes
}

var (
	srcLoss      = calc.Source{For: "melt loss of 1 %", Text: "0.1 to 1 % for gold, 0.5 to 1 % for sterling, far more for filings and dust", Status: calc.Practice}
	srcSuperheat = calc.Source{For: "superheat of 100 K", Text: "50 to 150 K for silver and gold alloys in small moulds", Status: calc.FromMemory}
	srcCrucible  = calc.Source{For: "crucible filled to 80 % at most", Text: "leaves room to swirl and pour", Status: calc.Practice}
	srcWall      = calc.Source{For: "10 mm of clay between casting and flask", Text: "keeps the clay from breaking out and the flask from chilling the metal", Status: calc.Practice}
	srcSections  = calc.Source{For: "volume of a band", Text: "Pappus: area of the section times the path of its centroid", Status: calc.Computed}
)

// Plan returns the metal to melt for a casting; see [PlanFor].
func Plan(ctx context.Context, in In) (Out, error) {
	m, err := in.metal()
	if err != nil {
		return Out{}, err
	}
	return PlanFor(ctx, in, m)
}

// metal finds the metal by name or composition, with the caller's own melting
// range if there is one.
func (in In) metal() (metal.Metal, error) {
	if (in.Alloy == "") == (in.Composition == "") {
		return metal.Metal{}, calc.Refuse("alloy", nil, "give either alloy, such as silver-925, or composition")
	}
	if (in.SolidusC == nil) != (in.LiquidusC == nil) {
		return metal.Metal{}, calc.Refuse("liquidus_c", nil, "give solidus_c and liquidus_c together, or neither")
	}
	var own *metal.MeltingRange
	if in.SolidusC != nil {
		own = &metal.MeltingRange{SolidusC: *in.SolidusC, LiquidusC: *in.LiquidusC}
	}
	if in.Composition != "" {
		c, err := metal.ParseComposition(in.Composition)
		if err != nil {
			return metal.Metal{}, err
		}
		return metal.Of(c, own)
	}
	m, err := metal.Named(in.Alloy)
	if err != nil || own == nil {
		return m, err
	}
	return metal.Of(m.Composition, own)
}

// PlanFor returns the metal to melt for a casting of m; what in says of the metal is not read.
//
// The casting is its volume times the density of the solid metal at 20 °C.
// Where the volume is a pattern's, the cold casting is lighter by three times
// the linear contraction, about 5 %; that is left in, so as not to fall short.
// Heat is the rise in enthalpy of the whole melt. Errors are refusals.
func PlanFor(ctx context.Context, in In, m metal.Metal) (Out, error) {
	out := Out{Notes: calc.Noting(ctx), DensityGCm3: m.DensityGCm3(), LiquidusC: m.LiquidusC(), ReserveG: in.ReserveG}
	var c calc.Checks
	c.Bounds(in)
	if err := c.Err(); err != nil {
		return Out{}, err
	}
	v, err := in.volume(ctx, &out.Notes)
	c.Under("", err)
	in.checkRest(&c, m, v)
	f, err := in.feed(Usual(m, v.likely-in.StonesVolumeMM3, in.thickest(), in.Castings))
	c.Under("", err)
	if err := c.Err(); err != nil {
		return Out{}, err
	}
	out.weigh(in, v, f)
	out.least(in, v, m)
	out.fit(in, m)
	out.heat(in, m)
	out.Cite(m.Sources()...)
	out.caution(in, m)
	return out, nil
}

// caution gives the cautions of the melt that apply to it.
func (out *Out) caution(in In, m metal.Metal) {
	out.Caution(safety.MoltenMetal, safety.DampMould, safety.Crucible)
	if in.Fuel != "electricity" {
		out.Caution(safety.TorchGas)
	}
	if m.Composition["Ag"] > 0.5 && m.Composition["Cu"] > 0.02 {
		out.Caution(safety.FireStain)
	}
	out.Caution(m.Cautions()...)
	const rough, ruinous = 150, 300 // K over the liquidus; common practice
	switch over := out.PourTemperatureC - out.LiquidusC; {
	case over > ruinous:
		out.Warn("overheated", calc.Danger, "%.0f °C is %.0f K over the liquidus: the metal drinks gas, zinc and copper burn off, dish and clay fail, and a spill burns the worse. Pour within 50 to 150 K of it.", out.PourTemperatureC, over)
	case over > rough:
		out.Warn("overheated", calc.Care, "%.0f °C is %.0f K over the liquidus: over 150 K the metal drinks gas and the skin comes out rough and porous.", out.PourTemperatureC, over)
	case over < 40:
		out.Warn("cold_pour", calc.Care, "%.0f °C is only %.0f K over the liquidus: the metal may freeze before the mould is full. 50 to 150 K is usual.", out.PourTemperatureC, over)
	}
}

// checkRest refuses what the parts do not refuse themselves.
func (in In) checkRest(c *calc.Checks, m metal.Metal, v volume) {
	if v.likely > 0 && in.StonesVolumeMM3 >= v.likely {
		c.Refuse("stones_volume_mm3", in.StonesVolumeMM3, "give less than the casting's own volume, %.6g mm³: stones in it leave room for metal", v.likely)
	}
	if p := in.PourTemperatureC; p != 0 && p < m.LiquidusC() {
		c.Refuse("pour_c", p, "give at least the liquidus, %.0f °C: below it the melt is part solid", m.LiquidusC())
	}
	if in.StartTemperatureC >= m.SolidusC() {
		c.Refuse("start_temperature_c", in.StartTemperatureC, "give less than the solidus, %.0f °C", m.SolidusC())
	}
}

// fit compares the melt with the crucible and the flask.
func (out *Out) fit(in In, m metal.Metal) {
	out.PourTemperatureC = in.PourTemperatureC
	if out.PourTemperatureC == 0 {
		out.PourTemperatureC = out.LiquidusC + in.SuperheatK
		out.Step("pour temperature", out.PourTemperatureC, "°C", "liquidus %.5g °C + superheat %g K", out.LiquidusC, in.SuperheatK)
		if in.SuperheatK == 100 {
			out.Cite(srcSuperheat)
		}
	}
	rho := m.LiquidDensityKgM3(out.PourTemperatureC)
	out.LiquidVolumeMM3 = out.MeltMassG * 1e6 / rho
	out.Step("volume of the melt", out.LiquidVolumeMM3, "mm³", "m / ρ = %.5g g / %.5g g/cm³ at the pour", out.MeltMassG, rho/1000)

	if in.CrucibleVolumeMM3 > 0 || in.CrucibleCapacityG > 0 {
		fits := true
		if in.CrucibleVolumeMM3 > 0 {
			out.CrucibleFullPct = 100 * out.LiquidVolumeMM3 / in.CrucibleVolumeMM3
			fits = out.CrucibleFullPct <= in.CrucibleFillPct
			out.Cite(srcCrucible)
		}
		if in.CrucibleCapacityG > 0 {
			full := 100 * out.MeltMassG / in.CrucibleCapacityG
			out.CrucibleFullPct = max(out.CrucibleFullPct, full)
			fits = fits && full <= 100
		}
		out.CrucibleFits = &fits
		if !fits {
			out.Warn("crucible_too_small", calc.Danger, "The crucible would be %.0f %% full. Metal spills from an overfull crucible: take a larger one.", out.CrucibleFullPct)
		}
	}
	out.fitFlask(in)
}

func (out *Out) fitFlask(in In) {
	poured := out.CastingMassG + out.FeedMassG
	fits, given := true, false
	if in.FlaskCapacityG > 0 {
		given, fits = true, poured <= in.FlaskCapacityG
		if !fits {
			out.Warn("flask_over_capacity", calc.Care, "Casting and feed take %.4g g, more than the %g g meant for this flask.", poured, in.FlaskCapacityG)
		}
	}
	if in.FlaskInsideMM > 0 && in.InsideDiameterMM > 0 {
		given = true
		across := in.InsideDiameterMM + 2*in.thickest() + 2*in.ClayWallMM
		out.Cite(srcWall)
		out.Step("width needed in the flask", across, "mm", "%g mm inside + 2 × %g mm + 2 × %g mm of clay", in.InsideDiameterMM, in.thickest(), in.ClayWallMM)
		if across > in.FlaskInsideMM {
			fits = false
			out.Warn("flask_too_narrow", calc.Care, "The band with %g mm of clay around it is %.4g mm across; the flask is %g mm.", in.ClayWallMM, across, in.FlaskInsideMM)
		}
	}
	if given {
		out.FlaskFits = &fits
	}
}
