package sizing

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/section"
	"pourwright/internal/shape"
)

func codes(list []calc.Caution) []string {
	var c []string
	for _, x := range list {
		c = append(c, x.Code)
	}
	return c
}

// A ring comes out half to a whole size small if nothing is allowed for
// (common practice, no source): the pattern has the finished size, and the
// casting is read before the bench.
func TestRingComesOutSmall(t *testing.T) {
	for _, size := range []string{"5", "7", "10"} {
		out, err := mould(func(in *MouldIn) {
			in.Piece, in.RingSystem, in.RingSize = RingPiece, US, size
			c, err := Size(US, size)
			require.NoError(t, err)
			in.PatternInsideDiameterMM = ptr(c / math.Pi)
		})
		require.NoError(t, err)
		cast := out.Edit.ImpressionInsideMM / (1 + out.ContractionPct/100)
		short := (out.Finished.InsideDiameterMM - cast) / 0.8128 // US sizes of 0.032 in
		require.True(t, short >= 0.5 && short <= 1, "size %s comes out %.2f sizes small", size, short)
		require.Greater(t, out.PatternWanted.InsideDiameterMM, out.Finished.InsideDiameterMM)
		require.InEpsilon(t, out.Mould.InsideDiameterMM+0.2, out.PatternWanted.InsideDiameterMM, 1e-12)
	}
	// A hard core and a cuff give way to nothing, and one's own figure stands.
	for _, edit := range []func(*MouldIn){
		func(in *MouldIn) { in.Restraint = HardCore }, func(in *MouldIn) { in.Restraint = FreeToShrink },
		func(in *MouldIn) { in.Piece = CuffPiece }, func(in *MouldIn) { in.CoreGiveMM = ptr(0) },
	} {
		out, err := mould(func(in *MouldIn) { in.InsideDiameterMM = ptr(62); edit(in) })
		require.NoError(t, err)
		require.Equal(t, out.Mould.InsideDiameterMM, out.PatternWanted.InsideDiameterMM)
	}
}

// An explicit nought of contraction is a nought, of the section too.
func TestNoContraction(t *testing.T) {
	out, err := mould(func(in *MouldIn) { bare(in); in.InsideDiameterMM, in.ContractionPct = ptr(62), ptr(0) })
	require.NoError(t, err)
	require.Equal(t, out.Finished, out.Mould)
	require.Zero(t, out.SectionContraction)
	length, thickness, width := 40.0, 2.0, 5.0
	bar, err := (&shape.Shape{Kind: shape.Bar, LengthMM: &length, ThicknessMM: &thickness, WidthMM: &width, Profile: section.D}).Resolve(context.Background())
	require.NoError(t, err)
	in := calc.Default[MouldIn]()
	bare(&in)
	in.Alloy, in.ContractionPct = "silver-925", ptr(0)
	straight, err := MouldOf(context.Background(), bar, false, in)
	require.NoError(t, err)
	require.InDelta(t, 2.0, straight.Mould.Section.ThicknessMM, 1e-12)
	require.InDelta(t, 40.0, straight.ArcLengthMM, 1e-9)
}

// A closed bangle made to measure goes over the hand in the worst case of the
// contraction, with a tape that read 3 mm short.
func TestClosedBangleHasEase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hand := rapid.Float64Range(165, 250).Draw(t, "hand")
		fit, err := bangle(func(in *BangleIn) { in.HandCircumferenceMM = &hand })
		require.NoError(t, err)
		out, err := mould(func(in *MouldIn) { in.InsideDiameterMM = &fit.InsideDiameterMM })
		require.NoError(t, err)
		require.Greater(t, math.Pi*out.FinishedLeastMM, hand+2)
	})
}

