package unit

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	const exact = 1e-12   // relative; the factors are exact, one rounding each
	const printed4 = 5e-5 // mm: last printed digit
	for _, c := range []struct {
		field, text string
		want, tol   float64
		source      string
	}{
		{"mass_g", "1 gr", 0.06479891, exact, "International yard and pound agreement, 1959"},
		{"mass_g", "1 dwt", 1.55517384, exact, "24 grains"},
		{"mass_g", "1 ozt", 31.1034768, exact, "480 grains"},
		{"mass_g", "1 lbt", 373.2417216, exact, "5760 grains"},
		{"mass_g", "1 oz", 28.349523125, exact, "437.5 grains"},
		{"mass_g", "1 lb", 453.59237, exact, "7000 grains"},
		{"mass_g", "1 tola", 11.6638038, exact, "180 grains"},
		{"mass_g", "5 ct", 1, exact, "metric carat, 0.2 g"},
		{"mass_g", "2.5", 2.5, exact, "canonical unit"},
		{"stone_ct", "0.06 g", 0.3, exact, "metric carat"},
		{"stone_ct", "50 pt", 0.5, exact, "point, 0.01 ct"},
		{"wall_mm", "0.25 in", 6.35, exact, "inch, 25.4 mm"},
		{"wall_mm", "14 B&S", 1.6277, printed4, "ASTM B258, 14 gauge, 0.06408 in"},
		{"wall_mm", "36 B&S", 0.127, exact, "ASTM B258, defining gauge"},
		{"wall_mm", "40 B&S", 0.0799, printed4, "ASTM B258, 0.003145 in"},
		{"mass_g", "1 250 g", 1250, exact, "thousands parted by a space"},
		{"mass_g", "-12 250,5 g", -12250.5, exact, "thousands parted by a space"},
		{"mass_g", "1\u00a0234\u00a0567", 1234567, exact, "thousands parted by no-break spaces"},
		{"wall_mm", "1 250/1000 in", 1.25 * 25.4, exact, "a mixed fraction"},
		{"mass_g", "1\u202f250 g", 1250, exact, "thousands parted by a narrow space"},
		{"wall_mm", "0 B&S", 8.2515, printed4, "ASTM B258, 0.32486 in"},
		{"wall_mm", "26 B&S", 0.4049, printed4, "ASTM B258, 0.01594 in"},
		{"pour_c", "1763.6 F", 962, 1e-9, "Fahrenheit scale"},
		{"pour_c", "1234.93 K", 961.78, 1e-9, "freezing point of silver, ITS-90"},
		{"area_mm2", "1 in2", 645.16, exact, "inch"},
		{"area_mm2", "1 in²", 645.16, exact, "inch"},
		{"area_mm2", "1 cm²", 100, exact, "centimetre"},
		{"area_mm2", "1 cm2", 100, exact, "centimetre"},
		{"volume_mm3", "1 in3", 16387.064, exact, "inch"},
		{"volume_mm3", "1 in³", 16387.064, exact, "inch"},
		{"volume_mm3", "1 cm³", 1000, exact, "centimetre"},
		{"volume_mm3", "1 l", 1e6, exact, "litre"},
		{"wall_mm", "1 ft", 304.8, exact, "foot"},
		{"wall_mm", "5 um", 0.005, exact, "micrometre"},
		{"work_min", "90 s", 1.5, exact, "second"},
		{"work_min", "7 min", 7, exact, "canonical unit"},
		{"time_s", "2 h", 7200, exact, "hour"},
		{"time_s", "250 ms", 0.25, exact, "millisecond"},
		{"price_per_gram", "2 /g", 2, exact, "canonical unit"},
		{"stone_ct", "40 mg", 0.2, exact, "metric carat"},
		{"margin_permil", "1,2 %", 12, exact, "per cent"},
		{"volume_mm3", "2.4 ml", 2400, exact, "litre"},
		{"time_s", "2 min", 120, exact, "minute"},
		{"work_min", "1.5 h", 90, exact, "hour"},
		{"mass_g", "1e2 mg", 0.1, exact, "exponent"},
		{"mass_g", " 3g ", 3, exact, "white space"},
		{"ratio", "0.5", 0.5, exact, "pure number"},
		{"mass_g", "2,5 ozt", 2.5 * 31.1034768, exact, "decimal comma"},
		{"mass_g", "1 1/2 ozt", 1.5 * 31.1034768, exact, "mixed fraction"},
		{"mass_g", "1½ ozt", 1.5 * 31.1034768, exact, "mixed fraction in one sign"},
		{"wall_mm", "1/8 in", 25.4 / 8, exact, "fraction"},
		{"wall_mm", "2-3/16 in", 25.4 * 35 / 16, exact, "mixed fraction with a hyphen"},
		{"wall_mm", "-1/8 in", -25.4 / 8, exact, "negative fraction"},
		{"wall_mm", "17,3", 17.3, exact, "decimal comma"},
		{"wall_mm", "1.234,5", 1234.5, exact, "point parts thousands, comma the decimals"},
		{"wall_mm", "1,234.5", 1234.5, exact, "comma parts thousands, point the decimals"},
		{"wall_mm", "1'250", 1250, exact, "Swiss thousands"},
		{"wall_mm", "1.234.567", 1234567, exact, "two marks can only part thousands"},
		{"wall_mm", "0,925", 0.925, exact, "a nought is not a thousand"},
		{"wall_mm", "17.325", 17.325, exact, "a lone point is a decimal mark"},
		{"wall_mm", "１７，３", 17.3, exact, "full-width digits"},
		{"price_per_gram", "29.55 /ozt", 29.55 / 31.1034768, exact, "price of a troy ounce"},
		{"price_per_gram", "3000 /kg", 3, exact, "price of a kilogram"},
		{"price_per_gram", "31.1034768 /ozt", 1, exact, "price of a troy ounce"},
		{"price_per_gram", "2 /dwt", 2 / 1.55517384, exact, "price of a pennyweight"},
		{"price_per_gram", "2 /tola", 2 / 11.6638038, exact, "price of a tola"},
		{"fineness_permil", "18 ct", 750, exact, "ISO 9202 mark"},
		{"fineness_permil", "14K", 585, exact, "ISO 9202 mark, not 14/24"},
		{"fineness_permil", "9 kt", 375, exact, "ISO 9202 mark"},
		{"lot_fineness_permil", "22 ct", 916, exact, "ISO 9202 mark, not 22/24"},
		{"fineness_permil", "Sterling", 925, exact, "name of a silver"},
		{"fineness_permil", "92,5 %", 925, exact, "per cent"},
	} {
		got, err := Parse(c.field, c.text)
		require.NoError(t, err, c.text)
		require.InDelta(t, c.want, got, c.tol*max(1, c.want), "%s: %s", c.text, c.source)
	}
}

