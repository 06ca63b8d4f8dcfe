package fill

import "math"

// feedingPlan describes the freezing order of the run that w has followed and
// the sprue and button that lead it out of the piece.
func (w *run) feedingPlan() Feeding {
	j := w.job
	out := Feeding{HotSpots: []HotSpot{}}
	cut := w.feeding(&out.HotSpots)
	out.LeadsToSprue = cut <= isolatedShare*j.volume && w.allFilled()
	for i := range w.cells {
		c := &w.cells[i]
		out.PieceModulusMM = max(out.PieceModulusMM, 1e3*c.Modulus)
		out.PieceFreezeS = max(out.PieceFreezeS, w.UntilEnthalpy(*c, j.ended))
	}
	st := &j.mould.Stem
	out.SprueModulusMM = 1e3 * st.Diameter / 4
	out.SprueFreezeS = w.StemFreeze(j.ended)
	round := func(d float64) float64 { return w.FreezeRound(d/4, math.Pi*d, w.StemEnthalpy(), j.ended) }
	button := func(d, h float64) float64 {
		return w.FreezeRound(d*h/(4*h+d), math.Pi*d, w.pour.Enthalpy, j.ended)
	}
	out.ButtonFreezeS = button(math.Sqrt(4/math.Pi*st.FunnelArea), max(st.Head, 1e-6))
	// The sprue must outlast what it joins by the modulus rule in time: a
	// modulus of 1.2 is a time of 1.2 to 1.44 as the interface or the clay rules.
	sprue := solve(1e-3, 60e-3, func(d float64) bool { return round(d) >= sprueLonger*out.PieceFreezeS })
	out.SprueMM = 1e3 * sprue
	// The button: as deep as wide, no smaller than the sprue, outlasting it.
	wide := solve(sprue, 120e-3, func(d float64) bool { return button(d, d/2) >= round(sprue) })
	density := 1e3 * j.alloy.DensityGCm3() // kg/m³
	out.ButtonG = 1e3 * density * math.Pi / 8 * wide * wide * wide
	out.ReserveG = out.ButtonG + 1e3*density*float64(j.in.SprueCount)*math.Pi/4*sprue*sprue*st.Length
	return out
}

func (w *run) allFilled() bool {
	for i := range w.mould.Ducts {
		if w.Result(i).Filled < filledShare {
			return false
		}
	}
	return true
}

// solve returns the least x between lo and hi for which ok holds, ok being
// false below and true above it; hi if it never does.
func solve(lo, hi float64, ok func(float64) bool) float64 {
	if ok(lo) {
		return lo
	}
	for range 40 {
		if mid := (lo + hi) / 2; ok(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}
