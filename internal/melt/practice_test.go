package melt

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/section"
)

func named(t require.TestingT, id string) metal.Metal {
	m, err := metal.Named(id)
	require.NoError(t, err)
	return m
}

// The trade melts the piece, its sprue and about 10 g of silver over; with
// gold 0.6 to 1 cm³, least 5 g (common practice, no source).
func TestHowMuchTheTradeMelts(t *testing.T) {
	for _, c := range []struct {
		what, alloy string
		castG       float64
		castings    int
		low, high   float64
	}{
		{"silver ring of 4 g", "silver-925", 4, 1, 15, 20},
		{"silver signet ring of 13.5 g", "silver-925", 13.5, 1, 25, 30},
		{"child's bangle of 11 g", "silver-925", 11, 1, 22, 26},
		{"slim gold ring of 2.1 g", "gold-585-yellow", 2.1, 1, 10, 15},
		{"pair of gold bands, 9.5 g", "gold-585-yellow", 4.75, 2, 20, 24},
	} {
		in := sterling()
		in.Alloy, in.Castings = c.alloy, c.castings
		in.VolumeMM3 = c.castG / named(t, c.alloy).DensityGCm3() * 1000
		out := plan(t, in)
		require.InDelta(t, (c.low+c.high)/2, out.MeltMassG, (c.high-c.low)/2, c.what)
		require.InEpsilon(t, c.castG*float64(c.castings), out.CastingMassG, 1e-9)
		require.Less(t, out.LeastMetal.MeltMassG, out.MeltMassG, c.what)
		require.GreaterOrEqual(t, out.LeastMetal.ButtonMassG, leastButton*(1-1e-9), c.what)
		require.InEpsilon(t, out.MeltMassG-out.LeastMetal.MeltMassG, out.LeastMetal.SavesG, 1e-9)
		require.InEpsilon(t, out.CastingMassG+out.LeastMetal.ButtonMassG+out.LeastMetal.SprueMassG+out.LeastMetal.Channels.VentsMM3()*out.DensityGCm3/1000, out.LeastMetal.MeltMassG*0.99, 1e-9)
	}
}

func TestButtonOfTheTrade(t *testing.T) {
	silver, gold := named(t, "silver-925"), named(t, "gold-750-yellow")
	for _, c := range []struct {
		m             metal.Metal
		castingMM3    float64
		button, least float64 // mm³
	}{
		{silver, 300, 1000, 5 / silver.DensityGCm3() * 1000},
		{silver, 8000, 2000, 1000}, // a heavy bangle asks for more than 10 g
		{gold, 200, 600, 5 / gold.DensityGCm3() * 1000},
		{gold, 1600, 800, 5 / gold.DensityGCm3() * 1000},
		{gold, 3000, 1000, 375},
	} {
		require.InEpsilon(t, c.button, Usual(c.m, c.castingMM3, 0, 1).ButtonMM3(), 1e-9, "%g mm³", c.castingMM3)
		require.InEpsilon(t, c.least, Least(c.m, c.castingMM3, 0, 1).ButtonMM3(), 1e-9, "%g mm³", c.castingMM3)
	}
	// Platinum and palladium are as dear as gold; silver with a little gold is not.
	for text, dear := range map[string]bool{"Pt 950 Cu 50": true, "Pd 950 Cu 50": true, "Au 150 Pt 100 Pd 100 Ag 650": true, "Ag 900 Au 100": false} {
		c, err := metal.ParseComposition(text)
		require.NoError(t, err)
		m, err := metal.Of(c, &metal.MeltingRange{SolidusC: 900, LiquidusC: 1000})
		require.NoError(t, err)
		require.Equal(t, dear, noble(m), text)
	}
	// The cone of the funnel holds what the button is: V = π h (D² + D d + d²)/12.
	c := Usual(silver, 300, 0, 1)
	d, h := c.SprueDiameterMM, c.FunnelHeadMM
	require.InEpsilon(t, 1000, math.Pi*h*(c.FunnelMouthMM*c.FunnelMouthMM+c.FunnelMouthMM*d+d*d)/12, 1e-9)
}

