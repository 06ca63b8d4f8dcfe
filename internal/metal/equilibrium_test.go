package metal

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// setA is another adaptation of the Ag-Cu assessment of Hayes and others
// (1986), as the file agcu.TDB of a free equilibrium code carries it. It is
// not used; its published check values test the solver.
func setA() *system {
	ag := []polynomial{
		{upToK: 1235.08, a: -7209.512, b: 118.200733, c: -23.8463314, d: -1.790585e-3, e: -3.98587e-7, f: -12011},
		{upToK: 3000, a: -15095.314, b: 190.265169, c: -33.472, h: 1.412186e29}}
	cu := []polynomial{
		{upToK: 1358.02, a: -7770.458, b: 130.485403, c: -24.112392, d: -2.65684e-3, e: 1.29223e-7, f: 52478},
		{upToK: 3200, a: -13542.33, b: 183.804197, c: -31.38, h: 3.64643e29}}
	melted := func(p []polynomial, low, high polynomial) piecewise {
		out := piecewise{p[0], p[1]}
		for i, d := range []polynomial{low, high} {
			out[i].a += d.a
			out[i].b += d.b
			out[i].g += d.g
			out[i].h += d.h
		}
		return out
	}
	s := &system{symbols: []string{"Ag", "Cu"}, molar: vec{107.8682, 63.546}}
	s.pure[solid] = []piecewise{ag, cu}
	s.pure[liquid] = []piecewise{
		melted(ag, polynomial{a: 11025.293, b: -8.890146, g: -1.0322e-20}, polynomial{a: 11507.972, b: -9.300495, h: -1.412186e29}),
		melted(cu, polynomial{a: 12964.84, b: -9.510243, g: -5.83932e-21}, polynomial{a: 13495.4, b: -9.920463, h: -3.64643e29}),
	}
	s.pairs[liquid] = []pair{{0, 1, []term{{17534.6, -4.45479, 0}, {2251.3, -2.6733, 0}, {492.7, 0, 0}}}}
	s.pairs[solid] = []pair{{0, 1, []term{{33819.1, -8.1236, 0}, {-5601.9, 1.32997, 0}}}}
	return s
}

// Tolerances of values that the same equations must give again.
const (
	sameK    = 0.05 // K: the gas constant and the rounding of the lattice stabilities
	sameMole = 2e-5 // mole fraction: likewise
)

func cu(x float64) vec { return vec{1 - x, x} }

// byMass turns % silver by mass into mole fractions.
func byMass(s *system, silverPct float64) vec {
	a, c := silverPct/s.molar[0], (100-silverPct)/s.molar[1]
	return vec{a / (a + c), c / (a + c)}
}

func TestInvariantsOfSilverCopper(t *testing.T) {
	for _, c := range []struct {
		name                                string
		s                                   *system
		tmAg, tmCu, eutectic, melt, ag, cuR float64
	}{
		{"set A", setA(), 1235.080, 1358.020, 1056.124, 0.414907, 0.130065, 0.954186},
		// Melting points: ITS-90. Eutectic: 779.1 °C, 28.41, 8.27 and 92.53 % Cu by
		// mass on the Ag-Cu page of the NIST solder-systems database, 1999.
		{"NIST 1999", systems["Ag-Cu"], 1234.930, 1357.770, 1052.276, 0.402545, 0.132740, 0.954598},
	} {
		t.Run(c.name, func(t *testing.T) {
			for i, tm := range []float64{c.tmAg, c.tmCu} {
				require.InDelta(t, c.s.pure[solid][i].gibbs(tm), c.s.pure[liquid][i].gibbs(tm), 0.02, "J/mol: 0.002 K of the melting point")
			}
			T, melt, err := c.s.solidus(cu(0.5))
			require.NoError(t, err)
			require.InDelta(t, c.eutectic, T, sameK)
			require.InDelta(t, c.melt, melt[1], sameMole)
			m := c.s.at(T)
			pair, _, split := m.solidState(cu(0.5))
			require.True(t, split)
			require.InDelta(t, c.ag, min(pair.one[1], pair.two[1]), sameMole)
			require.InDelta(t, c.cuR, max(pair.one[1], pair.two[1]), sameMole)
		})
	}
}

