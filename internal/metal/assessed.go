package metal

import "pourwright/internal/calc"

var (
	srcHayes  = calc.Source{For: "Ag-Cu phase equilibria", Text: "F. H. Hayes, H. L. Lukas, G. Effenberg, G. Petzow, Z. Metallkde 77 (1986) 749-754, as adapted to the SGTE elements by U. R. Kattner, NIST solder-systems database, Ag-Cu, 1999; liquidus within 2 K, from 72 % silver upwards, of the later assessment of V. T. Witusiewicz, U. Hecht, S. G. Fries, S. Rex, J. Alloys Compd. 387 (2005) 217-227", Status: calc.Confirmed}
	srcUnary  = calc.Source{For: "Gibbs energies and enthalpies of the elements", Text: "A. T. Dinsdale, SGTE data for pure elements, Calphad 15 (1991) 317-425, with the 2010 additions", Status: calc.Confirmed}
	srcAuCu   = calc.Source{For: "Au-Cu phase equilibria", Text: "B. Sundman, S. G. Fries, W. A. Oates, A thermodynamic assessment of the Au-Cu system, Calphad 22 (1998) 335-354, table 1 and eqs. 6 to 9, as printed in a public reproduction of the paper", Status: calc.Confirmed}
	srcAgAu   = calc.Source{For: "Ag-Au phase equilibria", Text: "S. Hassam, M. Gambino, M. Gaune-Escard, J. P. Bros, J. Ågren, Metall. Trans. A 19 (1988) 409-416; within 7 K of the table of Jänecke in T. K. Rose, The Metallurgy of Gold", Status: calc.FromMemory}
	srcTern   = calc.Source{For: "Ag-Au-Cu phase equilibria", Text: "the three binaries put together after Muggianu without ternary terms; liquidus within 21 K of nine jewellery golds of GOST 30649-99 as tabulated, solidus of 375 gold with 100 to 160 silver some 100 K below that table", Status: calc.Choice}
	srcScheil = calc.Source{For: "freezing of a casting", Text: "E. Scheil, Z. Metallkde 34 (1942) 70-72: no diffusion in the solid, mixed liquid", Status: calc.FromMemory}
)

// bySymbols names the source of each pair and of the three together.
var bySymbols = map[string]calc.Source{"Ag-Cu": srcHayes, "Ag-Au": srcAgAu, "Au-Cu": srcAuCu, "Ag-Au-Cu": srcTern}

// The binaries, in the order of the symbols as written here; the sign of an
// odd term depends on it.
var binaries = map[[2]string][2][]term{
	{"Ag", "Cu"}: {
		liquid: {{17323.40, -4.46819, 0}, {1654.38, -2.35285, 0}},
		solid:  {{36061.88, -10.44288, 0}, {-4310.12, 0, 0}},
	},
	{"Ag", "Au"}: {
		liquid: {{-16402, 1.14, 0}},
		solid:  {{-15599, 0, 0}},
	},
	{"Au", "Cu"}: {
		liquid: {{-27900, -1, 0}, {4730, 0, 0}, {3500, 3.5, 0}},
		solid:  disorderedAuCu(),
	},
}

// assessed returns the system of the symbols, or nil where a binary is missing.
// The symbols are in alphabetical order.
func assessed(symbols ...string) *system {
	if len(symbols) > maxParts {
		return nil
	}
	s := &system{symbols: symbols}
	for i, a := range symbols {
		s.molar[i] = elements[a].molar.value
		s.pure[liquid] = append(s.pure[liquid], unary[a].liquid)
		s.pure[solid] = append(s.pure[solid], unary[a].solid)
		for j := i + 1; j < len(symbols); j++ {
			b, ok := binaries[[2]string{a, symbols[j]}]
			if !ok {
				return nil
			}
			for p := range b {
				s.pairs[p] = append(s.pairs[p], pair{i, j, b[p]})
			}
		}
	}
	return s
}

// disorderedAuCu returns the disordered state (all site fractions equal) of
// the four-sublattice fcc phase of the Au-Cu assessment as a Redlich-Kister
// series. With x = x_Cu, d = x_Au − x_Cu and per atom
// G_ex = x(1−x)[(1−x)² G₁ + 1.5 x(1−x) G₂ + x² G₃ + L + 1.5 x(1−x)(L' + L" x²)].
func disorderedAuCu() []term {
	times := func(f float64, t term) term { return term{f * t.a, f * t.b, f * t.c} }
	plus := func(list ...term) (sum term) {
		for _, t := range list {
			sum = term{sum.a + t.a, sum.b + t.b, sum.c + t.c}
		}
		return sum
	}
	g1 := times(3, term{-7590, 10.32, -1.565})     // Au₃Cu
	g2 := times(4, term{-9590, 10.62, -1.565})     // Au₂Cu₂
	g3 := times(3, term{-9900, 10.32, -1.565})     // AuCu₃
	regular := term{3940, 10.32, 0}                // L, eq. 8
	reciprocal := times(0.375, term{0, -18, 0})    // 1.5/4 L', eq. 9
	ordering := times(0.375/4, term{-15900, 0, 0}) // 1.5/16 L", eq. 9
	return []term{
		plus(times(0.25, g1), times(0.375, g2), times(0.25, g3), regular, reciprocal, ordering),
		plus(times(0.5, g1), times(-0.5, g3), times(-2, ordering)),
		plus(times(0.25, g1), times(-0.375, g2), times(0.25, g3), times(-1, reciprocal)),
		times(2, ordering),
		times(-1, ordering),
	}
}

// systems are the assessed systems by the joined symbols.
var systems = map[string]*system{
	"Ag-Cu":    assessed("Ag", "Cu"),
	"Ag-Au":    assessed("Ag", "Au"),
	"Au-Cu":    assessed("Au", "Cu"),
	"Ag-Au-Cu": assessed("Ag", "Au", "Cu"),
}