// 4 to 6 mm, as thick as the thickest place, two for heavy bangles (common practice, no source).
func TestSprueOfTheTrade(t *testing.T) {
	m := named(t, "silver-925")
	for _, c := range []struct {
		mm3, thickest float64
		count         int
		mm            float64
	}{{400, 1.7, 1, 4}, {1300, 3, 1, 4}, {1600, 3, 1, 5}, {4000, 2.6, 1, 6}, {7000, 3, 2, 6}, {400, 5.5, 1, 5.5}, {400, 4.728, 1, 5}, {9000, 20, 2, 8}} {
		u := Usual(m, c.mm3, c.thickest, 1)
		require.Equal(t, c.count, u.Sprues, "%v", c)
		require.Equal(t, c.mm, u.SprueDiameterMM, "%v", c)
		require.Less(t, Least(m, c.mm3, c.thickest, 1).MM3(), u.MM3())
	}
	// Two rings on one sprue take less than two sprues and two buttons.
	require.Less(t, Usual(m, 400, 1.7, 2).MM3(), 2*Usual(m, 400, 1.7, 1).MM3())
	require.InEpsilon(t, (12.5+2*7.5)/20*Usual(m, 400, 1.7, 1).SprueMM3(), Usual(m, 400, 1.7, 2).SprueMM3(), 1e-12)
}

// What is not said of sprue, funnel and vents stands as the feeding needs it;
// what is said stands as said, a nought too.
func TestFeedWhereNothingIsSaid(t *testing.T) {
	in := sterling()
	in.VolumeMM3 = 1000
	out := plan(t, in)
	u := Usual(named(t, "silver-925"), 1000, 0, 1)
	rho := out.DensityGCm3 / 1000
	require.Equal(t, u, *out.Channels)
	require.InEpsilon(t, u.ButtonMM3()*rho, out.ButtonMassG, 1e-12)
	require.InEpsilon(t, (out.CastingMassG+u.MM3()*rho)/0.99, out.MeltMassG, 1e-12)
	require.InDelta(t, out.LiquidusC+100, out.PourTemperatureC, 1e-9)
	g, none := 3.0, 0
	in.SprueG, in.Vents = &g, &none
	out = plan(t, in)
	require.Equal(t, 3.0, out.SprueMassG)
	require.Zero(t, out.VentsMassG)
	require.InEpsilon(t, u.ButtonMM3()*rho, out.ButtonMassG, 1e-12)
	in.ReserveG = 5
	require.InEpsilon(t, out.MeltMassG+5/0.99, plan(t, in).MeltMassG, 1e-12)
}

// A percentage stands for all parts: any word of one of them beside it is refused;
// a diameter of vents alone counts as a word of the vents.
func TestFeedSaidTwice(t *testing.T) {
	g, two, pct := 3.0, 2, 50.0
	for _, say := range []func(*In){
		func(in *In) { in.SprueG = &g }, func(in *In) { in.SprueDiameterMM, in.SprueLengthMM = 4, 20 },
		func(in *In) { in.ButtonG = &g }, func(in *In) { in.FunnelDiameterMM, in.FunnelHeadMM = 12, 12 },
		func(in *In) { in.VentsG = &g }, func(in *In) { in.Vents, in.VentDiameterMM, in.VentLengthMM = &two, 1, 20 },
	} {
		in := sterling()
		in.VolumeMM3 = 1000
		say(&in)
		_, err := Plan(context.Background(), in)
		require.NoError(t, err)
		in.FeedPct = &pct
		_, err = Plan(context.Background(), in)
		require.ErrorContains(t, err, "feed_pct")
	}
}

