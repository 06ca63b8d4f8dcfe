package network

import "math"

// Margin of a pour: at each place the heat that is left of what the metal may
// lose on its way, least of all; negative where it fails.
func (r *Run) Margin() (least float64, kind string, at int) {
	least = math.Inf(1)
	span := r.pour.Enthalpy - r.stop
	floor := r.metal.AtSolid(0.95)
	empty, total := 0.0, 0.0
	for i := 1; i < len(r.s); i++ {
		c := &r.mesh.cells[i]
		if c.piece == NoPiece {
			continue
		}
		s := &r.s[i]
		total += s.vol
		h := s.done
		if !s.pressed {
			empty += s.vol
			h = min(s.tip, floor)
		}
		if m := (h - r.stop) / span; m < least {
			least, kind, at = m, "misrun", i
		}
	}
	for _, w := range r.weldAt {
		if m := (w.H - r.weld) / span; m < least {
			least, kind, at = m, "cold_shut", w.Cell
		}
	}
	if empty > 0 {
		least -= empty / total
	}
	return least, kind, at
}
