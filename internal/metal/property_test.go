package metal

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
)

var statuses = []calc.Status{calc.Confirmed, calc.Computed, calc.FromMemory, calc.Practice, calc.Choice}

// Every figure has a source, a standing and an uncertainty.
func TestEveryFigureIsSourced(t *testing.T) {
	check := func(name string, f figure) {
		require.NotZero(t, f.value, name)
		require.Positive(t, f.band, name)
		require.Less(t, f.band, 0.55*math.Abs(f.value), "%s: a band this wide says nothing", name)
		require.NotNil(t, f.source, name)
		require.NotEmpty(t, f.source.Text, name)
		require.Contains(t, statuses, f.source.Status, name)
	}
	for symbol, e := range elements {
		require.Equal(t, symbol, e.symbol)
		for what, f := range map[string]figure{
			"molar mass": e.molar, "density": e.density, "liquid density": e.liquidDensity, "thermal loss": e.thermalLoss,
			"melting": e.melting, "boiling": e.boiling, "expansion": e.expansion, "latent": e.latent, "cp": e.cpSolid,
			"cold conductivity": e.conductCold, "hot conductivity": e.conductHot, "liquid conductivity": e.conductLiquid,
			"surface tension": e.surface, "its slope": e.surfaceSlope, "viscosity": e.viscosity, "flow heat": e.flowHeat,
		} {
			check(symbol+" "+what, f)
		}
		require.Contains(t, unary, symbol)
	}
	seen := map[string]bool{}
	for _, a := range catalogue {
		require.False(t, seen[a.id], a.id)
		seen[a.id] = true
		require.NotNil(t, a.made, a.id)
		if a.liquidus.value != 0 {
			check(a.id+" solidus", a.solidus)
			check(a.id+" liquidus", a.liquidus)
			require.LessOrEqual(t, a.solidus.value, a.liquidus.value, a.id)
		}
		c, err := ParseComposition(a.composition)
		require.NoError(t, err, a.id)
		require.Equal(t, a.composition, c.String(), "%s: written with its largest part first and summing to 1000", a.id)
	}
	for _, id := range []string{"silver-999", "silver-958", "silver-935", "silver-925", "silver-900", "silver-835", "silver-800", "gold-750-yellow", "gold-585-yellow", "gold-375-yellow"} {
		require.True(t, seen[id], "%s is used by other packages", id)
	}
}

// The Gibbs energies against the handbook heats of the same metals: they are
// independent compilations, so the tolerance is the handbook's band and 3 %.
func TestHeatsOfTheElements(t *testing.T) {
	for symbol, e := range elements {
		q := part{element: e}
		tm := e.melting.value
		require.InDelta(t, e.latent.value, q.enthalpy(liquid, tm)-q.enthalpy(solid, tm), e.latent.band+0.03*e.latent.value, "latent heat of %s", symbol)
		part := 0.03
		if symbol == "Ni" || symbol == "Fe" {
			part = 0.06 // magnetic energy is left out
		}
		require.InDelta(t, e.cpSolid.value, q.specificHeat(solid, 25), e.cpSolid.band+part*e.cpSolid.value, "specific heat of %s", symbol)
		u := unary[symbol]
		// Where the two phases have equal Gibbs energy is the melting point.
		slope := u.solid.entropy(tm+zeroC) - u.liquid.entropy(tm+zeroC)
		offK := (u.solid.gibbs(tm+zeroC) - u.liquid.gibbs(tm+zeroC)) / slope
		tol := 1.5 // K
		if symbol == "Fe" {
			tol = 12 // its magnetic energy is left out
		}
		require.InDelta(t, 0, offK, tol, "K: melting point of %s from the Gibbs energies", symbol)
	}
	// Specific heats of solid silver and copper, kJ/(kg K), computed from SGTE.
	for _, row := range []struct{ T, ag, cu float64 }{
		{298.15, 0.2354, 0.3847}, {500, 0.2441, 0.4116}, {800, 0.2622, 0.4360}, {1000, 0.2767, 0.4492}, {1200, 0.2930, 0.4611},
	} {
		require.InDelta(t, row.ag, (&part{element: elements["Ag"]}).specificHeat(solid, row.T-zeroC), 6e-5)
		require.InDelta(t, row.cu, (&part{element: elements["Cu"]}).specificHeat(solid, row.T-zeroC), 6e-5)
	}
	// Heat of the solid from 25 °C to its melting point, kJ/kg, likewise; 0.1:
	// the last digit, and the 0.25 K by which the melting point of copper moved.
	require.InDelta(t, 245.2, (&part{element: elements["Ag"]}).enthalpy(solid, 961.78), 0.1)
	require.InDelta(t, 461.1, (&part{element: elements["Cu"]}).enthalpy(solid, 1084.62), 0.1)
}