// 14 g of sterling for a bangle that takes 40: what is missing, and what there is enough for.
func TestMetalAtHand(t *testing.T) {
	in := sterling()
	in.VolumeMM3 = 40 / named(t, "silver-925").DensityGCm3() * 1000
	have := 14.0
	in.MetalAtHandG = &have
	out := plan(t, in)
	require.InEpsilon(t, out.MeltMassG-14, out.ShortG, 1e-12)
	require.False(t, *out.LeastMetal.Enough)
	require.Contains(t, codes(out.Cautions), "metal_short")
	// The casting that it makes asks for just what there is.
	possible := sterling()
	possible.VolumeMM3 = *out.CastingPossibleG / out.DensityGCm3 * 1000
	possible.MetalAtHandG = &have
	again := plan(t, possible)
	require.InEpsilon(t, 14, again.LeastMetal.MeltMassG, 1e-6)
	require.InDelta(t, 7.5, *out.CastingPossibleG, 0.5) // 13.86 g sound, less 5 g of button and a 4 mm sprue of 12 mm, 1.6 g
	have = 15
	require.True(t, *plan(t, possible).LeastMetal.Enough)
	have = 100
	require.NotContains(t, codes(plan(t, in).Cautions), "metal_short")
	have = 3
	require.Zero(t, *plan(t, in).CastingPossibleG)
}

func codes(list []calc.Caution) []string {
	var c []string
	for _, x := range list {
		c = append(c, x.Code)
	}
	return c
}

// 60 g of sterling, cold dish included: one and a half to four minutes (common practice, no source).
func TestTorchTimeOfTheTrade(t *testing.T) {
	in := sterling()
	none := 0.0
	in.FeedPct, in.MeltLossPct = &none, 0
	in.VolumeMM3 = 60 / named(t, "silver-925").DensityGCm3() * 1000
	out := plan(t, in)
	require.InEpsilon(t, 60, out.MeltMassG, 1e-9)
	require.Equal(t, "medium", out.Tip)
	require.GreaterOrEqual(t, out.TimeLowS, 90.0)
	require.LessOrEqual(t, out.TimeHighS, 240.0)
	require.True(t, out.TimeLowS < out.TimeS && out.TimeS < out.TimeHighS)
	require.InEpsilon(t, out.HeatGivenKJ, out.FuelG*fuels["propane"].netMJKg(), 1e-12)
}

// However small the charge, the dish has to be heated: never nought.
func TestTorchTimeOfALittleMetal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := sterling()
		none := 0.0
		in.FeedPct = &none
		in.VolumeMM3 = math.Pow(10, rapid.Float64Range(-1, 3.5).Draw(t, "log volume"))
		in.Tip = rapid.SampledFrom([]string{"", "medium", "large"}).Draw(t, "tip")
		out := plan(t, in)
		require.Greater(t, out.TimeLowS, 0.5)
		require.GreaterOrEqual(t, out.TimeS, 1.2*out.TimeLowS)
		more := in
		more.VolumeMM3 *= 1.2
		if m := plan(t, more); m.Tip == out.Tip && m.TimeS > 0 {
			require.Greater(t, m.TimeS, out.TimeS)
			require.Greater(t, m.CrucibleHeatKJ, out.CrucibleHeatKJ)
			require.Greater(t, m.LostHeatKJ, out.LostHeatKJ)
		}
		own := 12.0
		in.EfficiencyPct = &own
		require.Less(t, plan(t, in).TimeS, out.TimeS)
	})
}

// A dish of half-infinite depth under a surface that warms evenly, by finite
// differences: the heat in it against 4/3 e A ΔT √(t/π).
func TestHeatInADishOfFiniteDifferences(t *testing.T) {
	const (
		k, rhoC = 1.1, 1.1e6 // e = √(k ρ c) = 1100
		area    = 20e-4
		rise    = 980.0
		seconds = 120.0
		n       = 400
		dx      = 0.25e-3
		dt      = 0.4 * dx * dx * rhoC / k
	)
	require.Equal(t, dishEffusivity, math.Sqrt(k*rhoC))
	u, next := make([]float64, n), make([]float64, n)
	for at := 0.0; at < seconds; at += dt {
		u[0] = rise * at / seconds
		for i := 1; i < n-1; i++ {
			next[i] = u[i] + k/rhoC*dt/dx/dx*(u[i+1]-2*u[i]+u[i-1])
		}
		copy(u[1:], next[1:])
	}
	heat := u[0] / 2
	for _, x := range u[1:] {
		heat += x
	}
	heat *= dx * area * rhoC / 1000
	h := hearth{area: area, rise: rise, holds: math.Inf(1)}
	require.InEpsilon(t, heat, h.dish(seconds), 0.01) // grid
	h.holds = heat / 2
	require.Equal(t, heat/2, h.dish(seconds), "no more than it holds")
}