// setW is the Ag-Cu binary of V. T. Witusiewicz, U. Hecht, S. G. Fries, S. Rex,
// The Ag-Al-Cu system, II, J. Alloys Compd. 387 (2005) 217-227, read in a public
// transcription of its database. The elements are the same.
func setW() *system {
	s := assessed("Ag", "Cu")
	s.pairs[liquid] = []pair{{0, 1, []term{{14463, -1.516, 0}, {-934, 0.319, 0}}}}
	s.pairs[solid] = []pair{{0, 1, []term{{34817, -8.876, 0}, {-3207, -0.57, 0}}}}
	return s
}

// Two assessments by different hands that both hold the eutectic agree on the
// liquidus of silver alloys within 2 K. It bounds the error of the fits, not
// that of the measurements they share.
func TestSecondAssessmentOfSilverCopper(t *testing.T) {
	ours, theirs := systems["Ag-Cu"], setW()
	E, melt, err := theirs.solidus(cu(0.5))
	require.NoError(t, err)
	require.InDelta(t, 780, E-zeroC, 1, "eutectic of ASTM B628, which a slip in the transcription would miss")
	require.InDelta(t, 28.1, 100*melt[1]*theirs.molar[1]/theirs.mass(melt), 0.5)
	for _, row := range []struct{ silver, theirs float64 }{{92.5, 897.72}, {90, 878.75}, {83.5, 835.77}, {80, 816.34}} {
		T, _, err := theirs.liquidus(byMass(theirs, row.silver))
		require.NoError(t, err)
		require.InDelta(t, row.theirs, T-zeroC, sameK, "the same parameters solved by another program")
	}
	for silver := 72.0; silver < 100; silver++ {
		a, _, err := ours.liquidus(byMass(ours, silver))
		require.NoError(t, err)
		b, _, err := theirs.liquidus(byMass(theirs, silver))
		require.NoError(t, err)
		require.InDelta(t, b, a, 2, "liquidus of %g %% silver", silver)
	}
}

// Handbook: P. R. Subramanian, J. H. Perepezko, J. Phase Equilibria 14 (1993)
// 62-75, from memory: 779.1 °C, 28.1 % Cu; 779 °C and 28.1 % also in lecture notes.
func TestEutecticOfTheHandbook(t *testing.T) {
	d, err := SilverCopperDiagram(8)
	require.NoError(t, err)
	require.InDelta(t, 779.1, d.EutecticC, 1)
	require.InDelta(t, 100-28.1, d.EutecticPct[1], 0.5)
	// The NIST page prints the calculated compositions by mass.
	require.InDelta(t, 91.73, d.EutecticPct[0], 0.01)
	require.InDelta(t, 71.59, d.EutecticPct[1], 0.01)
	require.InDelta(t, 7.47, d.EutecticPct[2], 0.01)
}

// Recorded runs of an equilibrium code with set A, from its public tests.
func TestRecordedRuns(t *testing.T) {
	s := setA()
	T, melt, err := s.solidus(cu(0.05))
	require.NoError(t, err)
	require.InDelta(t, 1176.12665, T, 1e-3)
	require.InDelta(t, 0.110963, melt[1], 2e-6)
	T, _, err = s.liquidus(cu(0.05))
	require.NoError(t, err)
	require.InDelta(t, 1207.60, T, 0.006)
	m := s.at(1150)
	mu := m.potentials(solid, cu(0.05))
	require.InDelta(t, -67987.5, mu[0]+s.pure[solid][0].gibbs(1150), 0.5)
	require.InDelta(t, -65900.2, mu[1]+s.pure[solid][1].gibbs(1150), 0.5)
}

