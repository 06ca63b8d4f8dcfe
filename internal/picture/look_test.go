package picture_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/draw"
	"pourwright/internal/metal"
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
	pdf, err := draw.PDF(s)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(dir+"/"+name+".pdf", pdf, 0o644))
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
	below := standing
	below.Name, below.GatesAtPct, below.SprueMM = "Mould, filled from below", []float64{0}, 6
	below.Vents = []picture.Vent{{AtPct: 32, DiameterMM: 1}, {AtPct: 44, DiameterMM: 1}}
	s, err = picture.DrawMould(below, picture.Look{})
	see(t, "below", s, err)
	s, err = picture.DrawMould(lying(), picture.Look{})
	see(t, "lying", s, err)
}

var agCu = sterling(32)

// sterling is the computed diagram with about n points a line.
func sterling(n int) picture.Diagram {
	lines, err := metal.SilverCopperDiagram(n)
	if err != nil {
		panic(err)
	}
	m, err := metal.Named("silver-925")
	if err != nil {
		panic(err)
	}
	return picture.Diagram{Name: "Silver and copper", Lines: lines,
		Melt: picture.Melt{Name: "Sterling", AgPct: 92.5, LiquidusC: m.LiquidusC(), SolidusC: m.SolidusC(), PourC: 1000},
		Note: "Equilibrium; a casting freezes on to the eutectic"}
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
