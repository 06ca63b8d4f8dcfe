package sizing

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/mesh"
	"pourwright/internal/section"
)

func mould(edit func(*MouldIn)) (MouldOut, error) {
	in := calc.Default[MouldIn]()
	in.Shape, in.ThicknessMM, in.WidthMM, in.Alloy = section.Rectangular, 1.5, 4, "silver-925"
	edit(&in)
	return PlanMould(context.Background(), in)
}

func bare(in *MouldIn) {
	in.BenchInsideMM, in.BenchOutsideMM, in.BenchEdgeMM = 0, 0, 0
	in.CoreGiveMM = ptr(0)
}

// TestShrinkRule: W. H. Dooley, Applied Science for Metal Workers, sec. 426:
// brass 3/16 in per ft, so a brass casting of 12 in takes a pattern of 12 3/16 in.
func TestShrinkRule(t *testing.T) {
	out, err := mould(func(in *MouldIn) {
		bare(in)
		in.InsideDiameterMM, in.ContractionPct = ptr(60), ptr(100.0/64)
	})
	require.NoError(t, err)
	require.InDelta(t, 60*(12+3.0/16)/12, out.Mould.InsideDiameterMM, 1e-9)
	require.InDelta(t, out.Finished.InsideDiameterMM, out.FinishedLeastMM, 1e-9)
}

// TestPlainBand: the volume of a plain band by hand: US 7, w = 4, t = 1.5 mm:
// V = π w t (d + t) = 354.80 mm³.
func TestPlainBand(t *testing.T) {
	out, err := mould(func(in *MouldIn) { bare(in); in.Piece, in.RingSystem, in.RingSize = RingPiece, US, "7" })
	require.NoError(t, err)
	require.InDelta(t, 354.80, out.CastingVolumeMM3, 0.005)
	require.InDelta(t, out.CastingVolumeMM3, section.Section{Shape: section.Rectangular, ThicknessMM: 1.5, WidthMM: 4}.RingVolume(out.Finished.InsideDiameterMM), 1e-9)
}

func TestMouldThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, c, s := rapid.Float64Range(12, 90).Draw(t, "d"), rapid.Float64Range(0, 3).Draw(t, "contraction"), rapid.Float64Range(-2, 2).Draw(t, "spring")
		inside, give := rapid.Float64Range(0, 0.5).Draw(t, "bench"), rapid.Float64Range(0, 0.5).Draw(t, "give")
		out, err := mould(func(in *MouldIn) {
			in.CoreGiveMM = &give
			in.InsideDiameterMM, in.ContractionPct, in.SpringBackPct, in.BenchInsideMM = &d, &c, s, inside
		})
		require.NoError(t, err)
		back := (out.PatternWanted.InsideDiameterMM*(1+s/100)-2*give)/(1+c/100) + 2*inside
		require.InEpsilon(t, d, back, 1e-12)
		require.InDelta(t, math.Pi*out.Mould.InsideDiameterMM, out.Mould.InsideCircumferenceMM, 1e-9)
		// The pattern that is wanted needs no edit and no bench work.
		again, err := mould(func(in *MouldIn) {
			in.CoreGiveMM = &give
			in.InsideDiameterMM, in.ContractionPct, in.SpringBackPct, in.BenchInsideMM = &d, &c, s, inside
			in.PatternInsideDiameterMM = &out.PatternWanted.InsideDiameterMM
		})
		require.NoError(t, err)
		require.Equal(t, "use_as_it_is", again.Edit.Action)
		require.Equal(t, "use_as_it_is", again.BenchOptions[0].Method)
	})
}

