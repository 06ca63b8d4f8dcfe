package melt

import (
	"context"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/mesh"
	"pourwright/internal/metal"
	"pourwright/internal/schema"
	"pourwright/internal/section"
)

func TestBalances(t *testing.T) {
	const rounding = 1e-12 // relative, of a few float64 operations
	rapid.Check(t, func(t *rapid.T) {
		in := sterling()
		in.Alloy = rapid.SampledFrom(metal.IDs()).Draw(t, "alloy")
		in.VolumeMM3 = rapid.Float64Range(10, 1e5).Draw(t, "volume")
		in.StonesVolumeMM3 = rapid.Float64Range(0, 9).Draw(t, "stones")
		feed := rapid.Float64Range(0, 300).Draw(t, "feed")
		in.FeedPct = &feed
		in.ReserveG = rapid.Float64Range(0, 50).Draw(t, "reserve")
		in.MeltLossPct = rapid.Float64Range(0, 20).Draw(t, "loss")
		in.TorchKW = rapid.Float64Range(20, 50).Draw(t, "kW")
		share := rapid.Float64Range(30, 100).Draw(t, "efficiency")
		in.EfficiencyPct = &share
		in.CrucibleMassG = rapid.Float64Range(0, 500).Draw(t, "crucible")
		out := plan(t, in)

		require.InEpsilon(t, out.MeltMassG, out.CastingMassG+out.FeedMassG+out.ReserveG+out.LossG, rounding, "mass")
		require.InEpsilon(t, out.MeltMassG*in.MeltLossPct/100+1, out.LossG+1, 1e-9, "loss") // a difference of near numbers
		require.InEpsilon(t, out.CastingMassG/out.MeltMassG, out.YieldPct/100, rounding)
		require.True(t, out.YieldPct > 0 && out.YieldPct <= 100*(1+rounding))
		require.InEpsilon(t, out.CastingMassG, (in.VolumeMM3-in.StonesVolumeMM3)*out.DensityGCm3/1000, rounding)
		require.InEpsilon(t, out.HeatKJ+out.CrucibleHeatKJ+out.LostHeatKJ, out.TimeS*in.TorchKW*share/100, 1e-9, "energy") // a root of a quadratic
		require.Less(t, out.TimeLowS, out.TimeS)
		require.Greater(t, out.TimeHighS, out.TimeS)
		require.InEpsilon(t, out.HeatGivenKJ, out.FuelG*fuels["propane"].netMJKg(), rounding)
		require.InEpsilon(t, out.HeatGivenKJ, out.EnergyKWh*3600, rounding)
		require.Greater(t, out.LiquidVolumeMM3, out.MeltMassG/out.DensityGCm3*1000, "liquid metal takes more room than solid")

		more := in
		more.PourTemperatureC = out.PourTemperatureC + rapid.Float64Range(1, 200).Draw(t, "hotter")
		hot := plan(t, more)
		require.Greater(t, hot.HeatKJ, out.HeatKJ)
		require.Equal(t, hot.MeltMassG, out.MeltMassG)
	})
}

// Whatever is in the fields, the answer is finite or a refusal.
func TestWildInput(t *testing.T) {
	wild := []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, -1e-300, 0, 1e-300, 1e-9, 1e9, 1e300}
	starts := []func(*In){
		func(in *In) { in.VolumeMM3 = 4200 },
		func(in *In) { in.PatternMassG, in.PatternDensityGCm3 = 4, 1 },
		func(in *In) { in.DisplacedWaterG = 4 },
		func(in *In) { in.Shape, in.ThicknessMM, in.WidthMM, in.InsideDiameterMM = section.D, 2, 5, 60 },
	}
	rapid.Check(t, func(t *rapid.T) {
		in := sterling()
		rapid.SampledFrom(starts).Draw(t, "start")(&in)
		for range rapid.IntRange(1, 3).Draw(t, "fields") {
			v := reflect.ValueOf(&in).Elem()
			f := v.Field(rapid.IntRange(0, v.NumField()-1).Draw(t, "field"))
			x := rapid.SampledFrom(wild).Draw(t, "value")
			switch f.Kind() {
			case reflect.Float64:
				f.SetFloat(x)
			case reflect.Pointer:
				switch f.Type().Elem().Kind() {
				case reflect.Float64:
					f.Set(reflect.ValueOf(&x))
				case reflect.Int:
					n := rapid.IntRange(-3, 3).Draw(t, "count")
					f.Set(reflect.ValueOf(&n))
				}
			case reflect.Slice:
				f.Set(reflect.ValueOf([]float64{0, x}))
			case reflect.Int:
				f.SetInt(int64(rapid.IntRange(-3, 3).Draw(t, "int")))
			}
		}
		out, err := Plan(context.Background(), in)
		if err != nil {
			var r *calc.Refusal
			require.ErrorAs(t, err, &r)
			return
		}
		for v, i := reflect.ValueOf(out), 0; i < v.NumField(); i++ {
			if v.Field(i).Kind() == reflect.Float64 {
				x := v.Field(i).Float()
				require.False(t, math.IsNaN(x) || math.IsInf(x, 0), v.Type().Field(i).Name)
				require.GreaterOrEqual(t, x, 0.0, v.Type().Field(i).Name)
			}
		}
	})
}

