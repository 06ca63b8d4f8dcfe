package sizing

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

func flask(edit func(*FlaskIn)) (FlaskOut, error) {
	in := calc.Default[FlaskIn]()
	in.FlaskLengthMM, in.FlaskWidthMM, in.UpperDepthMM, in.LowerDepthMM = 120, ptr(95), 25, 25
	in.OutsideMM, in.ThicknessMM, in.WidthMM = 67, 2.4, 6
	edit(&in)
	return LayOut(context.Background(), in)
}

// TestFlaskFits: each limit in turn is the one that does not fit.
func TestFlaskFits(t *testing.T) {
	out, err := flask(func(in *FlaskIn) {})
	require.NoError(t, err)
	require.True(t, out.Fits)
	require.InDelta(t, 120-10-67, out.SprueLengthMM, 1e-9)
	require.InDelta(t, out.HeadTopMM+67, out.HeadLowestMM, 1e-9)
	for measure, edit := range map[string]func(*FlaskIn){
		"depth of the upper frame":                               func(in *FlaskIn) { in.UpperDepthMM = 12 },
		"depth of the lower frame":                               func(in *FlaskIn) { in.LowerDepthMM = 12 },
		"length: margin, pattern, sprue":                         func(in *FlaskIn) { in.FlaskLengthMM = 96 },
		"width: pattern and margins":                             func(in *FlaskIn) { in.FlaskWidthMM = ptr(86) },
		"width at the edge: funnel, vents and margins":           func(in *FlaskIn) { in.FunnelMM = 75 },
		"diameter: pattern and margins":                          func(in *FlaskIn) { in.FlaskWidthMM, in.OutsideAcross = nil, ptr(101) },
		"length: pattern, margins, sprue where it stands beside": func(in *FlaskIn) { in.Pour, in.LeastSprueMM, in.FlaskLengthMM = LyingFlask, 10, 80 },
		"upper frame: head over the pattern":                     func(in *FlaskIn) { in.Pour, in.LeastSprueMM = LyingFlask, 30 },
	} {
		out, err := flask(edit)
		require.NoError(t, err)
		require.False(t, out.Fits, measure)
		for _, r := range out.Space {
			require.Equal(t, r.Measure != measure, r.SpareMM >= 0, "%s for %s", r.Measure, measure)
		}
	}
}

// TestClayBalance: clay, pattern and channels together are the flask.
func TestClayBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pour := rapid.SampledFrom([]string{StandingFlask, LyingFlask}).Draw(t, "pour")
		od, w := rapid.Float64Range(30, 80).Draw(t, "od"), rapid.Float64Range(2, 10).Draw(t, "w")
		out, err := flask(func(in *FlaskIn) { in.Pour, in.OutsideMM, in.WidthMM = pour, od, w })
		require.NoError(t, err)
		pattern := section.Section{Shape: section.HalfRound, ThicknessMM: 2.4, WidthMM: w}.RingVolume(od - 4.8)
		require.InDelta(t, 120*95*50, out.ClayMM3+pattern+out.SprueVolumeMM3+out.VentVolumeMM3, 1e-6)
	})
}

// TestChannels: funnel and sprue by their textbook solids, heads by addition.
func TestChannels(t *testing.T) {
	out, err := flask(func(in *FlaskIn) { in.FunnelMM, in.SprueMM, in.Vents = 20, 20, 0 })
	require.NoError(t, err)
	require.InDelta(t, math.Pi*100*43, out.SprueVolumeMM3, 1e-9) // a cylinder of 43 mm
	require.Zero(t, out.VentVolumeMM3)
	out, err = flask(func(in *FlaskIn) { in.FunnelMM, in.SprueMM = 20, 10 })
	require.NoError(t, err)
	require.InDelta(t, (math.Pi*100*40-math.Pi*25*20)/3+math.Pi*25*23, out.SprueVolumeMM3, 1e-9) // a cone 40 mm high less its upper half, and 23 mm of sprue
	out, err = flask(func(in *FlaskIn) { in.Pour = LyingFlask })
	require.NoError(t, err)
	require.InDelta(t, 25-3, out.HeadTopMM, 1e-9)
	require.InDelta(t, 25+3, out.HeadLowestMM, 1e-9)
}

// TestUndercut: half a circle 6 mm wide and 3 mm high, cut 1.8 mm off its
// middle: 3 - 2.4 (the 3-4-5 triangle).
func TestUndercut(t *testing.T) {
	s := section.Section{Shape: section.HalfRound, ThicknessMM: 3, WidthMM: 6}
	require.InDelta(t, 0.6, undercut(s, 1.8), 1e-12)
	require.InDelta(t, 3, undercut(s, 5), 1e-12) // the plane misses it: all of it overhangs
	s.Shape = section.Rectangular
	require.Zero(t, undercut(s, 1.8))
	for _, shape := range section.Shapes {
		last := -1.0
		for off := 0.0; off < 4; off += 0.25 {
			u := undercut(section.Section{Shape: shape, ThicknessMM: 3, WidthMM: 6}, off)
			require.GreaterOrEqual(t, u, last, shape)
			require.LessOrEqual(t, u, 3.0)
			last = u
		}
	}
}

// TestPartingOfAWave: the slope by differences of the wave itself.
func TestPartingOfAWave(t *testing.T) {
	out, err := flask(func(in *FlaskIn) { in.WaveMM, in.Repeats = 3, 8 })
	require.NoError(t, err)
	p := out.Parting
	require.Equal(t, "follow_wave", p.Kind)
	r, h, steepest := (67-2.4)/2, 1e-5, 0.0
	wave := func(a float64) float64 { return 1.5 * math.Cos(8*a) }
	for a := 0.0; a < 2*math.Pi; a += 1e-3 {
		steepest = max(steepest, (wave(a+h)-wave(a-h))/(2*h*r))
	}
	require.InDelta(t, 180/math.Pi*math.Atan(steepest), p.SlopeDeg, 0.01)
	require.InDelta(t, 1.5, p.Stations[0].HeightMM, 1e-9)
	require.InDelta(t, -1.5, p.Stations[4].HeightMM, 1e-9)
	require.InDelta(t, 45, p.Stations[8].AtDeg, 1e-9)
	flat, err := flask(func(in *FlaskIn) { in.WaveMM, in.Repeats, in.Shape = 3, 8, section.Rectangular })
	require.NoError(t, err)
	require.Equal(t, "flat", flat.Parting.Kind)
	steep, err := flask(func(in *FlaskIn) { in.WaveMM, in.Repeats = 6, 24 })
	require.NoError(t, err)
	require.Equal(t, "loose_pieces", steep.Parting.Kind)
}

func TestFlaskRefused(t *testing.T) {
	for field, edit := range map[string]func(*FlaskIn){
		"pour":               func(in *FlaskIn) { in.Pour = "sideways" },
		"flask_length_mm":    func(in *FlaskIn) { in.FlaskLengthMM = -1 },
		"repeats":            func(in *FlaskIn) { in.WaveMM = 2 },
		"funnel_diameter_mm": func(in *FlaskIn) { in.FunnelMM = 4 },
		"thickness_mm":       func(in *FlaskIn) { in.OutsideMM, in.ThicknessMM = 8, 5 },
		"outside_mm":         func(in *FlaskIn) { in.OutsideMM = math.NaN() },
	} {
		_, err := flask(edit)
		require.ErrorContains(t, err, field+":")
	}
}