// TestRestraint: a free casting contracts most, one on a hard core least, and
// the mould follows.
func TestRestraint(t *testing.T) {
	var moulds []float64
	for _, r := range []string{HardCore, ClayCore, FreeToShrink} {
		out, err := mould(func(in *MouldIn) { in.InsideDiameterMM, in.Restraint = ptr(60), r })
		require.NoError(t, err)
		require.LessOrEqual(t, out.ContractionLowPct, out.ContractionPct)
		require.LessOrEqual(t, out.ContractionPct, out.ContractionHighPct)
		require.LessOrEqual(t, out.FinishedLeastMM, 60.0)
		require.GreaterOrEqual(t, out.FinishedGreatestMM, 60.0)
		moulds = append(moulds, out.Mould.InsideDiameterMM)
	}
	require.IsIncreasing(t, moulds)
}

// TestCut: two arcs of R = 33 mm closed on the circumference of a 64 mm circle,
// by direct geometry of the two arcs.
func TestCut(t *testing.T) {
	out, err := mould(func(in *MouldIn) {
		bare(in)
		in.InsideDiameterMM, in.ContractionPct, in.PatternInsideDiameterMM, in.Repeats = ptr(64), ptr(0), ptr(66), 12
	})
	require.NoError(t, err)
	e := out.Edit
	require.Equal(t, "cut", e.Action)
	require.InDelta(t, 2*math.Pi, e.ArcMM, 1e-9)
	require.InDelta(t, 360*2.0/66, e.ArcDeg, 1e-9)
	require.InDelta(t, (33+out.FillSection.ThicknessMM)*e.ArcDeg*math.Pi/180, e.ArcOutsideMM, 1e-9) // the same angle on the outside
	require.Len(t, e.Joints, 2)
	// Skin strain of a bar bent from one mid-line radius to another: half its thickness times the change of curvature.
	radius, thick := 33.0, out.FillSection.ThicknessMM
	require.InDelta(t, 100*thick/2*(1/(32+thick/2)-1/(radius+thick/2)), e.TruingStrainPct, 1e-9)
	// The halves: chord and twice the rise of an arc of 32π mm on R 33.
	half := 32 * math.Pi / 33 / 2 // half-angle
	require.InDelta(t, math.Abs(2*33*math.Sin(half)-2*33*(1-math.Cos(half))), e.OutOfRoundMM, 1e-9)
	// Turning: arcs and kinks make a full turn.
	require.InDelta(t, 360, 360*64.0/66+e.Joints[0].KinkDeg+e.Joints[1].KinkDeg, 1e-9)
	// Metal: area times the inside arc, cold.
	require.InDelta(t, -6*2*math.Pi, e.MetalMM3, 1e-9)
	for _, j := range e.Joints { // less than half a repeat: shared
		require.InDelta(t, math.Pi, j.ArcMM, 1e-9)
		require.InDelta(t, 0, math.Mod(j.AtDeg, 15), 1e-9, "a crest or trough of 12 waves")
		require.NotEqual(t, "plain", j.On)
	}
}

func TestWholeRepeats(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, gone := rapid.IntRange(6, 60).Draw(t, "repeats"), rapid.IntRange(1, 3).Draw(t, "gone")
		p, crest := 66.0, rapid.Float64Range(0, 360).Draw(t, "crest")
		d := p * float64(n-gone) / float64(n)
		out, err := mould(func(in *MouldIn) {
			bare(in)
			in.InsideDiameterMM, in.ContractionPct, in.PatternInsideDiameterMM, in.Repeats = &d, ptr(0), &p, n
			in.CrestDeg = crest
		})
		require.NoError(t, err)
		require.Equal(t, gone, out.Edit.WholeRepeats)
		require.InDelta(t, 0, out.Edit.RemainderMM, 1e-9)
		sum := 0.0
		for _, j := range out.Edit.Joints {
			require.True(t, j.AtDeg >= 0 && j.AtDeg < 360)
			sum += j.ArcMM
			require.InDelta(t, 0, math.Remainder(j.ArcMM, math.Pi*p/float64(n)), 1e-9, "equal phases meet")
		}
		require.InDelta(t, out.Edit.ArcMM, sum, 1e-9)
		require.InDelta(t, 180, math.Abs(out.Edit.Joints[0].AtDeg-out.Edit.Joints[1].AtDeg), 1e-9)
		// What the ends meet on is what the cosine of the ornament says there.
		for _, j := range out.Edit.Joints {
			end := j.AtDeg + 180*j.ArcMM/(math.Pi*p)
			height := math.Cos(float64(n) * (end - crest) * math.Pi / 180)
			require.InDelta(t, map[string]float64{"crest": 1, "trough": -1}[j.On], height, 1e-6)
		}
	})
}

