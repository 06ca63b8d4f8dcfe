package melt

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/schema"
	"pourwright/internal/section"
)

// sterling is an input with the defaults.
func sterling() In {
	in := calc.Default[In]()
	in.Alloy = "silver-925"
	return in
}

// bare adds nothing to the casting.
func bare() In {
	in := sterling()
	none := 0.0
	in.FeedPct, in.ReserveG, in.MeltLossPct = &none, 0, 0
	return in
}

func plan(t require.TestingT, in In) Out {
	out, err := Plan(context.Background(), in)
	require.NoError(t, err)
	return out
}

func TestWaterDensity(t *testing.T) {
	const (
		lastDigit = 0.0100001 // kg/m³: the table has five digits of kg/l and is older than the formula
		kell      = 0.01      // kg/m³: scales of 1968 and 1990 differ by 0.01 K at 40 °C, 0.004 kg/m³
	)
	for _, c := range []struct{ t, rho float64 }{ // ISO 4064, annex, density of water, as copied in a public program
		{4, 999.97}, {5, 999.96}, {8, 999.85}, {10, 999.70}, {15, 999.10}, {18, 998.60}, {20, 998.20}, {21, 997.99}, {22, 997.77}, {23, 997.54},
	} {
		require.InDelta(t, c.rho, WaterDensityKgM3(c.t), lastDigit, "%g °C", c.t)
	}
	// G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, as quoted by F. E. Jones
	// and G. L. Harris, J. Res. NIST 97 (1992) 335, equation 1.
	for T := 0.0; T <= 40; T += 2.5 {
		rho := (999.83952 + T*(16.945176+T*(-7.9870401e-3+T*(-46.170461e-6+T*(105.56302e-9-280.54253e-12*T))))) / (1 + 16.879850e-3*T)
		require.InDelta(t, rho, WaterDensityKgM3(T), kell, "%g °C", T)
	}
	require.InDelta(t, 999.974950, WaterDensityKgM3(3.983035), 1e-9) // the maximum, by construction
	require.True(t, math.IsNaN(WaterDensityKgM3(40.1)))
}

func TestPatternMass(t *testing.T) {
	in := bare()
	// A caster's page: 0.56 g of resin of 1.09 g/cm³ gives 5.32 g of sterling at 10.36.
	in.PatternMassG, in.PatternDensityGCm3 = 0.56, 1.09
	require.InDelta(t, 5.32, plan(t, in).CastingMassG, 0.005) // last printed digit
	// The trade's rule: wax of density 1, times the density of the metal.
	in.PatternMassG, in.PatternDensityGCm3 = 5, 1
	require.InDelta(t, 5*10.36, plan(t, in).CastingMassG, 5*0.005)
	in.PatternDensityGCm3, in.PatternMaterial = 0, "wax"
	out := plan(t, in)
	require.InDelta(t, 5*10.36/0.96, out.CastingMassG, 5*0.005)
	require.Less(t, out.CastingMassLowG, out.CastingMassG)
	require.Greater(t, out.CastingMassHighG, out.CastingMassG)
}

func TestDisplacedWater(t *testing.T) {
	in := bare()
	in.DisplacedWaterG, in.WaterTemperatureC = 9.98206, 20 // ten cubic centimetres at 0.998206 g/cm³
	require.InDelta(t, 10000, plan(t, in).CastingVolumeMM3, 0.02)
	in = bare()
	in.WaterRiseMM3 = 4100
	require.Equal(t, 4100.0, plan(t, in).CastingVolumeMM3)
}

// US 7, 4 mm by 1.5 mm: V = π w t (d + t) = 354.80 mm³; 3.676 g at 10.36 mg/mm³.
func TestBandVolume(t *testing.T) {
	in := bare()
	in.Shape, in.ThicknessMM, in.WidthMM, in.InsideDiameterMM = section.Rectangular, 1.5, 4, 17.3228
	out := plan(t, in)
	require.InDelta(t, 354.80, out.CastingVolumeMM3, 0.005)
	require.InDelta(t, 3.676, out.CastingMassG, 0.002) // density 10.357 against 10.36
}

