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
	Shape              section.Shape `json:"shape,omitempty" enum:"round,oval,half_round,rectangular,d,knife_edge" doc:"Way 5: form of the section of a bar or band; with thickness_mm, width_mm and either length_mm or inside_diameter_mm" example:"half_round"`
	ThicknessMM        float64       `json:"thickness_mm,omitempty" minimum:"0.1" maximum:"60" doc:"Height of the section, inside face to outside face; diameter of a round one" example:"2.4"`
	WidthMM            float64       `json:"width_mm,omitempty" minimum:"0.1" maximum:"200" doc:"Width of the section; not needed for round" example:"6"`
	LengthMM           float64       `json:"length_mm,omitempty" minimum:"0.1" maximum:"5000" doc:"Length of a straight bar or an open cuff, along its middle" example:"160"`
	InsideDiameterMM   float64       `json:"inside_diameter_mm,omitempty" minimum:"1" maximum:"500" doc:"Inside diameter of a closed round band" example:"62"`
	ProfileAtPct       []float64     `json:"profile_at_pct,omitempty" maxItems:"24" doc:"For a section that varies: places along the length, 0 to 100, rising" example:"[0,50,100]"`
	ProfileThicknessMM []float64     `json:"profile_thickness_mm,omitempty" maxItems:"24" doc:"Thickness at each of these places, in place of thickness_mm; in proportion between them" example:"[2,3,2]"`
	ProfileWidthMM     []float64     `json:"profile_width_mm,omitempty" maxItems:"24" doc:"Width at each of these places, in place of width_mm" example:"[5,8,5]"`

	PatternMesh *mesh.Pattern `json:"pattern_mesh,omitempty" doc:"Way 6: the pattern's surface as an STL file in base64 (or the file pattern_mesh of a form)"`

	StonesVolumeMM3 float64 `json:"stones_volume_mm3" minimum:"0" maximum:"2000000" default:"0" doc:"Volume of stones cast in place inside that volume, which no metal fills"`

	SprueG           *float64 `json:"sprue_g,omitempty" minimum:"0" maximum:"20000" doc:"Metal in the sprue; or give its measures" example:"8"`
	Sprues           int      `json:"sprue_count" minimum:"1" maximum:"20" default:"1" doc:"How many sprues of the measures given"`
	SprueDiameterMM  float64  `json:"sprue_diameter_mm,omitempty" minimum:"0.5" maximum:"50" doc:"Mean diameter of a sprue" example:"6"`
	SprueLengthMM    float64  `json:"sprue_length_mm,omitempty" minimum:"0.5" maximum:"500" doc:"Length of a sprue from funnel to piece" example:"25"`
	ButtonG          *float64 `json:"button_g,omitempty" minimum:"0" maximum:"20000" doc:"Metal left in the funnel (the button); or give its measures" example:"12"`
	FunnelDiameterMM float64  `json:"funnel_diameter_mm,omitempty" minimum:"1" maximum:"100" doc:"Mean diameter of the metal in the funnel" example:"18"`
	FunnelHeadMM     float64  `json:"funnel_head_mm,omitempty" minimum:"1" maximum:"200" doc:"Depth of metal kept in the funnel" example:"12"`
	VentsG           *float64 `json:"vents_g,omitempty" minimum:"0" maximum:"20000" doc:"Metal in the vents if they fill; or give their measures"`
	Vents            int      `json:"vent_count" minimum:"0" maximum:"50" default:"0" doc:"How many vents of the measures given"`
	VentDiameterMM   float64  `json:"vent_diameter_mm,omitempty" minimum:"0.2" maximum:"20" doc:"Diameter of a vent" example:"1"`
	VentLengthMM     float64  `json:"vent_length_mm,omitempty" minimum:"0.5" maximum:"500" doc:"Length of a vent" example:"30"`
	FeedPct          *float64 `json:"feed_pct,omitempty" minimum:"0" maximum:"1000" doc:"Sprue, funnel and vents together as percent of the casting; 60 if nothing else is said of them" example:"60"`
	ReserveG         float64  `json:"reserve_g" minimum:"0" maximum:"5000" default:"10" doc:"Metal beyond what should be needed: a short pour is a lost pour"`
	MeltLossPct      float64  `json:"melt_loss_pct" minimum:"0" maximum:"50" default:"1" doc:"Lost as dross, fume and drops in the crucible, percent of the melt"`

	CrucibleVolumeMM3 float64 `json:"crucible_volume_mm3,omitempty" minimum:"100" maximum:"5000000" doc:"Volume of the crucible to its brim; \"30 ml\" is understood" example:"30000"`
	CrucibleCapacityG float64 `json:"crucible_capacity_g,omitempty" minimum:"1" maximum:"50000" doc:"Mass of this metal that the crucible is made to hold" example:"250"`
	CrucibleMassG     float64 `json:"crucible_mass_g" minimum:"0" maximum:"50000" default:"0" doc:"Mass of a cold crucible that the torch must heat too; 0 leaves it to efficiency_pct"`
	CrucibleFillPct   float64 `json:"crucible_fill_pct" minimum:"1" maximum:"100" default:"80" doc:"How full a crucible may be to be carried and poured, percent of its volume"`
	FlaskCapacityG    float64 `json:"flask_capacity_g,omitempty" minimum:"1" maximum:"50000" doc:"Most metal that you will pour into this flask" example:"200"`
	FlaskInsideMM     float64 `json:"flask_inside_mm,omitempty" minimum:"10" maximum:"1000" doc:"Least width inside the flask, across the parting" example:"110"`
	ClayWallMM        float64 `json:"clay_wall_mm" minimum:"0" maximum:"100" default:"10" doc:"Clay to leave between casting and flask"`

	PourTemperatureC  float64 `json:"pour_c,omitempty" minimum:"100" maximum:"2500" doc:"Temperature of the melt at the pour; liquidus and superheat_k if absent" example:"1010"`
	SuperheatK        float64 `json:"superheat_k" minimum:"0" maximum:"500" default:"100" doc:"How far above the liquidus to pour, where pour_c is absent"`
	StartTemperatureC float64 `json:"start_temperature_c" minimum:"-20" maximum:"600" default:"20" doc:"Temperature of the cold metal"`
	Fuel              string  `json:"fuel" enum:"propane,butane,acetylene,natural_gas,electricity" default:"propane" doc:"What heats the melt"`
	FuelMJKg          float64 `json:"fuel_mj_kg,omitempty" minimum:"1" maximum:"150" doc:"Your own net heating value of the gas, MJ/kg" example:"46.3"`
	TorchKW           float64 `json:"torch_kw,omitempty" minimum:"0.05" maximum:"200" doc:"Heat that the torch or furnace gives out, kW; needed for the time" example:"6"`
	EfficiencyPct     float64 `json:"efficiency_pct" minimum:"0.5" maximum:"100" default:"10" doc:"Share of that heat which ends up in the metal (and in the crucible, where crucible_mass_g is given), percent; walls and room take the rest"`
}

