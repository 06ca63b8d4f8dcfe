package shape

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/mesh"
)

func TestImpossiblePiecesAreRefusedByName(t *testing.T) {
	for _, c := range []struct{ text, field, says string }{
		{`{"kind":"brooch"}`, "kind", "ring"},
		{`{"kind":"ring","inside_diameter_mm":17,"width_mm":5}`, "thickness_mm", "thickness"},
		{`{"kind":"ring","inside_diameter_mm":17,"thickness_mm":2}`, "width_mm", "round wire"},
		{`{"kind":"ring","thickness_mm":2,"width_mm":5}`, "inside_diameter_mm", "oval"},
		{`{"kind":"bangle","inside_width_mm":60,"thickness_mm":2,"width_mm":5}`, "inside_diameter_mm", "inside_height_mm"},
		{`{"kind":"bangle","inside_width_mm":90,"inside_height_mm":20,"thickness_mm":2,"width_mm":5}`, "inside_height_mm", "three times"},
		{`{"kind":"ring","inside_diameter_mm":17,"thickness_mm":2,"width_mm":5,"gap_mm":20}`, "gap_mm", "cuff"},
		{`{"kind":"bar","inside_diameter_mm":17,"length_mm":30,"thickness_mm":2,"width_mm":5}`, "inside_diameter_mm", "ring"},
		{`{"kind":"bar","thickness_mm":2,"width_mm":5}`, "length_mm", "gate"},
		{`{"kind":"cuff","inside_diameter_mm":56,"gap_mm":100,"thickness_mm":2,"width_mm":5}`, "gap_mm", "half"},
		{`{"kind":"cuff","inside_diameter_mm":56,"thickness_mm":2,"width_mm":5,"wave":{"rise_mm":3,"repeats":2}}`, "wave", "ring"},
		{`{"kind":"bangle","inside_diameter_mm":60,"thickness_mm":2,"width_mm":5,"thin_places":[{"at_pct":50,"length_mm":20,"thickness_mm":2.5}]}`, "thin_places[0].thickness_mm", "thick_places"},
		{`{"kind":"bangle","inside_diameter_mm":60,"thickness_mm":2,"width_mm":5,"thick_places":[{"at_pct":50,"length_mm":20,"thickness_mm":1.5}]}`, "thick_places[0].thickness_mm", "thin_places"},
		{`{"kind":"bangle","inside_diameter_mm":60,"thickness_mm":2,"width_mm":5,"thin_places":[{"at_pct":50,"length_mm":300,"thickness_mm":1.5}]}`, "thin_places[0].length_mm", "length of the way"},
		{`{"kind":"signet","inside_diameter_mm":18,"thickness_mm":2,"width_mm":5}`, "head", "table"},
		{`{"kind":"signet","inside_diameter_mm":18,"thickness_mm":2,"width_mm":5,"head":{"length_mm":40,"width_mm":10,"thickness_mm":3}}`, "head.length_mm", "half of the band"},
		{`{"kind":"bar","length_mm":30,"thickness_mm":2,"width_mm":5,"head":{"form":"table","length_mm":10,"width_mm":10,"thickness_mm":3}}`, "head.form", "disc"},
		{`{"kind":"bangle","inside_diameter_mm":60,"thickness_mm":2,"width_mm":5,"wave":{"rise_mm":40,"repeats":6}}`, "wave.rise_mm", "degrees"},
		{`{"kind":"drop","length_mm":20,"thickness_mm":2,"width_mm":6,"bail":{"inside_diameter_mm":3,"wire_mm":5}}`, "bail.wire_mm", "end"},
		{`{"kind":"bar","length_mm":20,"thickness_mm":2,"width_mm":6,"weighed":{"mass_g":90,"material":"wax"}}`, "weighed.mass_g", "agrees"},
		{`{"kind":"bar","length_mm":20,"thickness_mm":2,"width_mm":6,"weighed":{"mass_g":1,"material":"other"}}`, "weighed.density_g_cm3", "density"},
		{`{"kind":"ring","inside_diameter_mm":17,"thickness_mm":2,"width_mm":5,"stations":[{"at_pct":0,"shape":"d","thickness_mm":2,"width_mm":5}]}`, "stations", "either"},
	} {
		_, err := read(t, c.text).Resolve(context.Background())
		require.ErrorContains(t, err, c.field, c.text)
		require.ErrorContains(t, err, c.says, c.text)
	}
	ring := body(t, pieces["plain ring"])
	_, err := Shape{Kind: Cuff, Mesh: ptr(mesh.Of(ring.Solid()))}.Resolve(context.Background())
	require.ErrorContains(t, err, "ring, bangle or signet")
	_, err = Shape{Kind: Bar, Mesh: ptr(mesh.Of(ring.Solid()))}.Resolve(context.Background())
	require.ErrorContains(t, err, "hole to be worn by")
	_, err = Shape{Kind: Ring, ThicknessMM: ptr(2.0), Mesh: ptr(mesh.Of(ring.Solid()))}.Resolve(context.Background())
	require.ErrorContains(t, err, "not both")
}