// A bar that tapers evenly is a frustum: V = l/3 (A1 + A2 + √(A1 A2)) for similar sections.
func TestTaperedBar(t *testing.T) {
	in := bare()
	in.Shape, in.LengthMM = section.Round, 60
	in.ProfileAtPct, in.ProfileThicknessMM = []float64{0, 100}, []float64{2, 4}
	a1, a2 := math.Pi, 4*math.Pi
	require.InEpsilon(t, 20*(a1+a2+math.Sqrt(a1*a2)), plan(t, in).CastingVolumeMM3, 1e-7) // the hair at the ends of Profile.Mean
}

func TestFeedByMeasures(t *testing.T) {
	in := bare()
	in.FeedPct = nil
	in.VolumeMM3 = 4000
	in.Sprues, in.SprueDiameterMM, in.SprueLengthMM = 2, 4, 20
	in.FunnelDiameterMM, in.FunnelHeadMM = 16, 12
	three := 3
	in.Vents, in.VentDiameterMM, in.VentLengthMM = &three, 1, 30
	require.InEpsilon(t, 3*math.Pi/4*30*plan(t, in).DensityGCm3/1000, plan(t, in).VentsMassG, 1e-12)
	vents := 0.5
	in.VentsG, in.Vents, in.VentDiameterMM, in.VentLengthMM = &vents, nil, 0, 0
	out := plan(t, in)
	rho := out.DensityGCm3 / 1000
	require.InEpsilon(t, 2*math.Pi*4*20*rho, out.SprueMassG, 1e-12)
	require.InEpsilon(t, math.Pi*64*12*rho, out.ButtonMassG, 1e-12)
	require.InEpsilon(t, out.SprueMassG+out.ButtonMassG+0.5, out.FeedMassG, 1e-12)
}

func TestMetalByComposition(t *testing.T) {
	in := bare()
	in.VolumeMM3 = 1000
	named := plan(t, in)
	in.Alloy, in.Composition = "", "Ag 925 Cu 75"
	composed := plan(t, in)
	require.Equal(t, named.CastingMassG, composed.CastingMassG)
	require.Equal(t, named.HeatKJ, composed.HeatKJ)
	solidus, liquidus := 810.0, 905.0
	in.SolidusC, in.LiquidusC = &solidus, &liquidus
	require.Equal(t, 1005.0, plan(t, in).PourTemperatureC)
	in.Alloy, in.Composition = "silver-925", ""
	require.Equal(t, 905.0, plan(t, in).LiquidusC)
}

// constant is a metal of constant properties, as textbooks have it.
type constant struct{ cs, cl, latent, melting float64 }

func (c constant) EnthalpyKJKg(t float64) float64 {
	if t < c.melting {
		return c.cs * t
	}
	return c.cs*c.melting + c.latent + c.cl*(t-c.melting)
}

// M. P. Groover, Fundamentals of Modern Manufacturing, problem 10.1: an
// aluminium disk, 40 cm across and 5 cm thick, 5 % more melted, 25 to 800 °C:
// 19,082,756 J (printed with rounded steps; 19,082,885 without; from memory).
func TestHeatAgainstGroover(t *testing.T) {
	aluminium := constant{0.88, 0.88, 389.3, 660}
	grams := 1.05 * math.Pi / 4 * 40 * 40 * 5 * 2.70
	require.InDelta(t, 19082885, 1000*heatKJ(aluminium, grams, 25, 800), 1)
	require.InEpsilon(t, 19082756.0, 1000*heatKJ(aluminium, grams, 25, 800), 1e-5) // rounding of the printed steps
}

// Heat of 100 g from 25 to 1000 °C, from the assessed Gibbs energies: fine
// silver 36.18 kJ, sterling 40.2 kJ over its unmixed metals (SGTE; Hayes 1986).
func TestHeatOfSilver(t *testing.T) {
	const (
		pure   = 0.005 // 999 is not quite pure
		mixing = 0.07  // whether the cold alloy counts as mixed or not
	)
	for _, c := range []struct {
		alloy      string
		kJ, within float64
	}{{"silver-999", 36.181, pure}, {"silver-925", 40.207, mixing}} {
		in := bare()
		in.Alloy, in.StartTemperatureC, in.PourTemperatureC = c.alloy, 25, 1000
		m, err := metal.Named(c.alloy)
		require.NoError(t, err)
		in.VolumeMM3 = 100 / m.DensityGCm3() * 1000
		require.InEpsilon(t, c.kJ, plan(t, in).HeatKJ, c.within, c.alloy)
	}
}