func TestParseRefuses(t *testing.T) {
	for field, texts := range map[string][]string{
		"mass_g":          {"", "g", "1 stone", "1 mm", "NaN", "inf", "1e400", "1 2 g", "1 2500 g", "1 25 g", "1250 250 g", "1 250 25 g", "--1 g", "1 OZT", "1,250 g", "1.23.4 g", "1,2,3 g", "1.2,3.4", "1/0 g", "1 3/2 g", "1.5 1/2 g", "sterling", "1/2/3 g", ".", "0/8 g", "1/1001 g", "1234'567 g", "1'23 g", "'250 g", "1'2x0 g", "5. 0 g", "1.2.34 g", ".5.5 g"},
		"wall_mm":         {"14.5 B&S", "-1 B&S", "41 B&S", "99 B&S", "1 g"},
		"ratio":           {"1 g", "one", "1/8 in"},
		"margin_permil":   {"18 ct"},
		"fineness_permil": {"13 ct", "gold"},
		"price_per_gram":  {"29 /oz"},
	} {
		for _, text := range texts {
			_, err := Parse(field, text)
			require.ErrorContains(t, err, "give a number", "%s = %q", field, text)
		}
	}
}

// What could be read in two ways says so, and both ways.
func TestAmbiguousComma(t *testing.T) {
	_, err := Parse("mass_g", "1,250 g")
	require.ErrorIs(t, err, ErrAmbiguous)
	require.ErrorContains(t, err, "write 1250 or 1.250")
	for text, want := range map[string]float64{"7¼": 7.25, "7 1/4": 7.25, "1e-3": 1e-3, "1,25e2": 125} {
		v, err := Number(text)
		require.NoError(t, err, text)
		require.InEpsilon(t, want, v, 1e-15, text)
	}
	for _, text := range []string{"", "7 mm", "1,250"} {
		_, err := Number(text)
		require.Error(t, err, text)
	}
}