func TestWeighedPatternHasItsVolume(t *testing.T) {
	for _, text := range []string{
		`{"kind":"drop","length_mm":24,"thickness_mm":3,"width_mm":9,"bail":{"inside_diameter_mm":3,"wire_mm":1.6},"weighed":{"mass_g":0.42,"material":"wax"}}`,
		`{"kind":"bangle","inside_diameter_mm":62,"thickness_mm":3,"profile":"round","weighed":{"mass_g":1.2,"material":"other","density_g_cm3":0.9}}`,
		`{"kind":"signet","inside_diameter_mm":20,"thickness_mm":2,"width_mm":5,"head":{"length_mm":12,"width_mm":10,"thickness_mm":3},"weighed":{"mass_g":1.1,"density_g_cm3":1.0}}`,
	} {
		s := read(t, text)
		density, err := s.Weighed.density()
		require.NoError(t, err)
		require.InEpsilon(t, 1000*s.Weighed.MassG/density, body(t, text).VolumeMM3(), 1e-6, text)
	}
}

func TestBenchMetal(t *testing.T) {
	const i, o, e = 0.1, 0.15, 0.2
	// A flat band: all closed forms.
	ring := body(t, `{"kind":"ring","inside_diameter_mm":18,"thickness_mm":2,"width_mm":4,"profile":"rectangular"}`).Grown(i, o, e)
	require.InDelta(t, 17.8, ring.InsideMM(), 1e-9)
	require.InEpsilon(t, 3.14159265358979*2.25*4.4*(17.8+2.25), ring.VolumeMM3(), 1e-6)
	bar := body(t, pieces["bar"]).Grown(i, o, e)
	require.InEpsilon(t, 38.4*2.25*6.4, bar.VolumeMM3(), 1e-6)
	cuff := body(t, `{"kind":"cuff","inside_diameter_mm":56,"thickness_mm":2,"width_mm":5}`)
	grown := cuff.Grown(i, o, e)
	gap := 3.14159265358979*grown.InsideMM()*(1-grown.path.metal) - 0
	require.InDelta(t, 28-2*e, gap, 1e-9, "the ends are filed back too")
}

func TestScalingAndStations(t *testing.T) {
	const sum = 2e-3 // relative: trapezoids over 400 stations
	for name, text := range pieces {
		b := body(t, text)
		big := b.Scaled(1.5, 1.5)
		require.InEpsilon(t, 1.5*1.5*1.5*b.VolumeMM3(), big.VolumeMM3(), 2e-4, name)
		require.InEpsilon(t, 1.5*b.LengthMM(), big.LengthMM(), 1e-4, name)
		if b.bail != nil {
			continue
		}
		volume := 0.0
		const n = 400
		list := b.Stations(n)
		for i := range n {
			volume += (list[i].AreaMM2 + list[i+1].AreaMM2) / 2 * b.LengthMM() / n
		}
		require.InEpsilon(t, b.VolumeMM3(), volume, sum, name)
		for _, s := range list {
			require.InDelta(t, 1, s.Along.X*s.Along.X+s.Along.Y*s.Along.Y+s.Along.Z*s.Along.Z, 1e-9)
			require.Positive(t, s.ModulusMM())
		}
	}
}

func TestMoreMetalIsNeverLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(lo, hi float64, name string) *float64 { return ptr(rapid.Float64Range(lo, hi).Draw(t, name)) }
		s := Shape{Kind: Bangle, InsideWidthMM: f(50, 70, "w"), InsideHeightMM: f(40, 70, "h"), ThicknessMM: f(1.5, 4, "t"), WidthMM: f(3, 8, "b")}
		if rapid.Bool().Draw(t, "wave") {
			s.Wave = &Wave{RiseMM: *f(1, 5, "rise"), Repeats: rapid.IntRange(1, 5).Draw(t, "n")}
		}
		plain, err := s.Resolve(context.Background())
		require.NoError(t, err)
		s.ThinPlaces = []Place{{AtPct: *f(0, 100, "at"), LengthMM: *f(5, 60, "length"), ThicknessMM: *s.ThicknessMM * *f(0.3, 0.95, "thin")}}
		thin, err := s.Resolve(context.Background())
		require.NoError(t, err)
		require.Less(t, thin.VolumeMM3(), plain.VolumeMM3())
		require.Greater(t, thin.Grown(0.1, 0.1, 0.1).VolumeMM3(), thin.VolumeMM3())
		mm, at := thin.Thinnest()
		require.InDelta(t, s.ThinPlaces[0].ThicknessMM, mm, 1e-6)
		off := at - s.ThinPlaces[0].AtPct
		require.Less(t, min(abs(off), abs(abs(off)-100)), 3.0)
		require.Greater(t, plain.LengthMM(), 3.14159*plain.InsideMM())
	})
}

func abs(x float64) float64 { return max(x, -x) }
