package front

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// ideal is a metal of constant properties that freezes between 846 and 896 °C.
func ideal() *Metal {
	m := &Metal{Rho: 9180, Gamma: 0, Mu: 3.9e-3, Alpha: 6e-5}
	const l, c, tl = 120e3, 310, 896.0
	m.Tabulate(0, 600e3, func(h float64) float64 { // liquid starts at 400 kJ/kg; freezes at 896
		switch {
		case h > 400e3:
			return tl + (h-400e3)/c
		case h > 280e3:
			return tl
		}
		return tl + (h-280e3)/c
	}, func(h float64) float64 { return math.Max(0, math.Min(1, (400e3-h)/l)) })
	return m
}

func sand(h float64) *Clay {
	return &Clay{K: 0.8655, RhoC: 1600 * 1170, StartC: 25, H: h, Perm: 6e-12, Path: 0.015}
}

// plate is a straight duct of a flat section, thickness × width × length, rising by rise.
func plate(thick, width, length, rise float64) Duct {
	d := Duct{From: 0, To: NoGate, Length: length}
	const n = 64
	for i := range n {
		d.Slices = append(d.Slices, Slice{Area: thick * width, Perimeter: 2 * (thick + width), PerThick: 2 * thick, PerArea: 1,
			Thickness: thick, Height: rise * (float64(i) + 0.5) / n, HeightRise: rise / n})
	}
	return d
}

func TestFlemings(t *testing.T) {
	// A front that the hand drives at 0.7 m/s through a slit of modulus 0.5 mm.
	m := ideal()
	clay := sand(1000)
	clay.K *= 1e8 // no warming: interface alone
	const thick, width, v = 1e-3, 1.0, 0.7
	mould := &Mould{Gates: 1, Cells: 64, Ducts: []Duct{plate(thick, width, 0.4, 0)},
		Stem: Stem{Length: 0.001, Diameter: 0.03, Head: 5, FunnelArea: 1e-6, Smooth: true}}
	var r Run
	r.Follow(mould, m, clay, Pour{Rate: v * thick * width, Enthalpy: 400e3 + 310*100, Choke: 0.3})
	got := r.Result(0).Reach[0] * 0.4
	modulus := thick * width / (2 * (thick + width))
	want := m.Rho * modulus * v * (0.3*120e3 + 310*100) / (1000 * (896 - 25 + 0))
	t.Log(got, want, r.Steps, r.Result(0))
	require.InEpsilon(t, want, got, 0.02)
}