// With a feed in percent all masses and the metal's heat go with the volume.
func TestScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := sterling()
		feed := 60.0
		in.FeedPct = &feed
		in.VolumeMM3 = rapid.Float64Range(10, 1e4).Draw(t, "volume")
		a := plan(t, in)
		in.VolumeMM3 *= 7
		b := plan(t, in)
		require.InEpsilon(t, 7*a.MeltMassG, b.MeltMassG, 1e-12)
		require.InEpsilon(t, 7*a.HeatKJ, b.HeatKJ, 1e-12)
		require.InEpsilon(t, a.YieldPct, b.YieldPct, 1e-12)
	})
}

// A profile that does not vary is the single section.
func TestProfileOfOneSection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := bare()
		in.Shape = rapid.SampledFrom(section.Shapes).Draw(t, "shape")
		in.ThicknessMM, in.WidthMM = rapid.Float64Range(0.5, 10).Draw(t, "t"), rapid.Float64Range(0.5, 10).Draw(t, "w")
		in.InsideDiameterMM = rapid.Float64Range(5, 80).Draw(t, "d")
		a := plan(t, in)
		in.ProfileAtPct = []float64{0, rapid.Float64Range(1, 99).Draw(t, "at"), 100}
		in.ProfileThicknessMM = []float64{in.ThicknessMM, in.ThicknessMM, in.ThicknessMM}
		require.InEpsilon(t, a.CastingMassG, plan(t, in).CastingMassG, 1e-9)
	})
}

// A pattern's surface weighs what its volume says.
func TestPatternMesh(t *testing.T) {
	surface := mesh.Of(mesh.Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4}))
	in := sterling()
	in.PatternMesh = &surface
	drawn := plan(t, in)
	in.PatternMesh, in.VolumeMM3 = nil, 800
	require.InEpsilon(t, plan(t, in).CastingMassG, drawn.CastingMassG, 1e-12)

	in.PatternMesh = &surface
	_, err := Plan(context.Background(), in)
	require.ErrorContains(t, err, "exactly one of")
	in.VolumeMM3, in.PatternMesh = 0, &mesh.Pattern{Unit: "mm", STL: []byte("no surface")}
	_, err = Plan(context.Background(), in)
	require.ErrorContains(t, err, "pattern_mesh.stl_base64")
}

// TestEdges: each figure is taken at the edges that its tags name, and refused
// beyond them.
func TestEdges(t *testing.T) {
	for _, c := range []struct {
		field string
		set   func(*In, float64)
	}{
		{"reserve_g", func(in *In, v float64) { in.ReserveG = v }},
		{"melt_loss_pct", func(in *In, v float64) { in.MeltLossPct = v }},
		{"superheat_k", func(in *In, v float64) { in.SuperheatK = v }},
		{"start_temperature_c", func(in *In, v float64) { in.StartTemperatureC = v }},
		{"crucible_fill_pct", func(in *In, v float64) { in.CrucibleFillPct = v }},
		{"clay_wall_mm", func(in *In, v float64) { in.ClayWallMM = v }},
		{"torch_kw", func(in *In, v float64) { in.TorchKW = v }},
		{"fuel_mj_kg", func(in *In, v float64) { in.FuelMJKg = v }},
		{"crucible_volume_mm3", func(in *In, v float64) { in.CrucibleVolumeMM3 = v }},
		{"crucible_mass_g", func(in *In, v float64) { in.CrucibleMassG = v }},
		{"crucible_capacity_g", func(in *In, v float64) { in.CrucibleCapacityG = v }},
		{"flask_capacity_g", func(in *In, v float64) { in.FlaskCapacityG = v }},
		{"flask_inside_mm", func(in *In, v float64) { in.FlaskInsideMM = v }},
		{"efficiency_pct", func(in *In, v float64) { in.EfficiencyPct = &v }},
		{"metal_at_hand_g", func(in *In, v float64) { in.MetalAtHandG = &v }},
		{"feed_pct", func(in *In, v float64) { in.FeedPct = &v }},
		{"pattern_density_g_cm3", func(in *In, v float64) { in.VolumeMM3, in.PatternMassG, in.PatternDensityGCm3 = 0, 4, v }},
		{"sprue_length_mm", func(in *In, v float64) { in.SprueDiameterMM, in.SprueLengthMM = 4, v }},
	} {
		at := func(v float64) error {
			in := calc.Default[In]()
			in.Alloy, in.VolumeMM3 = "silver-925", 2000
			c.set(&in, v)
			_, err := Plan(t.Context(), in)
			return err
		}
		const beyond = 0.04 // of the edge, less than a tenth
		f := schema.For[In]().Field(c.field)
		require.NoError(t, at(f.Min), c.field)
		require.NoError(t, at(f.Max), c.field)
		require.ErrorContains(t, at(f.Max*(1+beyond)), c.field)
		require.ErrorContains(t, at(f.Min-max(beyond*math.Abs(f.Min), 1e-9*f.Max)), c.field)
		require.ErrorContains(t, at(math.NaN()), c.field)
	}
}