// The mean loss over an even rise, against a sum over the rise; and the time
// satisfies the balance.
func TestHearth(t *testing.T) {
	in := sterling()
	out := Out{PourTemperatureC: 1000, LiquidVolumeMM3: 6000, HeatKJ: 24}
	h := in.hearth(&out)
	require.InEpsilon(t, 10e-4+6*math.Pow(6e-6, 2.0/3), h.area, 1e-12)
	require.Equal(t, 980.0, h.rise)
	lose := func(c float64) float64 {
		return h.area / 2 * (0.5*5.670374e-8*(math.Pow(c+273.15, 4)-math.Pow(293.15, 4)) + 20*(c-20)) / 1000
	}
	sum := 0.0
	const steps = 1000
	for i := range steps {
		sum += lose(20 + 980*(float64(i)+0.5)/steps)
	}
	require.InEpsilon(t, sum/steps, h.loss, 1e-5)
	require.InEpsilon(t, lose(1000), h.lossTop, 1e-12)
	for _, crucible := range []float64{0, 20} {
		in.CrucibleMassG = crucible
		h = in.hearth(&out)
		s, ok := h.time(0.4)
		require.True(t, ok)
		require.InEpsilon(t, h.metalKJ+h.dish(s)+h.loss*s, 0.4*s, 1e-9)
	}
	require.InEpsilon(t, 0.020*1.05*980, h.holds, 1e-12)
	_, ok := h.time(h.lossTop)
	require.False(t, ok, "the flame must cover the loss at the pour")
}

func TestTorchTooSmall(t *testing.T) {
	in := sterling()
	in.VolumeMM3, in.TorchKW = 20000, 0.3
	out := plan(t, in)
	require.Zero(t, out.TimeS)
	require.Zero(t, out.FuelG)
	require.Contains(t, codes(out.Cautions), "torch_too_small")
	in.TorchKW = 4
	require.Contains(t, codes(plan(t, in).Cautions), "slow_melt")
}

func TestElectricFurnace(t *testing.T) {
	in := bare()
	in.VolumeMM3, in.Fuel, in.TorchKW = 5000, "electricity", 1.5
	share := 50.0
	in.EfficiencyPct = &share
	out := plan(t, in)
	require.InEpsilon(t, 0.250*1.05*(out.PourTemperatureC-20), out.CrucibleHeatKJ, 1e-12)
	require.InEpsilon(t, (out.HeatKJ+out.CrucibleHeatKJ)/0.75, out.TimeS, 1e-12)
	require.NotContains(t, codes(out.Cautions), "torch_gas")
	in.CrucibleMassG = 500
	require.InEpsilon(t, 2*out.CrucibleHeatKJ, plan(t, in).CrucibleHeatKJ, 1e-12)
}