// Out is what to melt and what it takes.
type Out struct {
	MeltMassG        float64 `json:"melt_mass_g" doc:"Metal to weigh out and melt" example:"75.4"`
	CastingMassG     float64 `json:"casting_mass_g" doc:"Of it, the casting itself" example:"39.7"`
	CastingMassLowG  float64 `json:"casting_mass_low_g" doc:"The casting if the pattern is as dense as its material gets"`
	CastingMassHighG float64 `json:"casting_mass_high_g" doc:"The casting if the pattern is as light as its material gets"`
	CastingVolumeMM3 float64 `json:"casting_volume_mm3" doc:"Volume that metal fills in the casting, stones taken off"`
	FeedMassG        float64 `json:"feed_mass_g" doc:"Sprue, funnel and vents"`
	SprueMassG       float64 `json:"sprue_mass_g" doc:"Of it, the sprue; 0 where feed_pct stands for all"`
	ButtonMassG      float64 `json:"button_mass_g" doc:"Of it, the funnel (button)"`
	VentsMassG       float64 `json:"vents_mass_g" doc:"Of it, the vents"`
	ReserveG         float64 `json:"reserve_g" doc:"Reserve as given"`
	LossG            float64 `json:"loss_g" doc:"Metal expected to be lost in the melt"`
	YieldPct         float64 `json:"yield_pct" doc:"Casting as percent of the melt"`
	DensityGCm3      float64 `json:"density_g_cm3" doc:"Density of the solid metal at 20 °C used here"`
	LiquidVolumeMM3  float64 `json:"liquid_volume_mm3" doc:"Volume of the melt at the pour"`
	CrucibleFullPct  float64 `json:"crucible_full_pct,omitempty,omitzero" doc:"How full the crucible is, percent of its volume or capacity; where one is given"`
	CrucibleFits     *bool   `json:"crucible_fits,omitempty" doc:"Whether that is within crucible_fill_pct of its volume, or its capacity"`
	FlaskFits        *bool   `json:"flask_fits,omitempty" doc:"Whether the flask holds the metal and, for a round band, its width with the clay wall; where a flask is given"`
	LiquidusC        float64 `json:"liquidus_c" doc:"Where the metal is all liquid"`
	PourTemperatureC float64 `json:"pour_c" doc:"Temperature of the melt at the pour"`
	HeatKJ           float64 `json:"heat_kj" doc:"Heat that the metal takes up from cold to the pour"`
	CrucibleHeatKJ   float64 `json:"crucible_heat_kj" doc:"Heat that the crucible takes up, where crucible_mass_g is given"`
	HeatGivenKJ      float64 `json:"heat_given_kj" doc:"Heat that the torch or furnace must give for both, at the efficiency stated"`
	TimeS            float64 `json:"time_s,omitempty,omitzero" doc:"Time to melt and bring to the pour, where torch_kw is given"`
	FuelG            float64 `json:"fuel_g" doc:"Gas burnt for it; 0 for electricity"`
	EnergyKWh        float64 `json:"energy_kwh" doc:"The same heat in kilowatt-hours"`
	calc.Notes
}

