package fill

import (
	"math"

	"pourwright/internal/fill/network"
)

// feedingPlan describes the freezing order of the run that w has followed and
// the sprue and button that lead it out of the piece.
func (w *run) feedingPlan() Feeding {
	j := w.job
	in := &j.in
	out := Feeding{HotSpots: []HotSpot{}}
	w.lastSpot = -1
	cut := w.feeding(&out.HotSpots, nil)
	out.LeadsToSprue = cut <= isolatedShare*j.volume
	d, l, head := in.SprueDiameterMM/1e3, in.SprueLengthMM/1e3, in.FunnelHeadMM/1e3
	out.SprueFreezeS = math.Inf(1)
	sprueH := 0.0
	way := w.feeders()
	for i := range w.cells {
		c := &w.cells[i]
		if c.Piece != j.part && !way[i] {
			continue
		}
		if c.Piece == network.NoPiece {
			out.SprueFreezeS = min(out.SprueFreezeS, w.UntilEnthalpy(c, j.ended))
			sprueH = max(sprueH, c.Enthalpy)
			continue
		}
		out.LeadsToSprue = out.LeadsToSprue && !math.IsNaN(c.Pressed)
		out.PieceModulusMM = max(out.PieceModulusMM, 1e3*c.Modulus)
		out.PieceFreezeS = max(out.PieceFreezeS, w.UntilEnthalpy(c, j.ended))
	}
	out.SprueModulusMM = 1e3 * d / 4
	round := func(d float64) float64 { return w.FreezeRound(d/4, math.Pi*d, sprueH, j.ended) }
	button := func(d, h float64) float64 {
		return w.FreezeRound(d*h/(4*h+d), math.Pi*d, w.poured.Enthalpy, j.ended)
	}
	out.ButtonFreezeS = button(in.FunnelDiameterMM/1e3, max(head, 1e-6))
	// The sprue must outlast what it joins by the modulus rule in time: a
	// modulus of 1.2 is a time of 1.2 to 1.44 as the interface or the clay rules.
	sprue := solve(1e-3, 60e-3, func(d float64) bool { return round(d) >= sprueLonger*out.PieceFreezeS })
	out.SprueMM = 1e3 * sprue
	// The button: as deep as wide, no smaller than the sprue, outlasting it.
	wide := solve(sprue, 120e-3, func(d float64) bool { return button(d, d/2) >= round(sprue) })
	density := 1e3 * j.alloy.DensityGCm3() // kg/m³
	out.ButtonG = 1e3 * density * math.Pi / 8 * wide * wide * wide
	out.ReserveG = out.ButtonG + 1e3*density*float64(in.SprueCount)*math.Pi/4*sprue*sprue*l
	return out
}

// feeders marks the cells of the sprue system that lead to the piece.
func (w *run) feeders() []bool {
	way := make([]bool, len(w.cells))
	for i := range w.cells {
		if w.cells[i].Piece != w.job.part {
			continue
		}
		for at := w.cells[i].Parent; at > 0 && w.cells[at-1].Piece == network.NoPiece; at = w.cells[at-1].Parent {
			way[at-1] = true
		}
	}
	return way
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