func TestEntropyAndHeatCapacityAreSlopes(t *testing.T) {
	for symbol, u := range unary {
		for _, p := range []piecewise{u.solid, u.liquid} {
			for T := 320.0; T < 1600; T += 77 {
				require.InDelta(t, -(p.gibbs(T+0.01)-p.gibbs(T-0.01))/0.02, p.entropy(T), 1e-3, "%s at %g K", symbol, T)
				require.InDelta(t, (p.enthalpy(T+0.01)-p.enthalpy(T-0.01))/0.02, p.heatCapacity(T), 1e-2, "%s at %g K", symbol, T)
			}
		}
	}
}

func TestHandbookDensities(t *testing.T) {
	const lastDigit = 0.005
	for _, c := range []struct {
		composition string
		want, tol   float64 // g/cm³
		source      string
	}{
		{"Ag 925 Cu 75", 10.36, lastDigit + 0.005, "supplier's data sheet of sterling silver, read"},
		{"Ag 719 Cu 281", 10.0, 0.05, "ASTM B628, to the digits of a materials data page"},
		// Measured gold-silver alloys: T. K. Rose, The Metallurgy of Gold, table
		// XIV, at 15 °C, read; 0.1 is the scatter about a smooth line of his rows.
		// His 333/667 row, 13.00, lies 0.6 off the line of the others: left out.
		{"Au 917 Ag 83", 18.08, 0.1, "Rose"}, {"Au 879 Ag 121", 17.54, 0.1, "Rose"}, {"Au 843 Ag 157", 16.96, 0.1, "Rose"},
		{"Au 750 Ag 250", 16.03, 0.1, "Rose"}, {"Au 667 Ag 333", 15.07, 0.1, "Rose"}, {"Au 500 Ag 500", 13.60, 0.1, "Rose"},
		{"Ag 750 Au 250", 11.78, 0.1, "Rose"}, {"Ag 833 Au 167", 11.28, 0.1, "Rose"},
		// A metrologist's table of silver alloys, read, to 0.01 or 0.1 as printed.
		{"Ag 935 Cu 65", 10.37, 0.02, "table"}, {"Ag 925 Cu 75", 10.35, 0.02, "table"}, {"Ag 900 Cu 100", 10.3, 0.06, "table"},
		{"Ag 835 Cu 165", 10.2, 0.06, "table"}, {"Ag 800 Cu 200", 10.1, 0.06, "table"}, {"Ag 720 Cu 280", 9.98, 0.04, "table"},
		// Coin gold as measured, in a metallurgist's page after Rose, read. The
		// stated error of ideal mixing is 0.9 %.
		{"Au 916.67 Cu 83.33", 17.48, 0.16, "coins"}, {"Au 900 Cu 100", 17.16, 0.16, "coins"},
		// Golds and silvers of GOST 30649-99 and 6835/6836, read in a table and on
		// metal data pages that may themselves be computed. 0.04 is what the half per
		// cent of silver the standard leaves open and the last digit move. The printed
		// 15.47 of 500 gold with 100 silver is a misprint (12.5 by its neighbours).
		{"Au 375 Ag 20 Cu 605", 11.24, 0.04, "GOST"}, {"Au 375 Ag 100 Cu 525", 11.41, 0.04, "GOST"}, {"Au 375 Ag 160 Cu 465", 11.54, 0.04, "GOST"},
		{"Au 375 Ag 250 Cu 375", 11.74, 0.04, "GOST"}, {"Au 585 Ag 415", 14.30, 0.04, "GOST"}, {"Au 585 Ag 80 Cu 335", 13.24, 0.04, "GOST"},
		{"Au 585 Ag 200 Cu 215", 13.60, 0.04, "GOST"}, {"Au 585 Ag 300 Cu 115", 13.92, 0.04, "GOST"}, {"Au 750 Ag 125 Cu 125", 15.45, 0.04, "GOST"},
		{"Au 750 Ag 150 Cu 100", 15.53, 0.04, "GOST"}, {"Au 500 Ag 200 Cu 300", 12.74, 0.04, "GOST"}, {"Ag 960 Cu 40", 10.43, 0.04, "GOST"}, {"Ag 800 Cu 200", 10.13, 0.04, "GOST"},
		{"Cu 880 Sn 80 Zn 40", 8.80, 0.12, "C90300, from memory"},
		{"Cu 880 Sn 100 Zn 20", 8.72, 0.12, "C90500, from memory"},
		{"Cu 850 Sn 50 Zn 50 Pb 50", 8.83, 0.12, "C83600, from memory"},
	} {
		m, err := Of(mustParse(c.composition), nil)
		require.NoError(t, err)
		require.InDelta(t, c.want, m.DensityGCm3(), c.tol, "%s (%s)", c.composition, c.source)
	}
	// 70/30 brass is 8.53, from memory: copper and zinc contract on mixing, and
	// the stated band must own it.
	brass, err := Named("brass-70-30")
	require.NoError(t, err)
	b := brass.Bands(20)[0]
	require.LessOrEqual(t, b.Low, 8.53)
	require.GreaterOrEqual(t, b.High, 8.53)
}