var (
	srcSprue      = calc.Source{For: "sprue, funnel and vents where nothing is said of them: 60 % of the casting", Text: "30 to 100 % is usual", Status: calc.Practice}
	srcReserve    = calc.Source{For: "reserve of 10 g", Text: "caster's habit", Status: calc.Practice}
	srcLoss       = calc.Source{For: "melt loss of 1 %", Text: "0.1 to 1 % for gold, 0.5 to 1 % for sterling, far more for filings and dust", Status: calc.Practice}
	srcSuperheat  = calc.Source{For: "superheat of 100 K", Text: "50 to 150 K for silver and gold alloys in small moulds", Status: calc.FromMemory}
	srcCrucible   = calc.Source{For: "crucible filled to 80 % at most", Text: "leaves room to swirl and pour", Status: calc.Practice}
	srcWall       = calc.Source{For: "10 mm of clay between casting and flask", Text: "keeps the clay from breaking out and the flask from chilling the metal", Status: calc.Practice}
	srcEfficiency = calc.Source{For: "10 % of a torch's heat in the metal", Text: "10 to 50 % is said of torches and small furnaces; measure yours: melt a known mass and weigh the gas", Status: calc.Choice}
	srcSections   = calc.Source{For: "volume of a band", Text: "Pappus: area of the section times the path of its centroid", Status: calc.Computed}
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
	v, err := in.volume(ctx, &out.Notes)
	c.Under("", err)
	in.checkRest(&c, m, v)
	f, err := in.feed()
	c.Under("", err)
	if err := c.Err(); err != nil {
		return Out{}, err
	}
	out.weigh(in, v, f)
	out.fit(in, m)
	out.heat(in, m)
	out.Cite(m.Sources()...)
	out.Caution(safety.MoltenMetal, safety.DampMould)
	if in.Fuel != "electricity" {
		out.Caution(safety.TorchGas)
	}
	out.Caution(m.Cautions()...)
	return out, nil
}

