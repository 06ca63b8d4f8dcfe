package metal

import (
	"sort"
	"testing"
)

// The look-ups of a flow or freezing computation, against the least that any
// interpolation costs: a binary search of the same table.
func BenchmarkLookUp(b *testing.B) {
	m, err := Named("silver-925")
	if err != nil {
		b.Fatal(err)
	}
	b.Run("search-alone", func(b *testing.B) {
		tC := 600.0
		for b.Loop() {
			sort.SearchFloat64s(m.curve.t, tC)
			tC = next(tC)
		}
	})
	b.Run("enthalpy", func(b *testing.B) {
		tC := 600.0
		for b.Loop() {
			m.EnthalpyKJKg(tC)
			tC = next(tC)
		}
	})
	b.Run("temperature", func(b *testing.B) {
		tC := 600.0
		for b.Loop() {
			m.TemperatureC(tC / 4)
			tC = next(tC)
		}
	})
	b.Run("fraction-solid", func(b *testing.B) {
		tC := 600.0
		for b.Loop() {
			m.SolidFraction(tC)
			tC = next(tC)
		}
	})
	b.Run("named", func(b *testing.B) {
		for b.Loop() {
			if _, err := Named("silver-925"); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// next walks over the range of temperatures without a pattern that a branch
// predictor learns at once.
func next(tC float64) float64 {
	if tC += 137; tC > 1100 {
		tC -= 503
	}
	return tC
}

// Making a metal with its whole freezing path; beside it, what one liquidus
// costs, of which a path takes some two hundred.
func BenchmarkMake(b *testing.B) {
	s := systems["Ag-Cu"]
	x := byMass(s, 92.5)
	b.Run("liquidus-alone", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := s.liquidus(x); err != nil {
				b.Fatal(err)
			}
		}
	})
	for name, c := range map[string]Composition{
		"silver-copper": {"Ag": 0.925, "Cu": 0.075}, "gold-silver-copper": {"Au": 0.585, "Ag": 0.205, "Cu": 0.21}, "with-zinc": {"Ag": 0.92, "Cu": 0.07, "Zn": 0.01},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				r, err := rangeOf(c, nil, nil)
				if err != nil {
					b.Fatal(err)
				}
				if _, err := build(c, r); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("remembered", func(b *testing.B) {
		for b.Loop() {
			if _, err := Of(Composition{"Ag": 0.925, "Cu": 0.075}, nil); err != nil {
				b.Fatal(err)
			}
		}
	})
}
