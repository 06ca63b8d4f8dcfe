package commission

import (
	"encoding/base64"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/order"
	"pourwright/internal/section"
	"pourwright/internal/shape"
	"pourwright/internal/verdict"
)

// sterling is its density in g/mm³, as the catalogue of alloys has it.
var sterling = func() float64 {
	m, err := metal.Named("silver-925")
	if err != nil {
		panic(err)
	}
	return m.DensityGCm3() / 1000
}()

// made is a piece of each kind that small casters are asked for, with what a
// maker reckons by hand: the table says which mass, finished or as cast.
type made struct {
	name, pieces string
	order        string // further members of the order
	castG        bool
	mass         func(p *order.PiecePlan) float64 // g, by hand
	within       float64                          // relative
	why          string                           // of that tolerance
	parting      string
	pours        int
	verdicts     []verdict.Level
	steps, never []string
}

// The half ellipse: area π/4 w t, its centre 4/3π of t over the flat.
func halfRound(t, w float64) (area, centre float64) {
	return math.Pi / 4 * w * t, 4 * t / (3 * math.Pi)
}

// integral by the middle rule, 20,000 steps.
func integral(f func(x float64) float64) (sum float64) {
	const n = 20000
	for i := range n {
		sum += f((float64(i)+0.5)/n) / n
	}
	return sum
}

// drop by its documented outline: a half ellipse to 35 % of the length, then a
// cosine to a neck of a quarter; thickness 0.4 + 0.6 of the share of the width.
func dropMM3(long, t, w float64) float64 {
	return long * integral(func(f float64) float64 {
		g := 0.25 + 0.75*(1+math.Cos(math.Pi*(f-0.35)/0.65))/2
		if f < 0.35 {
			g = math.Sqrt(1 - math.Pow(1-f/0.35, 2))
		}
		area, _ := halfRound((0.4+0.6*g)*t, g*w)
		return area
	})
}

// plainSteps are on every sheet of a pour that is made.
var plainSteps = []string{"Ram dry oil-bonded clay", "Weigh out", "Melt with a little borax", "Pour without a break", "Saw off sprue and vents"}

func makes(t *testing.T) []made {
	goes := []verdict.Level{verdict.Go, verdict.Care}
	repeat := func(format string, names ...string) string {
		var list []string
		for _, n := range names {
			list = append(list, fmt.Sprintf(format, n))
		}
		return strings.Join(list, ",")
	}
	return []made{
		{name: "signet", pieces: `{"name": "signet", "kind": "signet", "ring_system": "us", "ring_size": "9", "thickness_mm": 2.4, "width_mm": 6, "back": {"thickness_mm": 1.6, "width_mm": 3}, "head": {"length_mm": 12, "width_mm": 10, "thickness_mm": 2.8}, "mould": {"posture": "lying"}}`,
			mass: func(*order.PiecePlan) float64 {
				return sterling * solidMM3(t, `{"kind": "signet", "inside_diameter_mm": 18.9484, "thickness_mm": 2.4, "width_mm": 6, "back": {"thickness_mm": 1.6, "width_mm": 3}, "head": {"length_mm": 12, "width_mm": 10, "thickness_mm": 2.8}}`)
			},
			within: 0.005, why: "facets of the solid that is measured", parting: "flat", pours: 1, verdicts: goes,
			steps: []string{"section beside the head 2.5 × 6.2 mm D-shaped", "stands upright for 5.1 mm", "file to 18.9 mm inside"}},
		{name: "oval bangle", pieces: `{"name": "oval", "kind": "bangle", "inside_width_mm": 58, "inside_height_mm": 48, "thickness_mm": 3, "width_mm": 6}`,
			mass: func(*order.PiecePlan) float64 {
				area, v := halfRound(3, 6)
				return sterling * area * (section.EllipsePerimeter(29, 24) + 2*math.Pi*v)
			}, within: 1e-6, why: "sums over 1440 steps", parting: "flat", pours: 1, verdicts: goes,
			steps: []string{"58.9 × 48.7 mm inside", "file to 58.0 × 48.0 mm inside"}},
		{name: "waving bangle", pieces: `{"name": "wave", "kind": "bangle", "inside_diameter_mm": 60, "thickness_mm": 3, "width_mm": 6, "wave": {"rise_mm": 6, "repeats": 3}, "mould": {"posture": "lying"}}`,
			mass: func(*order.PiecePlan) float64 {
				area, v := halfRound(3, 6)
				return sterling * area * 2 * math.Pi * integral(func(x float64) float64 { return math.Hypot(30+v, 9*math.Sin(6*math.Pi*x)) })
			}, within: 1e-6, why: "sums over 1440 steps", parting: "stepped", pours: 1, verdicts: []verdict.Level{verdict.Care},
			steps: []string{"Cut the clay of the first half to the widest line of the pattern"}},
		{name: "open cuff", pieces: `{"name": "cuff", "kind": "cuff", "wrist_circumference_mm": 165, "gap_mm": 28, "thickness_mm": 2, "width_mm": 8}`,
			mass: func(p *order.PiecePlan) float64 {
				return sterling * 2 * 8 * (1 - 28/(math.Pi*p.InsideMM)) * math.Pi * (p.InsideMM + 2)
			}, within: 1e-6, why: "sums over 1440 steps", parting: "flat", pours: 1, verdicts: []verdict.Level{verdict.Care},
			steps: []string{"with an opening of 28", "at the first end"}, never: []string{"o'clock"}},
		{name: "pair of bands", order: `"shared_pours": [{"pieces": ["his", "hers"]}],`,
			pieces: repeat(`{"name": %s, "kind": "ring", "ring_system": "us", "ring_size": "8", "profile": "rectangular", "thickness_mm": 2, "width_mm": 4, "mould": {"posture": "lying"}}`, `"his"`, `"hers"`),
			mass:   func(p *order.PiecePlan) float64 { return sterling * 2 * 4 * math.Pi * (p.InsideMM + 2) }, within: 1e-6, why: "sums over 1440 steps",
			parting: "flat", pours: 1, verdicts: goes, steps: []string{"in pairs on both sides of it", "a gate of 4 mm to each", "8 mm of clay between the pieces and 15 mm to the wall"}},
		{name: "drop earrings", order: `"shared_pours": [{"pieces": ["left", "right"]}],`,
			pieces: repeat(`{"name": %s, "kind": "drop", "length_mm": 28, "thickness_mm": 3, "width_mm": 10, "bail": {"inside_diameter_mm": 2.4, "wire_mm": 1.5}}`, `"left"`, `"right"`),
			mass: func(*order.PiecePlan) float64 {
				return sterling * (dropMM3(28, 3, 10) + 0.85*2*math.Pi*math.Pi*1.95*0.75*0.75)
			}, within: 0.005, why: "an eighth to a fifth of the bail's ring lies in the drop", parting: "flat", pours: 1, verdicts: goes,
			steps: []string{"Cut the gate as a fan", "side by side on a level runner", "file to 28.0 mm long"}},
		{name: "charms", order: `"grouping": "fewest_pours",`,
			pieces: repeat(`{"name": "charm %s", "kind": "disc", "length_mm": 14, "thickness_mm": 2, "mould": {"posture": "lying"}}`, "1", "2", "3", "4", "5", "6"),
			mass:   func(*order.PiecePlan) float64 { return sterling * math.Pi / 4 * 14 * 14 * 2 }, within: 1e-3, why: "steps at the round ends",
			parting: "flat", pours: 1, verdicts: goes, steps: []string{"charm 1, charm 2, charm 3, charm 4, charm 5, charm 6", "side by side on a level runner"}},
		{name: "weighed pendant", pieces: `{"name": "pendant", "kind": "pendant", "length_mm": 35, "thickness_mm": 2.5, "width_mm": 18, "bail": {"inside_diameter_mm": 4, "wire_mm": 1.8}, "weighed": {"mass_g": 1.55, "material": "wax"}}`,
			castG: true, mass: func(p *order.PiecePlan) float64 {
				return 1.55 / 0.96e-3 * sterling / math.Pow(1+p.Mould.ContractionPct/100, 3)
			}, within: 1e-3, why: "the bail is let in anew", parting: "flat", pours: 1, verdicts: goes, steps: []string{"cavity 35.0 mm long"}},
		{name: "ring of a surface", pieces: `{"name": "ring", "kind": "ring", "mesh": {"stl_base64": "` + ringSTL(t) + `"}}`,
			castG: true, mass: func(p *order.PiecePlan) float64 { // 2 × 5 mm on 17.6 mm, 0.1 mm of clay that gives way inside
				c, cs := 1+p.Mould.ContractionPct/100, 1+p.Mould.SectionContraction/100
				return sterling * 2.1 * 5 * math.Pi * (17.4 + 2.1) / (c * cs * cs)
			}, within: 0.01, why: "stations read from a surface", parting: "flat", pours: 1, verdicts: goes, steps: []string{"file to 17.2 mm inside"}},
	}
}