// TestCuffEdit: an open cuff is shortened at its ends: no joints, nothing out of round.
func TestCuffEdit(t *testing.T) {
	out, err := mould(func(in *MouldIn) {
		bare(in)
		in.Piece, in.InsideDiameterMM, in.ContractionPct, in.PatternInsideDiameterMM, in.GapMM = CuffPiece, ptr(56), ptr(0), ptr(58), 28
	})
	require.NoError(t, err)
	require.InDelta(t, 2*math.Pi, out.Edit.ArcMM, 1e-9)
	require.Empty(t, out.Edit.Joints)
	require.Zero(t, out.Edit.OutOfRoundMM)
	// Metal of an open ring: area × (inside + 2π × half the thickness) × the part that is not gap.
	arc := 1 - 28/(math.Pi*56)
	require.InDelta(t, arc*6*math.Pi*(56+1.5), out.CastingVolumeMM3, 1e-9)
}

func TestInsert(t *testing.T) {
	out, err := mould(func(in *MouldIn) {
		bare(in)
		in.InsideDiameterMM, in.ContractionPct, in.PatternInsideDiameterMM = ptr(66), ptr(0), ptr(64)
	})
	require.NoError(t, err)
	require.Equal(t, "insert", out.Edit.Action)
	require.InDelta(t, math.Pi, out.Edit.OutOfRoundMM, 1e-9) // two straights of π mm
	require.Zero(t, out.Edit.Joints[0].KinkDeg)
	require.Greater(t, out.Edit.MetalMM3, 0.0)
}

// TestPush: a rectangular ring pushed 1 mm deeper gains an annulus 1 mm high:
// π ((d/2 + t)² - (d/2)²) × 1 mm.
func TestPush(t *testing.T) {
	out, err := mould(func(in *MouldIn) {
		bare(in)
		in.InsideDiameterMM, in.ContractionPct, in.GainWidthMM, in.Detail = ptr(60), ptr(0), ptr(1), "upper"
	})
	require.NoError(t, err)
	g := out.Gain
	require.InDelta(t, math.Pi*(31.5*31.5-30*30), g.GainedMM3, 1e-9)
	require.InDelta(t, g.LowerMM, g.PushMM, 0)
	require.Zero(t, g.UpperMM)
	require.InDelta(t, 4*(1+out.SectionContraction/100), g.NewSection.WidthMM, 1e-9) // width_mm is what is wanted in all
	// A shortage of thickness is found from the pattern and scraped outside.
	out, err = mould(func(in *MouldIn) {
		bare(in)
		in.InsideDiameterMM, in.PatternThicknessMM = ptr(60), ptr(1.2)
	})
	require.NoError(t, err)
	require.InDelta(t, 1.5*(1+out.SectionContraction/100), 1.2+out.Gain.ScrapeMM, 1e-9)
	// A flat strip is the other way about.
	out, err = mould(func(in *MouldIn) {
		bare(in)
		in.InsideDiameterMM, in.PatternThicknessMM, in.Lies = ptr(60), ptr(1.2), "strip"
	})
	require.NoError(t, err)
	require.InDelta(t, 1.5*(1+out.SectionContraction/100), 1.2+out.Gain.PushMM, 1e-9)
}