// Net heating values as printed beside the enthalpies of formation they come
// from: Moran and Shapiro, table A-25. Last printed digit, 10 kJ/kg, and that
// of the molar masses.
func TestHeatingValues(t *testing.T) {
	const printed = 0.015 // MJ/kg
	methane := fuel{c: 1, h: 4, formation: -74.85}
	for _, c := range []struct {
		fuel fuel
		net  float64
	}{{fuels["propane"], 46.36}, {fuels["butane"], 45.72}, {fuels["acetylene"], 48.22}, {methane, 50.02}} {
		require.InDelta(t, c.net, c.fuel.netMJKg(), printed)
	}
	// An independent table, E. S. Menon, Piping Calculations Manual, net values
	// in Btu/lb; its gases are of commercial purity: 1 %.
	require.InEpsilon(t, 19770*2.326e-3, fuels["propane"].netMJKg(), 0.01)
	require.InEpsilon(t, 21433*2.326e-3, methane.netMJKg(), 0.01)
}

func TestOwnHeatingValue(t *testing.T) {
	in := sterling()
	in.VolumeMM3, in.FuelMJKg = 1000, 40
	out := plan(t, in)
	require.InEpsilon(t, out.HeatGivenKJ/40, out.FuelG, 1e-12)
	in.Fuel, in.FuelMJKg = "electricity", 0
	require.Zero(t, plan(t, in).FuelG)
}

func TestCrucibleAndFlask(t *testing.T) {
	in := sterling()
	in.Shape, in.ThicknessMM, in.WidthMM, in.InsideDiameterMM = section.HalfRound, 2.4, 6, 62
	out := plan(t, in)
	require.Nil(t, out.CrucibleFits)
	require.Nil(t, out.FlaskFits)

	in.CrucibleVolumeMM3 = out.LiquidVolumeMM3 / 0.79
	in.FlaskInsideMM = 62 + 4.8 + 20
	out = plan(t, in)
	require.True(t, *out.CrucibleFits)
	require.True(t, *out.FlaskFits)
	require.InDelta(t, 79, out.CrucibleFullPct, 1e-9)

	in.CrucibleVolumeMM3 = out.LiquidVolumeMM3 / 0.81
	in.FlaskInsideMM -= 0.1
	out = plan(t, in)
	require.False(t, *out.CrucibleFits)
	require.False(t, *out.FlaskFits)

	in.CrucibleVolumeMM3, in.CrucibleCapacityG = 0, out.MeltMassG*0.99
	require.False(t, *plan(t, in).CrucibleFits)
	in.CrucibleCapacityG, in.FlaskInsideMM, in.FlaskCapacityG = 1000, 0, out.CastingMassG
	out = plan(t, in)
	require.True(t, *out.CrucibleFits)
	require.False(t, *out.FlaskFits)
}