// Liquidus of silver-copper alloys against handbook figures. Read: 1640 °F for
// sterling in a jewellers' chart compiled from several books; 780 °C for the
// eutectic, ASTM B628; 1635 °F for 92.5 Ag 7.3 Cu 0.2 Li in Machinery's
// Handbook, 31st ed., table 1a, where 6 K are left for the lithium. The others
// are from memory. 925 and 900 are met within 3 K; at 835 and 800 handbook and
// assessment differ by 3 to 5 K, on both sides of each other, so 5 K is claimed.
func TestHandbookLiquidusOfSilver(t *testing.T) {
	for _, c := range []struct {
		silver, handbook, tol float64
	}{{0.97, 934, 3}, {0.925, (1640 - 32) / 1.8, 3}, {0.90, 875, 3}, {0.835, 838, bandSilverCopper}, {0.80, 820, bandSilverCopper}, {0.719, 780, 1}, {0.925, 890.6, 6}} {
		m, err := Of(Composition{"Ag": c.silver, "Cu": 1 - c.silver}, nil)
		require.NoError(t, err)
		require.InDelta(t, c.handbook, m.LiquidusC(), c.tol, "liquidus of %g silver", c.silver)
	}
}

// Every catalogue alloy of silver, gold and copper with a handbook range: the
// computed liquidus is met within the bands of both, the solidus within twice
// that where the handbook figure is not marked as weakly remembered.
func TestHandbookRangesOfGold(t *testing.T) {
	met := 0
	for _, a := range catalogue {
		if a.liquidus.value == 0 || a.kind != "gold" {
			continue
		}
		m, err := Named(a.id)
		require.NoError(t, err)
		if m.RangeBasis() != Assessed {
			continue
		}
		met++
		require.InDelta(t, a.liquidus.value, m.LiquidusC(), bandTernary, "liquidus of %s", a.id)
		if a.liquidus.source != weak {
			require.InDelta(t, a.solidus.value, m.SolidusC(), 2*bandTernary, "solidus of %s", a.id)
		}
	}
	require.GreaterOrEqual(t, met, 6)
}