func TestSilverCopperTable(t *testing.T) {
	const lastDigit, lastShare = 0.011, 1.1e-4 // as printed, two and four decimals
	a, b := setA(), systems["Ag-Cu"]
	for _, row := range []struct{ silver, aLiq, aSol, aMelt, bLiq, bSol, bMelt float64 }{
		{98.0, 943.37, 923.05, 0, 943.13, 923.22, 0},
		{95.8, 924.25, 878.51, 0, 923.58, 879.00, 0},
		{95.0, 917.63, 861.48, 0, 916.73, 862.12, 0},
		{94.0, 909.59, 839.09, 0, 908.37, 840.00, 0},
		{93.5, 905.68, 827.22, 0, 904.27, 828.31, 0},
		{92.5, 898.03, 801.14, 0, 896.26, 802.75, 0},
		{91.6, 891.37, 782.97, 0.0143, 889.24, 779.13, 0.0064},
		{90.0, 880.03, 782.97, 0.0891, 877.23, 779.13, 0.0858},
		{87.5, 863.53, 782.97, 0.2061, 859.66, 779.13, 0.2100},
		{83.5, 840.00, 782.97, 0.3933, 834.57, 779.13, 0.4085},
		{80.0, 822.02, 782.97, 0.5571, 815.50, 779.13, 0.5823},
		{75.0, 799.89, 782.97, 0.7910, 792.45, 779.13, 0.8305},
		{72.0, 788.27, 782.97, 0.9314, 780.65, 779.13, 0.9794},
		{70.0, 785.51, 782.97, 0.9915, 786.72, 779.13, 0.9753},
		{60.0, 828.69, 782.97, 0.8328, 828.39, 779.13, 0.8193},
		{50.0, 867.96, 782.97, 0.6741, 865.72, 779.13, 0.6633},
		{30.0, 947.74, 782.97, 0.3566, 944.82, 779.13, 0.3514},
		{10.0, 1036.78, 782.97, 0.0391, 1035.93, 779.13, 0.0395},
		{5.0, 1060.58, 978.05, 0, 1060.11, 978.24, 0},
	} {
		for _, c := range []struct {
			s              *system
			liq, sol, melt float64
		}{{a, row.aLiq, row.aSol, row.aMelt}, {b, row.bLiq, row.bSol, row.bMelt}} {
			x := byMass(c.s, row.silver)
			T, _, err := c.s.liquidus(x)
			require.NoError(t, err)
			require.InDelta(t, c.liq, T-zeroC, lastDigit, "liquidus of %g %% silver", row.silver)
			S, _, err := c.s.solidus(x)
			require.NoError(t, err)
			require.InDelta(t, c.sol, S-zeroC, lastDigit, "solidus of %g %% silver", row.silver)
			if c.melt == 0 {
				continue
			}
			// Just above the eutectic: 0.001 K, by which the fraction moves less than its last digit.
			f, err := c.s.lever(x, S+0.001)
			require.NoError(t, err)
			require.InDelta(t, c.melt, (1-f.share)*c.s.mass(f.one)/c.s.mass(x), lastShare, "liquid of %g %% silver", row.silver)
		}
	}
}

func TestSolidSolubilityOfSilverCopper(t *testing.T) {
	const lastDigit = 0.006 // % by mass
	s := systems["Ag-Cu"]
	for _, row := range []struct{ T, cuInAg, agInCu float64 }{
		{1000, 6.44, 5.61}, {900, 3.80, 3.05}, {800, 2.05, 1.48}, {700, 0.97, 0.60},
	} {
		m := s.at(row.T)
		pair, _, split := m.solidState(cu(0.5))
		require.True(t, split)
		one, two := 100*pair.one[1]*s.molar[1]/s.mass(pair.one), 100*pair.two[0]*s.molar[0]/s.mass(pair.two)
		if pair.one[1] > 0.5 {
			one, two = 100*pair.two[1]*s.molar[1]/s.mass(pair.two), 100*pair.one[0]*s.molar[0]/s.mass(pair.one)
		}
		require.InDelta(t, row.cuInAg, one, lastDigit)
		require.InDelta(t, row.agInCu, two, lastDigit)
	}
}