// Cut 13.64 mm at the trough and let in 3.64 mm at the crest: never the sum.
func TestInstructionOfAnEdit(t *testing.T) {
	const repeats, arc = 12, 10.0
	impression := repeats * (arc + 7.28) / math.Pi // a repeat is 17.28 mm
	out, err := mould(func(in *MouldIn) {
		bare(in)
		in.ContractionPct, in.Repeats = ptr(0), repeats
		in.InsideDiameterMM, in.PatternInsideDiameterMM = ptr(impression-arc/math.Pi), &impression
	})
	require.NoError(t, err)
	require.InDelta(t, arc, out.Edit.ArcMM, 1e-9)
	require.Equal(t, "cut out 13.6 mm on the trough 52 mm from the gate clockwise, at 3 o'clock, and let in 3.6 mm on the crest 52 mm from the gate anticlockwise, at 9 o'clock", out.Edit.Instruction())
	require.InDelta(t, 13.64-3.64, out.Edit.Joints[0].ArcMM+out.Edit.Joints[1].ArcMM, 1e-9)

	for _, c := range []struct {
		edit PatternEdit
		want string
	}{
		{PatternEdit{Action: "insert", ArcMM: 6, ImpressionInsideMM: 60, Joints: []EditJoint{{AtDeg: 90, ArcMM: 3, On: "plain"}, {AtDeg: 270, ArcMM: 3, On: "plain"}}}, "let in 3.0 mm 47 mm from the gate clockwise, at 3 o'clock, and let in 3.0 mm 47 mm from the gate anticlockwise, at 9 o'clock"},
		{PatternEdit{Action: "insert", ArcMM: 6, ImpressionInsideMM: 60, Joints: []EditJoint{{AtDeg: 90, ArcMM: -2, On: "crest"}}}, "cut out 2.0 mm on the crest 47 mm from the gate clockwise, at 3 o'clock"},
		{PatternEdit{Action: "cut", ArcMM: 6, ImpressionInsideMM: 60, Joints: []EditJoint{{AtDeg: 80, On: "plain"}}}, "cut through and close again 42 mm from the gate clockwise, at half past 2"},
		{PatternEdit{Action: "cut", ArcMM: 6}, "shorten the impression by 3.0 mm at each end"},
		{PatternEdit{Action: "insert", ArcMM: 6}, "lengthen the impression by 3.0 mm at each end"},
		{PatternEdit{Action: "use_as_it_is"}, "leave the impression as it is"},
	} {
		require.Equal(t, c.want, c.edit.Instruction())
	}
}

// Hong Kong numbers of two published tables of diameters (a size guide of
// Malaysian and Hong Kong sizes, 6 to 25; a Chinese table of finger sizes, 1 to
// 30), which differ from each other by up to 0.2 mm.
func TestHongKongTables(t *testing.T) {
	const apart = 0.21 // mm of diameter
	for _, table := range []map[int]float64{
		{6: 14.1, 7: 14.5, 8: 14.8, 9: 15.2, 10: 15.5, 11: 15.9, 12: 16.2, 13: 16.6, 14: 16.9, 15: 17.3, 16: 17.7, 17: 18.0, 18: 18.3, 19: 18.7, 20: 19.0, 21: 19.4, 22: 19.7, 23: 20.1, 24: 20.4, 25: 20.8},
		{1: 12.3, 2: 12.6, 4: 13.3, 6: 14.1, 8: 14.8, 10: 15.4, 12: 16.1, 14: 16.9, 16: 17.6, 18: 18.3, 20: 19.0, 22: 19.5, 24: 20.2, 25: 20.7, 26: 21.0, 28: 21.6, 30: 22.6},
	} {
		for n, d := range table {
			c, err := Size(HongKong, fmt.Sprint(n))
			require.NoError(t, err)
			require.InDelta(t, d, c/math.Pi, apart, "%d", n)
		}
	}
}

// Indian numbers: two published charts of circumferences against C - 40.
func TestIndianRingCharts(t *testing.T) {
	const printed = 0.45 // mm: one chart goes by quarter US sizes
	for _, chart := range []map[int]float64{
		{1: 41, 5: 44.8, 7: 47.4, 10: 50, 13: 53.1, 14: 54.4, 17: 57, 20: 60.2, 23: 62.7, 25: 64.6, 28: 67.8, 30: 69.7},
		{8: 48.0, 10: 50.0, 11: 50.9, 14: 54.0, 17: 56.9, 20: 60.0, 22: 61.9, 25: 65.0},
	} {
		for n, c := range chart {
			got, err := Size("indian", fmt.Sprint(n))
			require.NoError(t, err)
			require.InDelta(t, c, got, printed, "%d", n)
		}
	}
	out, err := RingSizes(context.Background(), RingSizeIn{Size: "14", System: "indian", InsideProfile: FlatInside})
	require.NoError(t, err)
	require.Contains(t, codes(out.Cautions), "charts_differ")
}