// Gold-silver-copper alloys of GOST 30649-99 with densities and melting ranges,
// tabulated on an engineering bureau's page, read: nominal gold and silver, rest
// copper. The table goes in steps of 5 K, hence half a step beside the band.
// Solidus only where it is met: of 375 gold with 100 and 160 silver the table
// has it at 925 and 880, the model, which splits the solid in two, at 824 and 776.
func TestTabulatedRangesOfGold(t *testing.T) {
	const halfStep = 2.5
	for _, row := range []struct{ gold, silver, solidus, liquidus float64 }{
		{375, 20, 965, 985}, {375, 100, 0, 940}, {375, 160, 0, 900}, {375, 250, 770, 850}, {500, 100, 835, 925},
		{585, 415, 1025, 1030}, {585, 80, 880, 905}, {585, 200, 830, 845}, {585, 300, 835, 880},
	} {
		c := Composition{"Au": row.gold / 1000, "Ag": row.silver / 1000}
		if rest := 1000 - row.gold - row.silver; rest > 0 {
			c["Cu"] = rest / 1000
		}
		m, err := Of(c, nil)
		require.NoError(t, err)
		require.InDelta(t, row.liquidus, m.LiquidusC(), bandTernary+halfStep, "liquidus of %s", c)
		if row.solidus == 0 {
			require.True(t, cautioned(m, "solidus_in_doubt"), "%s", c)
		} else {
			require.InDelta(t, row.solidus, m.SolidusC(), bandTernary+halfStep, "solidus of %s", c)
		}
	}
}

// The bands of an estimate must own the errors it makes: of the tabulated
// alloys, each estimated from the others, nine in ten lie within.
func TestEstimatesKeepTheirBand(t *testing.T) {
	errors := leftOut()
	within := 0
	list := samples()
	for i, s := range list {
		r := interpolate(s.c, i, func(j int) float64 { return errors[j] })
		if math.Abs(r.liquidus-s.tableL) <= r.band {
			within++
		}
	}
	require.GreaterOrEqual(t, len(list), 25)
	require.GreaterOrEqual(t, float64(within), 0.9*float64(len(list)), "%d of %d", within, len(list))
}

func TestEstimatesAreSaid(t *testing.T) {
	for composition, code := range map[string]string{
		"Ag 920 Cu 70 Zn 10": "melting_range_estimated",
		"Ag 800 Pd 200":      "melting_range_estimated",
	} {
		m, err := Of(mustParse(composition), nil)
		require.NoError(t, err)
		require.True(t, cautioned(m, code), "%s: %v", composition, m.Cautions())
		own, err := Of(mustParse(composition), &MeltingRange{700, 900})
		require.NoError(t, err)
		require.False(t, cautioned(own, code), "the user's own range stands")
		require.Equal(t, 700.0, own.SolidusC())
	}
	m, err := Named("silver-solder-650")
	require.NoError(t, err)
	require.True(t, cautioned(m, "zinc_fume"))
	require.True(t, cautioned(m, "melting_range_tabulated"))
}

func cautioned(m Metal, code string) bool {
	for _, c := range m.Cautions() {
		if c.Code == code {
			return true
		}
	}
	return false
}

func TestCompositionsAreReadStrictly(t *testing.T) {
	for _, text := range []string{"", "Ag", "Ag 925", "Ag 925 Cu", "Ag 925 Cu 175", "ag 925 Cu 75", "Ag 925 Cu -75", "Ag 925 Ag 75", "Xx 1000", "Ag NaN", "Ag 1e400", "925 Ag 75 Cu"} {
		_, err := ParseComposition(text)
		var r *calc.Refusal
		require.ErrorAs(t, err, &r, "%q", text)
		require.Equal(t, "composition", r.Faults[0].Field)
	}
	c, err := ParseComposition(" Ag 925, Cu 75 ")
	require.NoError(t, err)
	require.Equal(t, Composition{"Ag": 0.925, "Cu": 0.075}, c)
	require.Equal(t, "Ag 925 Cu 75", c.String())
	_, err = Named("silver-952")
	require.ErrorContains(t, err, "silver-9")
	_, err = Of(Composition{"Ag": math.NaN(), "Cu": 1}, nil)
	require.Error(t, err)
	for _, r := range []MeltingRange{{900, 800}, {math.NaN(), 900}, {800, 9000}} {
		_, err = Of(Composition{"Ag": 1}, &r)
		require.Error(t, err)
	}
}

// anyComposition draws from all elements.
func anyComposition(t *rapid.T) Composition {
	symbols := rapid.SliceOfNDistinct(rapid.SampledFrom(Symbols()), 1, 6, rapid.ID[string]).Draw(t, "symbols")
	c, sum := Composition{}, 0.0
	for _, s := range symbols {
		c[s] = rapid.Float64Range(0.001, 1).Draw(t, s)
		sum += c[s]
	}
	for s := range c {
		c[s] /= sum
	}
	return c
}