// The fcc interaction of Au-Cu written as a series must equal the sublattice
// sum it is made from.
func TestAuCuSeriesEqualsItsSublattices(t *testing.T) {
	s := systems["Au-Cu"]
	for _, T := range []float64{900, 1150, 1300} {
		m := s.at(T)
		for x := 0.05; x < 1; x += 0.1 {
			y := 1 - x
			tlnT := T * math.Log(T)
			g1 := 3 * (-7590 + 10.32*T - 1.565*tlnT)
			g2 := 4 * (-9590 + 10.62*T - 1.565*tlnT)
			g3 := 3 * (-9900 + 10.32*T - 1.565*tlnT)
			// End members by the number of copper atoms, 4 sublattices of equal fractions.
			g := 4*x*y*y*y*g1 + 6*x*x*y*y*g2 + 4*x*x*x*y*g3
			g += 4 * x * y * (3940 + 10.32*T)
			g += 6 * x * y * x * y * (-18*T - 15900*x*x)
			e := m.excess(solid, vec{y, x}, false)
			require.InDelta(t, g/4, y*e[0]+x*e[1], 1e-6, "J/mol")
		}
	}
}

// The lowest melting gold-copper alloy: 905 °C at 82 % gold in an encyclopedia
// of the elements, read (after Roberts-Austen and Rose, 1900); 910 °C at 44
// atom % copper in H. Okamoto and others, Bull. Alloy Phase Diagrams 8 (1987)
// 454, from memory. The line is flat there.
func TestLowestMeltingGoldCopper(t *testing.T) {
	s := systems["Au-Cu"]
	lowest, at := math.Inf(1), vec{}
	for x := 0.2; x < 0.7; x += 0.01 {
		T, _, err := s.liquidus(cu(x))
		require.NoError(t, err)
		if T < lowest {
			lowest, at = T, cu(x)
		}
	}
	require.InDelta(t, 907.5, lowest-zeroC, 4)
	require.InDelta(t, 82, 100*at[0]*s.molar[0]/s.mass(at), 2)
}

// Beginning of freezing of gold-silver alloys after E. Jänecke, as printed by
// T. K. Rose, The Metallurgy of Gold, table XII, read in a scan that blurs the
// fractions of the per cents. 8 K: 5 for his scatter about a smooth line and 3
// for half a per cent of gold. He saw freezing end some 10 K lower, we 1 or 2.
func TestGoldSilver(t *testing.T) {
	s := systems["Ag-Au"]
	for _, row := range []struct{ gold, begins float64 }{
		{94, 1060}, {88, 1054}, {81, 1047}, {73, 1036}, {64.5, 1031}, {54.5, 1015}, {43.5, 1007}, {32, 993}, {18, 977},
	} {
		a := (100 - row.gold) / s.molar[0]
		x := vec{a / (a + row.gold/s.molar[1]), 0}
		x[1] = 1 - x[0]
		T, _, err := s.liquidus(x)
		require.NoError(t, err)
		require.InDelta(t, row.begins, T-zeroC, 8, "%g %% gold", row.gold)
		S, _, err := s.solidus(x)
		require.NoError(t, err)
		require.Greater(t, T, S)
		require.Less(t, T-S, 3.0)
	}
}

// Potentials are the slopes of the Gibbs energy, whatever the model.
func TestPotentialsAreSlopes(t *testing.T) {
	s := systems["Ag-Au-Cu"]
	x := vec{0.3, 0.45, 0.25}
	for _, p := range []phase{liquid, solid} {
		m := s.at(1180)
		total := func(n vec) float64 {
			sum := n[0] + n[1] + n[2]
			var y vec
			for i := range y {
				y[i] = n[i] / sum
			}
			mu := m.potentials(p, y)
			return sum * (y[0]*mu[0] + y[1]*mu[1] + y[2]*mu[2])
		}
		mu, h, slopes := m.potentials(p, x), m.hessian(p, x), m.slopes(p, x)
		warm := s.at(1180.01)
		cool := s.at(1179.99)
		up, down := warm.potentials(p, x), cool.potentials(p, x)
		for i := range x {
			a, b := x, x
			a[i] += 1e-5
			b[i] -= 1e-5
			require.InDelta(t, (total(a)-total(b))/2e-5, mu[i], 1e-3)
			require.InDelta(t, (up[i]-down[i])/0.02, slopes[i], 1e-4)
			var na, nb vec
			for j := range x {
				na[j], nb[j] = a[j]/(1+1e-5), b[j]/(1-1e-5)
			}
			ma, mb := m.potentials(p, na), m.potentials(p, nb)
			for j := range x {
				require.InDelta(t, (ma[j]-mb[j])/2e-5, h[j][i], 0.5)
			}
		}
	}
}