func TestRingOverAKnuckle(t *testing.T) {
	const usStep = math.Pi * 25.4 * 0.032
	for _, c := range []struct {
		base, knuckle, us, advice string
	}{
		{"7", "7", "7", "base_size"}, {"7", "7 1/2", "7", "base_size"}, {"7", "6", "7", "base_size"},
		{"7", "8", "7 1/2", "between"}, {"6", "8", "7 1/2", "beads_or_spring"}, {"5", "9", "8 1/2", "hinged_shank"},
	} {
		out, err := RingSizes(context.Background(), RingSizeIn{Size: c.base, KnuckleSize: c.knuckle, System: US, InsideProfile: FlatInside})
		require.NoError(t, err)
		require.Equal(t, []string{c.us, c.advice}, []string{out.Knuckle.US, out.Knuckle.Advice}, "%s over %s", c.base, c.knuckle)
		require.InDelta(t, out.Knuckle.CircumferenceMM-out.CircumferenceMM, out.Knuckle.LooseMM, 1e-9)
		require.InDelta(t, math.Pi*out.Knuckle.DiameterMM, out.Knuckle.CircumferenceMM, 1e-9)
		require.InDelta(t, out.Knuckle.DifferenceMM, usStep*out.Knuckle.DifferenceUS, 1e-9)
		require.Equal(t, c.knuckle == "6", strings.Contains(strings.Join(codes(out.Cautions), " "), "knuckle_smaller"))
	}
	_, err := RingSizes(context.Background(), RingSizeIn{Size: "7", KnuckleSize: "Q", System: US, InsideProfile: FlatInside})
	require.ErrorContains(t, err, "knuckle_size")
}

func TestChildrensSizes(t *testing.T) {
	out, err := bangle(func(in *BangleIn) { in.HandCircumferenceMM = ptr(125) })
	require.NoError(t, err)
	require.Contains(t, codes(out.Cautions), "small_children")
	var names []string
	for _, n := range out.Names {
		names = append(names, n.Custom+" "+n.Size)
	}
	require.Subset(t, names, []string{"indian 1-10", "western baby"})
	out, err = bangle(func(in *BangleIn) { in.HandCircumferenceMM = ptr(205) })
	require.NoError(t, err)
	require.NotContains(t, codes(out.Cautions), "small_children")
	child, err := mould(func(in *MouldIn) { in.InsideDiameterMM = ptr(45) })
	require.NoError(t, err)
	require.Contains(t, codes(child.Cautions), "small_children")
	ring, err := mould(func(in *MouldIn) { in.Piece, in.RingSystem, in.RingSize = RingPiece, US, "7" })
	require.NoError(t, err)
	require.NotContains(t, codes(ring.Cautions), "small_children")
}

// TestASlimAdultsOvalIsNoChilds: a hand is flat, so that an oval fits a larger one
// than the circle of its circumference does. 58 × 48 mm is a slim adult's, 53 × 44
// mm a child's, and a circle of 53 mm too. Common practice, no source.
func TestASlimAdultsOvalIsNoChilds(t *testing.T) {
	for _, c := range []struct {
		wide, high float64
		child      bool
	}{{58, 48, false}, {53, 44, true}, {53, 53, true}, {60, 60, false}} {
		out, err := mould(func(in *MouldIn) { in.InsideDiameterMM, in.InsideWidthMM, in.InsideHeightMM = nil, &c.wide, &c.high })
		require.NoError(t, err)
		require.Equal(t, c.child, slices.Contains(codes(out.Cautions), "small_children"), "%v × %v mm", c.wide, c.high)
	}
}

func TestWristIsNoMeasureOfAClosedBangle(t *testing.T) {
	_, err := bangle(func(in *BangleIn) { in.WristMM = ptr(165) })
	require.ErrorContains(t, err, "goes over the hand")
	_, err = bangle(func(in *BangleIn) { in.Kind = CuffBangle })
	require.ErrorContains(t, err, "wrist_circumference_mm")
}

// A cuff of half a circle sprung to a straight gap: its skin is strained by
// t/2 times the change of curvature. By hand: mid-line 100 mm long, radius
// before 100/π, after from the chord.
func TestStrainOfASprungCuff(t *testing.T) {
	out, err := bangle(func(in *BangleIn) {
		in.Kind, in.OvalRatio, in.ThicknessMM = CuffBangle, 1, 2
		in.WristMM, in.GapMM, in.WristThicknessMM = ptr(170), 28, ptr(45)
	})
	require.NoError(t, err)
	before := 170/(2*math.Pi) + 1
	length := out.Cuff.BlankLengthMM
	after, ok := spring(length, 45+2)
	require.True(t, ok)
	require.InDelta(t, 47, 2*after*math.Sin(math.Pi-length/(2*after)), 1e-6)
	require.Greater(t, after, before)
	require.InEpsilon(t, 100*1*(1/before-1/after), out.Cuff.FlexStrainPct, 1e-9)
}

func TestTightIsNotTooSmall(t *testing.T) {
	for d, want := range map[float64]string{205.5 / math.Pi: "is tight", 203 / math.Pi: "does not pass"} {
		out, err := bangle(func(in *BangleIn) { in.HandCircumferenceMM, in.InsideDiameterMM = ptr(205), &d })
		require.NoError(t, err)
		text := ""
		for _, c := range out.Cautions {
			if c.Code == "does_not_pass" {
				text = c.Text
			}
		}
		require.Contains(t, text, want)
	}
}