// The doubts of power and share add in square as logarithms.
func TestBurner(t *testing.T) {
	in := sterling()
	b := in.burner(60)
	require.InEpsilon(t, math.Sqrt(3.4*5.2)*math.Sqrt(8*12)/100, b.middle(), 1e-12)
	require.InEpsilon(t, math.Exp(math.Sqrt(math.Pow(math.Log(5.2/3.4), 2)+math.Pow(math.Log(1.5), 2))), b.high/b.low, 1e-12)
	for _, c := range []struct {
		tip       string
		low, high float64 // kW
	}{{"small", 1.6, 2.6}, {"medium", 3.4, 5.2}, {"large", 6, 10}} {
		in.Tip = c.tip
		require.InEpsilon(t, math.Sqrt(c.low*c.high), in.burner(60).kw, 1e-12, c.tip)
		require.InEpsilon(t, math.Exp(math.Hypot(math.Log(c.high/c.low), math.Log(1.5))), in.burner(60).high/in.burner(60).low, 1e-12, c.tip)
	}
	in.Tip = ""
	require.Equal(t, "small", in.burner(12).tip)
	require.Equal(t, "large", in.burner(101).tip)
	in.Tip = "large"
	require.Equal(t, "large", in.burner(5).tip)
	in.TorchKW = 4
	b = in.burner(60)
	require.Equal(t, 4.0, b.kw)
	require.Empty(t, b.tip)
	require.InEpsilon(t, 1.5, b.high/b.low, 1e-12)
}

func TestHeatIsCautioned(t *testing.T) {
	for over, want := range map[float64]string{100: "", 160: "care", 400: "danger", 20: "care"} {
		in := sterling()
		in.VolumeMM3, in.SuperheatK = 1000, over
		if over == 400 {
			in.PourTemperatureC = 1296
		}
		severity := ""
		for _, c := range plan(t, in).Cautions {
			if c.Code == "overheated" || c.Code == "cold_pour" {
				severity = string(c.Severity)
			}
		}
		require.Equal(t, want, severity, "%g K", over)
	}
}

func TestCautionsOfTheMelt(t *testing.T) {
	for _, c := range []struct {
		alloy, fuel string
		has, not    []string
	}{
		{"silver-925", "propane", []string{"molten_metal", "damp_mould", "crucible", "torch_gas", "fire_stain"}, []string{"nickel", "zinc_fume"}},
		{"silver-999", "acetylene", []string{"torch_gas"}, []string{"fire_stain"}},
		{"gold-750-white-nickel", "electricity", []string{"nickel", "zinc_fume"}, []string{"torch_gas", "fire_stain"}},
	} {
		in := sterling()
		in.Alloy, in.Fuel, in.VolumeMM3 = c.alloy, c.fuel, 1000
		out := plan(t, in)
		got := codes(out.Cautions)
		for _, caution := range out.Cautions {
			if caution.Code == "torch_gas" {
				require.Contains(t, caution.Text, "heavier than air")
				require.Contains(t, caution.Text, "carbon monoxide")
			}
		}
		require.Subset(t, got, c.has, c.alloy)
		for _, n := range c.not {
			require.NotContains(t, got, n, c.alloy)
		}
	}
}

// A pattern whose density is in doubt by more than half the button says so.
func TestDoubtOfThePattern(t *testing.T) {
	in := sterling()
	in.PatternMassG, in.PatternMaterial = 2, "wax"
	require.NotContains(t, codes(plan(t, in).Cautions), "pattern_density_uncertain")
	in.PatternMassG, in.PatternMaterial = 10, "lime_wood"
	require.Contains(t, codes(plan(t, in).Cautions), "pattern_density_uncertain")
}

func TestStonesInEachCasting(t *testing.T) {
	in := bare()
	in.VolumeMM3, in.StonesVolumeMM3, in.Castings = 1000, 100, 3
	out := plan(t, in)
	require.InEpsilon(t, 2700*out.DensityGCm3/1000, out.CastingMassG, 1e-12)
	require.InEpsilon(t, 2700, out.CastingVolumeMM3, 1e-12)
}

// The thickest place of a profile sizes the sprue.
func TestThickestPlaceSizesTheSprue(t *testing.T) {
	in := sterling()
	in.Shape, in.LengthMM, in.WidthMM = section.D, 40, 6
	in.ProfileAtPct, in.ProfileThicknessMM = []float64{0, 50, 100}, []float64{2, 7, 2}
	out, err := Plan(context.Background(), in)
	require.NoError(t, err)
	require.Equal(t, 7.0, out.Channels.SprueDiameterMM)
}
