package metal

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// measured are the colours that the fit rests on and some that it does not.
// Gold-silver: computed from the film model of Rioux et al. (2014) for D65, 2°,
// normal incidence. ISO 8654: chromaticities as printed, with compositions
// usual for them. Patents: a middle of the range claimed. Brasses: from the
// optical constants of Querry (1985). The tolerances are the worst residual of
// the fit (3.0, 2.2, 2.3, so 4.4 together) and what read sources for one pure
// metal differ by (9 for gold, 5 for copper).
var measured = []struct {
	what  string
	c     Composition
	lab   Lab
	limit float64 // Delta E
}{
	{"silver", Composition{"Ag": 1}, Lab{99.6, -.1, .5}, 1},
	{"169 gold", Composition{"Au": .169, "Ag": .831}, Lab{98.8, -.5, 2.0}, 5},
	{"313 gold", Composition{"Au": .313, "Ag": .687}, Lab{97.9, -1.2, 4.6}, 5},
	{"439 gold", Composition{"Au": .439, "Ag": .561}, Lab{96.9, -2.2, 8.5}, 5},
	{"549 gold", Composition{"Au": .549, "Ag": .451}, Lab{96.1, -3.4, 13.0}, 5},
	{"646 gold", Composition{"Au": .646, "Ag": .354}, Lab{95.4, -4.6, 18.0}, 4.4},
	{"733 gold", Composition{"Au": .733, "Ag": .267}, Lab{94.7, -5.4, 23.0}, 4.4},
	{"810 gold", Composition{"Au": .810, "Ag": .190}, Lab{94.2, -5.5, 27.9}, 4.4},
	{"880 gold", Composition{"Au": .880, "Ag": .120}, Lab{93.6, -4.6, 32.3}, 4.4},
	{"943 gold", Composition{"Au": .943, "Ag": .057}, Lab{92.8, -2.2, 36.0}, 4.4},
	{"gold", Composition{"Au": 1}, Lab{92.0, 1.7, 39.2}, 1},
	{"copper", Composition{"Cu": 1}, Lab{88.5, 12.7, 15.0}, 1},
	{"copper of another source", Composition{"Cu": 1}, Lab{86.1, 11.9, 13.1}, 5},
	{"585 with 340 silver, 0N", Composition{"Au": .585, "Ag": .340, "Cu": .075}, Lab{91.7, -4.4, 17.6}, 4.4},
	{"585 with 260 silver, 1N", Composition{"Au": .585, "Ag": .260, "Cu": .155}, Lab{92.6, .4, 21.9}, 4.4},
	{"750 with 160 silver, 2N", Composition{"Au": .750, "Ag": .160, "Cu": .090}, Lab{92.6, .5, 25.5}, 4.4},
	{"750 with 125 silver, 3N", Composition{"Au": .750, "Ag": .125, "Cu": .125}, Lab{91.2, 2.5, 24.1}, 4.4},
	{"750 with 90 silver, 4N", Composition{"Au": .750, "Ag": .090, "Cu": .160}, Lab{91.7, 5.9, 22.0}, 4.4},
	{"750 with 45 silver, 5N", Composition{"Au": .750, "Ag": .045, "Cu": .205}, Lab{91.7, 9.2, 19.8}, 4.4},
	{"US 7413705, 585", Composition{"Au": .585, "Ag": .105, "Cu": .310}, Lab{91, 6, 19}, 4.4},
	{"US 7413705, 752", Composition{"Au": .752, "Ag": .070, "Cu": .178}, Lab{91, 6, 19}, 4.4},
	{"US 5749979, with zinc", Composition{"Au": .589, "Ag": .134, "Cu": .241, "Zn": .036}, Lab{90, 1, 20}, 5},
	{"brass of 10 % zinc", Composition{"Cu": .9, "Zn": .1}, Lab{89.3, 5.2, 22.8}, 5},
	{"brass of 15 % zinc", Composition{"Cu": .85, "Zn": .15}, Lab{88.7, 1.9, 26.0}, 5},
	{"brass of 30 % zinc", Composition{"Cu": .7, "Zn": .3}, Lab{90.8, -2.5, 28.6}, 5},
}

func TestColoursMeetWhatWasMeasured(t *testing.T) {
	for _, m := range measured {
		lab, band, ok := m.c.Colour()
		require.True(t, ok, m.what)
		require.Less(t, lab.DeltaE(m.lab), m.limit, "%s: %v for %v", m.what, lab, m.lab)
		require.Less(t, lab.DeltaE(m.lab), 2*band, m.what)
	}
	_, _, ok := mustParse("Au 750 Ag 150 Pd 100").Colour()
	require.False(t, ok, "no colour was measured with palladium")
}

// Zinc is not copper: the red of a 14 carat gold goes when zinc takes the
// place of a third of its copper.
func TestZincIsNotCopper(t *testing.T) {
	with, _, _ := mustParse("Au 585 Ag 100 Cu 250 Zn 65").Colour()
	without, _, _ := mustParse("Au 585 Ag 100 Cu 315").Colour()
	require.Greater(t, without.A-with.A, 5.0)
}

// The chromaticities of ISO 8654 in L*a*b*, computed apart from this code for
// the same Y; the last digit of x and y moves a* and b* by 0.1 to 0.2.
func TestDesignations(t *testing.T) {
	for code, want := range map[string]Lab{
		"0N": {91.7, -4.4, 17.6}, "1N": {92.6, .4, 21.9}, "2N": {92.6, .5, 25.5},
		"3N": {91.2, 2.5, 24.1}, "4N": {91.7, 5.9, 22.0}, "5N": {91.7, 9.2, 19.8},
	} {
		got, ok := Designation(code)
		require.True(t, ok)
		require.Less(t, got.DeltaE(want), 0.3, "%s %v", code, got)
	}
	for text, code := range map[string]string{"Au 750 Ag 160 Cu 90": "2N", "Au 750 Ag 125 Cu 125": "3N", "Au 750 Ag 90 Cu 160": "4N", "Au 750 Ag 45 Cu 205": "5N"} {
		require.Equal(t, code, ColourOf(mustParse(text)).ISO8654, text)
	}
	require.Empty(t, ColourOf(mustParse("Au 999 Ag 1")).ISO8654, "fine gold has no designation")
	require.Empty(t, ColourOf(mustParse("Ag 925 Cu 75")).ISO8654)
}

// IEC 61966-2-1: white is white, and the primaries of sRGB have these colours
// (computed from the matrix of the standard).
func TestSwatches(t *testing.T) {
	for text, lab := range map[string]Lab{"#FFFFFF": {100, 0, 0}, "#000000": {0, 0, 0}, "#777777": {50.03, 0, 0}, "#FF0000": {53.24, 80.09, 67.20}, "#00FF00": {87.73, -86.18, 83.18}, "#0000FF": {32.30, 79.19, -107.86}} {
		require.Equal(t, text, lab.SRGB(), "%v", lab)
	}
	back := labOf(.3127, .3290, 100)
	require.InDelta(t, 0, math.Hypot(back.A, back.B), 0.1, "D65 is without colour")
}
