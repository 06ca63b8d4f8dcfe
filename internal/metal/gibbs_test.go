package metal

import (
	"fmt"
	"testing"
)

func TestTry(t *testing.T) {
	for _, id := range IDs() {
		m, err := Named(id)
		if err != nil {
			fmt.Println(id, err)
			continue
		}
		ty, _, _ := m.ContractionPct()
		fmt.Printf("%-30s %9s rho %6.2f %6.0f sol %7.1f liq %7.1f end %7.1f ±%3.0f eut %.4f L %6.1f cps %.3f cpl %.3f k25 %4.0f k700 %4.0f kl %4.0f sig %.3f mu %.2e contr %.2f h1000 %6.1f mix %5.1f\n", id, m.basis, m.DensityGCm3(), m.LiquidDensityKgM3(m.liquidus), m.solidus, m.liquidus, m.end, m.band, m.eutectic, m.LatentKJKg(), m.CpSolidKJKgK(), m.CpLiquidKJKgK(), m.ConductivityWMK(25), m.ConductivityWMK(700), m.ConductivityWMK(m.liquidus+50), m.SurfaceTensionNM(m.liquidus+50), m.ViscosityPaS(m.liquidus+50), ty, m.EnthalpyKJKg(1000), m.UnmixedKJKg())
	}
	for _, c := range []string{"Ag 920 Cu 70 Zn 10", "Ag 902 Cu 90 Zn 6 Sn 2", "Ag 935 Cu 35 Zn 20 Ge 10", "Ag 600 Cu 250 Zn 150", "Au 417 Cu 438 Zn 90 Ag 55", "Pt 950 Cu 50", "Zn 500 Sn 500", "Au 580 Ag 200 Cu 200 Zn 20", "Au 750 Ag 100 Pd 150"} {
		m, err := Of(mustParse(c), nil)
		fmt.Println(c, err, m.solidus, m.liquidus, m.band, m.cautions)
	}
	for i, s := range samples() {
		r := interpolate(s.c, i, func(int) float64 { return 0 })
		fmt.Printf("%s: %.0f/%.0f est %.0f/%.0f\n", s.c, s.tableS, s.tableL, r.solidus, r.liquidus)
	}
	m, _ := Named("silver-925")
	for tC := 770.0; tC < 900; tC += 10 {
		f, ok := m.EquilibriumSolidFraction(tC)
		fmt.Println(tC, m.SolidFraction(tC), f, ok, m.EnthalpyKJKg(tC))
	}
	fmt.Println(len(m.curve.t))
}

func BenchmarkOf(b *testing.B) {
	for b.Loop() {
		Of(Composition{"Ag": .925, "Cu": .075}, nil)
	}
}
func BenchmarkOfT(b *testing.B) {
	for b.Loop() {
		Of(Composition{"Ag": .205, "Cu": .21, "Au": .585}, nil)
	}
}
func BenchmarkH(b *testing.B) {
	m, _ := Named("silver-925")
	for b.Loop() {
		m.EnthalpyKJKg(850)
	}
}