// someMetal is the metal of c, with a range given where none is known.
func someMetal(t *rapid.T, c Composition) (Metal, *MeltingRange) {
	m, err := Of(c, nil)
	if err == nil {
		return m, nil
	}
	if !strings.Contains(err.Error(), "melting range of this metal is not known") {
		t.Fatalf("%s: %v", c, err)
	}
	own := &MeltingRange{700, 950}
	m, err = Of(c, own)
	if err != nil {
		t.Fatalf("%s: %v", c, err)
	}
	return m, own
}

func TestAnyMetalHasSoundProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyComposition(t)
		m, own := someMetal(t, c)
		least, most := math.Inf(1), 0.0
		for s := range c {
			d := elements[s].density.value / 1000
			least, most = min(least, d), max(most, d)
		}
		if rho := m.DensityGCm3(); rho < least-1e-9 || rho > most+1e-9 {
			t.Fatalf("%s: density %g outside its elements' %g to %g", c, rho, least, most)
		}
		h := math.Inf(-1)
		for tC := -50.0; tC < 2200; tC += 25 {
			next := m.EnthalpyKJKg(tC)
			if !(next > h) {
				t.Fatalf("%s: enthalpy falls at %g °C", c, tC)
			}
			h = next
			for what, v := range map[string]float64{
				"liquid density": m.LiquidDensityKgM3(tC), "conductivity": m.ConductivityWMK(tC), "surface tension": m.SurfaceTensionNM(tC), "viscosity": m.ViscosityPaS(tC),
			} {
				if !(v > 0) || math.IsInf(v, 0) {
					t.Fatalf("%s: %s is %g at %g °C", c, what, v, tC)
				}
			}
		}
		typical, low, high := m.ContractionPct()
		if !(low < typical && typical < high && low > 0 && high < 5) {
			t.Fatalf("%s: contraction %g, %g to %g", c, typical, low, high)
		}
		if !(m.LatentKJKg() > 0) {
			t.Fatalf("%s: latent heat %g", c, m.LatentKJKg())
		}
		// Order of the elements changes nothing: maps have none.
		again, err := Of(c, own)
		if err != nil || again.EnthalpyKJKg(900) != m.EnthalpyKJKg(900) || again.DensityGCm3() != m.DensityGCm3() {
			t.Fatalf("%s: a second time differs", c)
		}
	})
}

// Pure metals give back the handbook figures they are made of.
func TestPureMetals(t *testing.T) {
	for symbol, e := range elements {
		m, err := Of(Composition{symbol: 1}, nil)
		require.NoError(t, err)
		require.InDelta(t, e.surface.value, m.SurfaceTensionNM(e.melting.value), 1e-12)
		require.InDelta(t, e.viscosity.value, 1000*m.ViscosityPaS(e.melting.value), 1e-9)
		require.InDelta(t, e.liquidDensity.value, m.LiquidDensityKgM3(e.melting.value), 1e-9)
		require.InDelta(t, e.conductCold.value, m.ConductivityWMK(27), 1e-9)
		require.Equal(t, e.melting.value, m.LiquidusC())
	}
}

// Butler's equation satisfies its own condition, and a surface-active metal
// lowers the tension by more than its share.
func TestSurfaceTensionOfMixtures(t *testing.T) {
	m, err := Of(mustParse("Ag 950 Sn 50"), &MeltingRange{800, 930})
	require.NoError(t, err)
	const tC = 1000.0
	sigma := m.SurfaceTensionNM(tC)
	sum, mean := 0.0, 0.0
	for _, p := range m.parts {
		s := p.surface.value + p.surfaceSlope.value*(tC-p.melting.value)
		v := p.molar.value * 1e-3 / p.liquidDensityAt(tC)
		a := 1.091 * math.Cbrt(6.02214076e23) * math.Pow(v, 2.0/3)
		sum += p.mole * math.Exp((sigma-s)*a/(gasConstant*(tC+zeroC)))
		mean += p.mole * s
	}
	require.InDelta(t, 1, sum, 1e-6)
	require.Less(t, sigma, mean)
}