// checkRest refuses what the parts do not refuse themselves.
func (in In) checkRest(c *calc.Checks, m metal.Metal, v volume) {
	for _, n := range []struct {
		field     string
		v, lo, hi float64
		unit      string
	}{
		{"reserve_g", in.ReserveG, 0, 1e6, "g"},
		{"melt_loss_pct", in.MeltLossPct, 0, 50, "percent of the melt"},
		{"efficiency_pct", in.EfficiencyPct, 0.5, 100, "percent"},
		{"superheat_k", in.SuperheatK, 0, 500, "K"},
		{"start_temperature_c", in.StartTemperatureC, -20, 600, "°C"},
		{"crucible_fill_pct", in.CrucibleFillPct, 1, 100, "percent of its volume"},
		{"clay_wall_mm", in.ClayWallMM, 0, 1000, "mm"},
		{"stones_volume_mm3", in.StonesVolumeMM3, 0, 1e9, "mm³"},
		{"torch_kw", in.TorchKW, 0, 1000, "kW"},
		{"fuel_mj_kg", in.FuelMJKg, 0, 150, "MJ/kg"},
		{"crucible_volume_mm3", in.CrucibleVolumeMM3, 0, 1e9, "mm³"},
		{"crucible_mass_g", in.CrucibleMassG, 0, 1e6, "g"},
		{"crucible_capacity_g", in.CrucibleCapacityG, 0, 1e9, "g"},
		{"flask_capacity_g", in.FlaskCapacityG, 0, 1e9, "g"},
		{"flask_inside_mm", in.FlaskInsideMM, 0, 1e4, "mm"},
	} {
		c.Within(n.field, n.v, n.lo, n.hi, n.unit)
	}
	if _, ok := fuels[in.Fuel]; !ok && in.Fuel != "electricity" {
		c.Refuse("fuel", in.Fuel, "give propane, butane, acetylene, natural_gas or electricity")
	}
	if v.likely > 0 && in.StonesVolumeMM3 >= v.likely {
		c.Refuse("stones_volume_mm3", in.StonesVolumeMM3, "give less than the casting's own volume, %.6g mm³: stones in it leave room for metal", v.likely)
	}
	if p := in.PourTemperatureC; p != 0 && !(p >= m.LiquidusC() && p <= 2500) {
		c.Refuse("pour_c", p, "give at least the liquidus, %.0f °C, to 2500 °C: below it the melt is part solid", m.LiquidusC())
	}
	if in.StartTemperatureC >= m.SolidusC() {
		c.Refuse("start_temperature_c", in.StartTemperatureC, "give less than the solidus, %.0f °C", m.SolidusC())
	}
}

// weigh adds up the masses.
func (out *Out) weigh(in In, v volume, f feed) {
	rho := out.DensityGCm3 / 1000 // g/mm³
	out.CastingVolumeMM3 = v.likely - in.StonesVolumeMM3
	out.CastingMassG = out.CastingVolumeMM3 * rho
	out.CastingMassLowG = max(0, v.low-in.StonesVolumeMM3) * rho
	out.CastingMassHighG = max(0, v.high-in.StonesVolumeMM3) * rho
	if in.StonesVolumeMM3 > 0 {
		out.Step("volume without stones", out.CastingVolumeMM3, "mm³", "%.6g mm³ − %.6g mm³", v.likely, in.StonesVolumeMM3)
	}
	out.Step("casting mass", out.CastingMassG, "g", "V × ρ = %.5g cm³ × %.4g g/cm³", out.CastingVolumeMM3/1000, out.DensityGCm3)

	out.SprueMassG, out.ButtonMassG, out.VentsMassG = f.sprue.grams(rho), f.button.grams(rho), f.vents.grams(rho)
	out.FeedMassG = out.SprueMassG + out.ButtonMassG + out.VentsMassG
	if f.ofCasting > 0 {
		out.FeedMassG = out.CastingMassG * f.ofCasting / 100
		out.Step("sprue, funnel and vents", out.FeedMassG, "g", "%g %% of the casting", f.ofCasting)
	} else {
		out.Step("sprue, funnel and vents", out.FeedMassG, "g", "sprue %.4g g + funnel %.4g g + vents %.4g g", out.SprueMassG, out.ButtonMassG, out.VentsMassG)
	}
	if f.assumed {
		out.Cite(srcSprue)
		out.Warn("feed_assumed", calc.Note, "Sprue, funnel and vents are taken as %g %% of the casting. Give their measures or mass for a better figure.", f.ofCasting)
	}
	sound := out.CastingMassG + out.FeedMassG + in.ReserveG
	out.MeltMassG = sound / (1 - in.MeltLossPct/100)
	out.LossG = out.MeltMassG - sound
	out.YieldPct = 100 * out.CastingMassG / out.MeltMassG
	out.Step("melt", out.MeltMassG, "g", "(casting %.5g g + feed %.5g g + reserve %g g) / (1 − %g %%)", out.CastingMassG, out.FeedMassG, in.ReserveG, in.MeltLossPct)
	out.Step("yield", out.YieldPct, "%", "casting / melt")
	if in.ReserveG == 10 {
		out.Cite(srcReserve)
	}
	if in.MeltLossPct == 1 {
		out.Cite(srcLoss)
	}
	if doubt := out.CastingMassHighG - out.CastingMassG; doubt > in.ReserveG {
		out.Warn("pattern_density_uncertain", calc.Care, "The pattern's density is known only so well that the casting may take %.3g g more, which the reserve of %g g does not cover. Weigh the pattern in water, or raise the reserve.", doubt, in.ReserveG)
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