// solidMM3 is the volume that the solid of a shape encloses.
func solidMM3(t *testing.T, text string) float64 {
	body, err := readAs[shape.In](t, text).Resolve(ctx)
	require.NoError(t, err)
	return body.Solid().Solid().VolumeMM3
}

func ringSTL(t *testing.T) string {
	in := readAs[shape.In](t, `{"kind": "ring", "measures": "casting", "inside_diameter_mm": 17.6, "profile": "rectangular", "thickness_mm": 2, "width_mm": 5}`)
	out, err := shape.Describe(ctx, in)
	require.NoError(t, err)
	stl, err := shape.STL(ctx, in, out)
	require.NoError(t, err)
	return base64.StdEncoding.EncodeToString(stl)
}

// TestEveryKindOfPieceIsPlanned: each kind of piece from its order to its steps,
// with the mass that a maker reckons by hand. The tenth, a class, is in package class.
func TestEveryKindOfPieceIsPlanned(t *testing.T) {
	if testing.Short() {
		t.Skip("ten orders")
	}
	for _, want := range makes(t) {
		t.Run(want.name, func(t *testing.T) {
			in := read(t, `{"alloy": "silver-925", "improvements": false, `+want.order+` "lots": [{"id": "grain", "mass_g": 150, "alloy": "silver-925", "owner": "studio"}], "pieces": [`+want.pieces+`]}`)
			out, err := Plan(calc.Silent(ctx), in)
			require.NoError(t, err)
			require.Contains(t, want.verdicts, out.Verdict, out.Summary)
			pours := 0
			for i := range out.Pieces {
				p := &out.Pieces[i]
				got := p.FinishedG
				if want.castG {
					got = p.Mould.CastingMassG
				}
				require.InEpsilon(t, want.mass(p), got, want.within, want.why)
				require.Equal(t, want.parting, p.Parting.Parting)
				require.True(t, p.Parting.Draws)
				pours = max(pours, p.PourTurn)
			}
			require.Equal(t, want.pours, pours)
			steps := ""
			for _, s := range out.Steps {
				steps += s.Piece + ": " + s.Do + "\n"
			}
			for _, says := range append(want.steps, plainSteps...) {
				require.Contains(t, steps, says)
			}
			for _, says := range append(want.never, "0.0 g", "NaN", "%!") {
				require.NotContains(t, steps+out.Summary, says)
			}
		})
	}
}
