package picture_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/draw"
	"pourwright/internal/picture"
	"pourwright/internal/section"
)

// Invented pieces.
var bangle = picture.Band{
	Name: "Bangle, size of the mould", InsideWidthMM: 63.4, StartDeg: 90,
	Profile: section.Profile{
		{AtPct: 0, Section: section.Section{Shape: section.HalfRound, ThicknessMM: 2.8, WidthMM: 8}},
		{AtPct: 50, Section: section.Section{Shape: section.HalfRound, ThicknessMM: 2.1, WidthMM: 5}},
		{AtPct: 100, Section: section.Section{Shape: section.HalfRound, ThicknessMM: 2.8, WidthMM: 8}},
	},
	Stones: []picture.SetStone{{AtPct: 92, DiameterMM: 2, Label: "1"}, {AtPct: 0, DiameterMM: 3, Label: "2"}, {AtPct: 8, DiameterMM: 2, Label: "3"}},
}

var cuff = picture.Band{
	Name: "Oval cuff", InsideWidthMM: 60, InsideHeightMM: 48, GapMM: 28, StartDeg: -90,
	Profile: section.Uniform(section.Section{Shape: section.D, ThicknessMM: 3, WidthMM: 10}),
}

// see writes a picture where POURWRIGHT_LOOK names a folder, for eyes.
func see(t *testing.T, name string, s *draw.Sheet, err error) {
	require.NoError(t, err)
	dir := os.Getenv("POURWRIGHT_LOOK")
	if dir == "" {
		return
	}
	png, err := s.PNG(110)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(dir+"/"+name+".png", png, 0o644))
	svg, err := s.SVG()
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(dir+"/"+name+".svg", svg, 0o644))
}

func TestBandLooks(t *testing.T) {
	s, err := picture.DrawBand(bangle, picture.Look{})
	see(t, "bangle", s, err)
	s, err = picture.DrawBand(cuff, picture.Look{True: true})
	see(t, "cuff", s, err)
}

var standing = picture.Mould{
	Name: "Mould, standing", FlaskWidthMM: 100, FlaskHeightMM: 110, FlaskDepthMM: 60, Band: turned(bangle, -90),
	FunnelTopMM: 18, FunnelDepthMM: 12, SprueMM: 8, GateMM: 5, SprueLengthMM: 14, GatesAtPct: []float64{50},
	Vents: []picture.Vent{{AtPct: 25, DiameterMM: 1}, {AtPct: 75, DiameterMM: 1}, {AtPct: 2, DiameterMM: 1}},
}

func turned(b picture.Band, startDeg float64) picture.Band {
	b.StartDeg = startDeg
	return b
}

func lying() picture.Mould {
	m := standing
	m.Name, m.Lying = "Mould, lying", true
	m.FlaskHeightMM, m.FlaskDepthMM = 50, 100
	m.SprueLengthMM = 7
	m.GatesAtPct = []float64{25}
	m.Vents = []picture.Vent{{AtPct: 75, DiameterMM: 1}, {AtPct: 100, DiameterMM: 1}}
	return m
}

func TestMouldLooks(t *testing.T) {
	s, err := picture.DrawMould(standing, picture.Look{})
	see(t, "standing", s, err)
	s, err = picture.DrawMould(lying(), picture.Look{})
	see(t, "lying", s, err)
}

// agCu is the diagram drawn freely between its well-known points.
var agCu = picture.Diagram{
	Name:             "Silver and copper",
	LiquidusOfCopper: picture.Line{AgPct: []float64{0, 20, 40, 60, 71.9}, TempC: []float64{1085, 1010, 930, 850, 779}},
	LiquidusOfSilver: picture.Line{AgPct: []float64{71.9, 80, 90, 100}, TempC: []float64{779, 820, 885, 962}},
	SolidusOfCopper:  picture.Line{AgPct: []float64{0, 4, 8}, TempC: []float64{1085, 930, 779}},
	SolidusOfSilver:  picture.Line{AgPct: []float64{100, 96, 91.2}, TempC: []float64{962, 880, 779}},
	SolvusOfCopper:   picture.Line{AgPct: []float64{8, 3, 1.3}, TempC: []float64{779, 650, 550}},
	SolvusOfSilver:   picture.Line{AgPct: []float64{91.2, 95, 98}, TempC: []float64{779, 660, 500}},
	EutecticAgPct:    71.9, EutecticC: 779,
	Melt: picture.Melt{Name: "Sterling", AgPct: 92.5, LiquidusC: 900, SolidusC: 805, PourC: 1000},
	Note: "Invented lines, for the tests of this package",
}

var masses = picture.Masses{
	Name: "Where the metal comes from and goes",
	In:   []picture.Mass{{Name: "Spoons of the client", G: 48.2}, {Name: "Fork, 800", G: 21}, {Name: "Fine silver bought", G: 11.4}, {Name: "Copper bought", G: 0.4}},
	Out:  []picture.Mass{{Name: "Casting", G: 42.6}, {Name: "Sprue and gates", G: 6.3}, {Name: "Button", G: 21.3}, {Name: "Reserve", G: 10}, {Name: "Loss", G: 0.8}},
}

func TestDiagramLooks(t *testing.T) {
	s, err := picture.DrawDiagram(agCu, picture.Look{})
	see(t, "diagram", s, err)
}

func TestMassesLook(t *testing.T) {
	s, err := picture.DrawMasses(masses, picture.Look{})
	see(t, "masses", s, err)
}