func TestRefusals(t *testing.T) {
	pct, two, none := 50.0, 2, 0.0
	for _, c := range []struct {
		field string
		set   func(*In)
	}{
		{"alloy", func(in *In) { in.Alloy = "silver-952" }},
		{"volume_mm3", func(in *In) { in.VolumeMM3 = 0 }},
		{"volume_mm3", func(in *In) { in.VolumeMM3 = -3 }},
		{"volume_mm3", func(in *In) { in.VolumeMM3 = math.NaN() }},
		{"pattern_mass_g", func(in *In) { in.PatternMassG = 3 }},
		{"pattern_material", func(in *In) { in.VolumeMM3, in.PatternMassG = 0, 3 }},
		{"pattern_material", func(in *In) { in.VolumeMM3, in.PatternMassG, in.PatternMaterial = 0, 3, "cheese" }},
		{"pattern_density_g_cm3", func(in *In) {
			in.VolumeMM3, in.PatternMassG, in.PatternMaterial, in.PatternDensityGCm3 = 0, 3, "wax", 1
		}},
		{"water_temperature_c", func(in *In) { in.VolumeMM3, in.DisplacedWaterG, in.WaterTemperatureC = 0, 3, 60 }},
		{"length_mm", func(in *In) { in.VolumeMM3, in.Shape, in.ThicknessMM = 0, section.Round, 3 }},
		{"width_mm", func(in *In) { in.VolumeMM3, in.Shape, in.ThicknessMM, in.LengthMM = 0, section.Oval, 3, 50 }},
		{"shape", func(in *In) {
			in.VolumeMM3, in.Shape, in.ThicknessMM, in.LengthMM, in.WidthMM = 0, "blob", 3, 50, 3
		}},
		{"profile_thickness_mm", func(in *In) {
			in.VolumeMM3, in.Shape, in.LengthMM, in.ProfileAtPct, in.ProfileThicknessMM = 0, section.Round, 50, []float64{0, 100}, []float64{1}
		}},
		{"profile_at_pct[1]", func(in *In) {
			in.VolumeMM3, in.Shape, in.LengthMM, in.ProfileAtPct, in.ProfileThicknessMM = 0, section.Round, 50, []float64{50, 0}, []float64{1, 2}
		}},
		{"profile_at_pct", func(in *In) {
			in.VolumeMM3, in.Shape, in.LengthMM, in.ProfileThicknessMM = 0, section.Round, 50, []float64{1, 2}
		}},
		{"profile_width_mm[1]", func(in *In) {
			in.VolumeMM3, in.Shape, in.LengthMM, in.ThicknessMM, in.ProfileAtPct, in.ProfileWidthMM = 0, section.D, 50, 2, []float64{0, 100}, []float64{3, -1}
		}},
		{"width_mm", func(in *In) {
			in.VolumeMM3, in.Shape, in.LengthMM, in.ProfileAtPct, in.ProfileThicknessMM = 0, section.D, 50, []float64{0, 100}, []float64{3, 2}
		}},
		{"stones_volume_mm3", func(in *In) { in.StonesVolumeMM3 = 1000 }},
		{"sprue_length_mm", func(in *In) { in.SprueDiameterMM = 4 }},
		{"sprue_g", func(in *In) { in.SprueG, in.SprueDiameterMM, in.SprueLengthMM = &pct, 4, 20 }},
		{"funnel_head_mm", func(in *In) { in.FunnelDiameterMM = 4 }},
		{"alloy", func(in *In) { in.Alloy = "" }},
		{"alloy", func(in *In) { in.Composition = "Ag 925 Cu 75" }},
		{"composition", func(in *In) { in.Alloy, in.Composition = "", "Ag 925 Xx 75" }},
		{"liquidus_c", func(in *In) { in.SolidusC = &pct }},
		{"vent_diameter_mm", func(in *In) { in.Vents = &two }},
		{"vent_count", func(in *In) { in.VentDiameterMM, in.VentLengthMM = 1, 20 }},
		{"feed_pct", func(in *In) { in.FeedPct, in.SprueG = &pct, &pct }},
		{"melt_loss_pct", func(in *In) { in.MeltLossPct = 100 }},
		{"pour_c", func(in *In) { in.PourTemperatureC = 700 }},
		{"efficiency_pct", func(in *In) { in.EfficiencyPct = &none }},
		{"fuel", func(in *In) { in.Fuel = "coal" }},
	} {
		in := sterling()
		in.VolumeMM3 = 1000
		c.set(&in)
		_, err := Plan(context.Background(), in)
		var r *calc.Refusal
		require.ErrorAs(t, err, &r, "%s", c.field)
		require.Equal(t, c.field, r.Faults[0].Field, "%v", err)
	}
}

// Every material has a density between its bounds, and a source.
func TestPatternTable(t *testing.T) {
	for _, name := range Patterns() {
		d := patterns[name]
		require.True(t, 0 < d.low && d.low <= d.likely && d.likely <= d.high, name)
		require.NotEmpty(t, d.text, name)
		require.NotEmpty(t, d.status, name)
		require.Contains(t, schema.For[In]().Field("pattern_material").Enum, name)
	}
}

func ExampleWaterDensityKgM3() {
	fmt.Printf("%.3f\n", WaterDensityKgM3(20))
	// Output: 998.207
}

// BenchmarkPlan is held against the look-up of its alloy alone.
func BenchmarkPlan(b *testing.B) {
	ctx, in := calc.Silent(context.Background()), sterling()
	in.VolumeMM3 = 4200
	b.Run("plan", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := Plan(ctx, in); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("alloy-alone", func(b *testing.B) {
		for b.Loop() {
			if _, err := metal.Named(in.Alloy); err != nil {
				b.Fatal(err)
			}
		}
	})
}