// TestCollar: whatever the shape, a straight piece let in adds its own area,
// and the thickness is the true one.
func TestCollar(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := section.Section{Shape: rapid.SampledFrom(section.Shapes).Draw(t, "shape"), ThicknessMM: rapid.Float64Range(0.5, 5).Draw(t, "t"), WidthMM: rapid.Float64Range(1, 12).Draw(t, "w")}
		dt, dw := rapid.Float64Range(0, 2).Draw(t, "dt"), 0.0
		if rapid.Bool().Draw(t, "wide") {
			dt, dw = 0, dt
		}
		after := collar(s, dt, dw)
		require.InEpsilon(t, s.Area()+dt*s.Width()+dw*s.ThicknessMM, after.Area(), 1e-12)
		require.InDelta(t, s.ThicknessMM+dt, after.ThicknessMM, 1e-12)
	})
}

// TestBench: US 7 from a casting that comes out US 6: one size, 2.5535 mm.
func TestBench(t *testing.T) {
	six, err := Size(US, "6")
	require.NoError(t, err)
	out, err := mould(func(in *MouldIn) {
		bare(in)
		in.Piece, in.RingSystem, in.RingSize, in.ContractionPct, in.PatternInsideDiameterMM = RingPiece, US, "7", ptr(0), ptr(six/math.Pi)
	})
	require.NoError(t, err)
	stretch := out.BenchOptions[0]
	require.Equal(t, "stretch", stretch.Method)
	require.InDelta(t, 1, stretch.ChangeUS, 1e-9)
	require.InDelta(t, 100*2.553487/(six+1.5*math.Pi), stretch.StrainPct, 1e-5)
	// Volume is kept: thickness × width × length before and after.
	e := 1 + stretch.StrainPct/100
	require.InEpsilon(t, 1.5*1.5, stretch.ThicknessMM*stretch.ThicknessMM*e, 1e-12)
	require.Equal(t, "with_care", stretch.Verdict)
	with, err := mould(func(in *MouldIn) {
		bare(in)
		in.Piece, in.RingSystem, in.RingSize, in.ContractionPct, in.PatternInsideDiameterMM, in.StonesInPlace = RingPiece, US, "7", ptr(0), ptr(six/math.Pi), true
	})
	require.NoError(t, err)
	require.Equal(t, "no", with.BenchOptions[0].Verdict)
}

// TestOvalMould: the parallel curve of an oval keeps its exact circumference.
func TestOvalMould(t *testing.T) {
	out, err := mould(func(in *MouldIn) {
		in.InsideWidthMM, in.InsideHeightMM, in.ContractionPct = ptr(65), ptr(45), ptr(0)
	})
	require.NoError(t, err)
	require.InDelta(t, 174.218568-2*math.Pi*0.05, out.Mould.InsideCircumferenceMM, 5e-7)
	require.InDelta(t, 64.9, out.Mould.InsideWidthMM, 1e-9)
}

func TestMouldRefused(t *testing.T) {
	for field, edit := range map[string]func(*MouldIn){
		"inside_diameter_mm":         func(in *MouldIn) {},
		"ring_system":                func(in *MouldIn) { in.RingSize = "14" },
		"ring_size":                  func(in *MouldIn) { in.RingSystem, in.RingSize = UK, "14" },
		"inside_width_mm":            func(in *MouldIn) { in.InsideHeightMM = ptr(50) },
		"inside_height_mm":           func(in *MouldIn) { in.InsideWidthMM, in.InsideHeightMM = ptr(60), ptr(math.NaN()) },
		"alloy":                      func(in *MouldIn) { in.InsideDiameterMM, in.Alloy = ptr(60), "silver-952" },
		"thickness_mm":               func(in *MouldIn) { in.InsideDiameterMM, in.ThicknessMM = ptr(60), -1 },
		"contraction_pct":            func(in *MouldIn) { in.InsideDiameterMM, in.ContractionSpreadPct = ptr(60), ptr(0.2) },
		"gain_thickness_mm":          func(in *MouldIn) { in.InsideDiameterMM, in.GainThicknessMM = ptr(60), ptr(1.4) },
		"pattern_inside_diameter_mm": func(in *MouldIn) { in.InsideDiameterMM, in.PatternInsideDiameterMM = ptr(60), ptr(600) },
	} {
		_, err := mould(edit)
		require.ErrorContains(t, err, field+":")
	}
}