func TestUnitsAreReadInProportion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "v")
		once, err := Parse("mass_g", "1 ozt")
		require.NoError(t, err)
		many, err := Parse("mass_g", strconv.FormatFloat(v, 'g', -1, 64)+" ozt")
		require.NoError(t, err)
		require.InEpsilon(t, 1+v*once, 1+many, 1e-9)
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"2.5 ozt", "14 B&S", "1e5", "-", "1e", "９ g", "1830 °F", "", "1.234,5 g", "1 1/2 ozt", "1,250", "１７，３", "18 ct", "7⅛ in", "1/1000000000000000000000"} {
		f.Add("mass_g", s)
		f.Add("pour_c", s)
	}
	f.Fuzz(func(t *testing.T, field, text string) {
		v, err := Parse(field, text)
		if err == nil && (v != v || v-v != 0) {
			t.Fatalf("Parse(%q, %q) = %v", field, text, v)
		}
	})
}

// TestEveryUnit holds each unit of each kind to a value written down here: none
// is without one.
func TestEveryUnit(t *testing.T) {
	const grain = 0.06479891
	for ending, want := range map[string]map[string]float64{
		"_mm":       {"mm": 1, "cm": 10, "m": 1000, "um": 0.001, "µm": 0.001, "in": 25.4, "inch": 25.4, "ft": 304.8},
		"_mm2":      {"mm2": 1, "mm²": 1, "cm2": 100, "cm²": 100, "in2": 645.16, "in²": 645.16},
		"_mm3":      {"mm3": 1, "mm³": 1, "cm3": 1000, "cm³": 1000, "ml": 1000, "l": 1000000, "in3": 16387.064, "in³": 16387.064},
		"_g":        {"g": 1, "kg": 1000, "mg": 0.001, "ct": 0.2, "gr": grain, "dwt": 1.55517384, "ozt": 31.1034768, "lbt": 373.2417216, "oz": 28.349523125, "lb": 453.59237, "tola": 11.6638038},
		"_ct":       {"ct": 1, "pt": 0.01, "g": 5, "mg": 0.005},
		"_c":        {"C": 1, "°C": 1},
		"_s":        {"s": 1, "ms": 0.001, "min": 60, "h": 3600},
		"_min":      {"min": 1, "s": 1. / 60, "h": 60},
		"_pct":      {"%": 1},
		"_permil":   {"‰": 1, "%": 10},
		"_per_gram": {"/g": 1, "/kg": 0.001, "/ozt": 1 / 31.1034768, "/dwt": 1 / 1.55517384, "/tola": 1 / 11.6638038},
	} {
		require.Len(t, kinds[ending].scale, len(want), ending)
		for name, one := range want {
			v, err := Parse("x"+ending, "3 "+name)
			require.NoError(t, err, name)
			require.InEpsilon(t, 3*one, v, 1e-12, "%s in %s", name, ending)
		}
	}
	// Fineness by carat: the marks of ISO 9202 where it has one, else those of
	// the trade; by name: sterling 925, Britannia 958 (hallmarks), fine 999.
	want := map[string]float64{"8 ct": 333, "9 ct": 375, "10 ct": 417, "12 ct": 500, "14 ct": 585, "15 ct": 625, "18 ct": 750, "20 ct": 833, "21 ct": 875, "22 ct": 916, "24 ct": 999,
		"sterling": 925, "britannia": 958, "fine": 999}
	require.Len(t, want, len(caratMarks)+len(fineness.words))
	for text, permil := range want {
		v, err := Parse("fineness_permil", text)
		require.NoError(t, err)
		require.Equal(t, permil, v, text)
	}
}

// TestHintsNameWhatIsAccepted: words only where there are some.
func TestHintsNameWhatIsAccepted(t *testing.T) {
	_, err := Parse("fineness_permil", "gold")
	require.ErrorContains(t, err, "or one of britannia, fine, sterling")
	_, err = Parse("mass_g", "heavy")
	require.ErrorContains(t, err, "in g, or with one of the units")
	require.NotContains(t, err.Error(), "or one of ,")
	require.NotContains(t, err.Error(), "sterling")
}