// TestStudentsT: the two-sided 95 % points of the t table in NIST/SEMATECH
// e-Handbook of Statistical Methods, 1.3.6.7.2 (from memory): 12.706, 2.776, 2.262.
func TestStudentsT(t *testing.T) {
	for freedom, printed := range map[int]float64{1: 12.706, 4: 2.776, 9: 2.262} {
		require.InDelta(t, printed, student(freedom, 95), 0.0005, "%d degrees of freedom", freedom)
	}
}

func TestCalibration(t *testing.T) {
	// Contractions 1, 2 and 3 %: mean 2, s 1, t(2, 95 %) = 4.303.
	out, err := CalibrateMould(context.Background(), MouldCalibrationIn{MouldMM: []float64{101, 102, 103}, CastMM: []float64{100, 100, 100}, PatternMM: []float64{101, 102, 103}, ConfidencePct: 95})
	require.NoError(t, err)
	require.InDelta(t, 2, out.Contraction.TypicalPct, 1e-9)
	require.InDelta(t, 1, out.Contraction.DeviationPct, 1e-9)
	require.InDelta(t, 4.303/math.Sqrt(3), out.Contraction.MeanSpread, 0.0005)
	require.InDelta(t, 4.303*math.Sqrt(4.0/3), out.Contraction.NextSpread, 0.001)
	require.InDelta(t, 0, out.SpringBack.TypicalPct, 1e-12)
	require.Empty(t, out.Suspect)
	out, err = CalibrateMould(context.Background(), MouldCalibrationIn{MouldMM: []float64{101.5, 101.6, 101.7, 101.6, 101.5, 104}, CastMM: []float64{100, 100, 100, 100, 100, 100}, ConfidencePct: 95, Alloy: "silver-925"})
	require.NoError(t, err)
	require.Equal(t, []int{6}, out.Suspect)
	for field, in := range map[string]MouldCalibrationIn{
		"cast_mm":    {MouldMM: []float64{60, 61}, CastMM: []float64{59}, ConfidencePct: 95},
		"mould_mm":   {ConfidencePct: 95},
		"cast_mm[1]": {MouldMM: []float64{60, 61}, CastMM: []float64{59, 16}, ConfidencePct: 95},
		"pattern_mm": {MouldMM: []float64{60, 61}, CastMM: []float64{59, 60}, PatternMM: []float64{60}, ConfidencePct: 95},
	} {
		_, err := CalibrateMould(context.Background(), in)
		require.ErrorContains(t, err, field+":")
	}
}

// A surface stands for the measures of the pattern at hand.
func TestPatternMesh(t *testing.T) {
	surface := mesh.Of(mesh.Torus(34, 1.2, 360, 48)) // round wire of 2.4 mm, 65.6 mm inside
	in := calc.Default[MouldIn]()
	in.InsideDiameterMM, in.Shape, in.ThicknessMM, in.Alloy = ptr(62), section.Round, 2.4, "silver-925"
	in.PatternMesh = &surface
	drawn, err := PlanMould(context.Background(), in)
	require.NoError(t, err)
	in.PatternMesh = nil
	in.PatternInsideDiameterMM, in.PatternThicknessMM, in.PatternWidthMM = ptr(65.6), ptr(2.4), ptr(2.4)
	measured, err := PlanMould(context.Background(), in)
	require.NoError(t, err)
	const chords = 0.05 // mm: sagitta of the facets, times π
	require.InDelta(t, measured.Edit.ArcMM, drawn.Edit.ArcMM, chords)

	in.PatternMesh = &surface
	_, err = PlanMould(context.Background(), in)
	require.ErrorContains(t, err, "pattern_mesh")
}
