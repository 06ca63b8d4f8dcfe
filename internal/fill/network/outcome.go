package network

import (
	"math"

	"pourwright/internal/fluid"
)

// Outcome of a pour. A margin is the heat that is left over what the metal
// could lose between pouring and stopping, where it is least; negative where
// the pour fails, carried through by what it lost while it stood or ran on.
type Outcome struct {
	Misrun   float64 // least margin at which a place was pressed full; beyond all that, less the share left empty
	Cold     float64 // least margin over the weld limit where streams met; +Inf if none did
	MisrunAt int     // cells
	ColdAt   int
	Empty    float64 // share of the pieces' volume never pressed full
	Full     float64 // when the last place was pressed full, s; +Inf if never
}

// emptySolid is the solid fraction at which what has not been pressed full
// counts as left, for the margin of a place never reached.
const emptySolid = 0.95

// Outcome judges the pour that was followed, for one piece or, with NoPiece, all.
func (r *Run) Outcome(piece int) Outcome {
	o := Outcome{Misrun: math.Inf(1), Cold: math.Inf(1)}
	span := r.pour.Enthalpy - r.stop
	floor := r.metal.AtSolid(emptySolid)
	empty, total := 0.0, 0.0
	for i := 1; i < len(r.s); i++ {
		c := &r.mesh.cells[i]
		if c.piece == NoPiece || piece != NoPiece && c.piece != piece {
			continue
		}
		s := &r.s[i]
		v := s.vol * c.copies
		total += v
		h := s.done
		if s.pressed {
			o.Full = max(o.Full, s.pressedAt)
		} else {
			empty += v
			h = floor
		}
		if m := (h - r.stop) / span; m < o.Misrun {
			o.Misrun, o.MisrunAt = m, i
		}
	}
	for _, w := range r.weldAt {
		if c := &r.mesh.cells[w.Cell]; piece != NoPiece && c.piece != piece || c.piece == NoPiece {
			continue
		}
		if m := (w.H - r.weld) / span; m < o.Cold {
			o.Cold, o.ColdAt = m, w.Cell
		}
	}
	if empty > 0 {
		o.Empty = empty / total
		o.Misrun -= o.Empty
		o.Full = math.Inf(1)
	}
	return o
}

// Cell is what became of a short stretch of a channel.
type Cell struct {
	Reach, Piece int
	At, Size     float64 // middle and length, fractions of the reach
	Height       float64 // of its middle, m
	Thickness    float64 // m
	Modulus      float64 // m
	Perimeter    float64 // m
	Volume       float64 // with its copies, m³
	Arrived      float64 // s; NaN if no metal came
	Pressed      float64 // s; NaN if it was never pressed full
	Coldest      float64 // enthalpy of its coldest metal when it was pressed full, or of its tip, J/kg
	Enthalpy     float64 // at the end, J/kg
	Taken        float64 // heat that its clay has taken, J/m²
	Parent       int     // cell on the way to the funnel; 0 is the funnel
}

// Cells appends what became of the cells, in the mesh's order from cell 1.
func (r *Run) Cells(dst []Cell) []Cell {
	for i := 1; i < len(r.s); i++ {
		c, s := &r.mesh.cells[i], &r.s[i]
		pressed, cold := math.NaN(), s.tip
		if s.pressed {
			pressed, cold = s.pressedAt, s.done
		}
		dst = append(dst, Cell{c.reach, c.piece, c.at, c.size, (c.za + c.zb) / 2, c.thick, s.mod, s.area / s.mod, s.vol * c.copies,
			s.since, pressed, cold, s.e, s.taken, int(r.mesh.parent[i])})
	}
	return dst
}

// Loops lists the pairs of cells that meet beyond the tree of parents.
func (r *Run) Loops() (pairs [][2]int) {
	for _, e := range r.mesh.faces[r.mesh.tree:] {
		pairs = append(pairs, [2]int{int(e.a), int(e.b)})
	}
	return pairs
}

// Welds is where streams met.
func (r *Run) Welds() []Weld { return r.weldAt }

// End is the time when nothing was left to follow, s.
func (r *Run) End() float64 { return r.t }

// UntilEnthalpy returns how long after the end of the run the metal of a cell
// takes to fall to h J/kg, if it stays and cools to its clay alone.
func (r *Run) UntilEnthalpy(c *Cell, h float64) float64 {
	if c.Enthalpy <= h {
		return 0
	}
	mean := (r.metal.Temperature(c.Enthalpy)+r.metal.Temperature(h))/2 - r.clay.StartC
	w := newWall(r.eff, r.clay.K, r.pour.Interface, c.Perimeter)
	age := w.timeFor(c.Taken / mean)
	need := r.metal.Rho * c.Modulus * (c.Enthalpy - h) / mean
	return w.timeFor(need+c.Taken/mean) - age
}

// FreezeRound returns the time in s that metal of the given modulus and
// perimeter, m, takes from one enthalpy to another in fresh clay.
func (r *Run) FreezeRound(modulus, perimeter, from, to float64) float64 {
	if from <= to {
		return 0
	}
	mean := (r.metal.Temperature(from)+r.metal.Temperature(to))/2 - r.clay.StartC
	return newWall(r.eff, r.clay.K, r.pour.Interface, perimeter).timeFor(r.metal.Rho * modulus * (from - to) / mean)
}

// HeadAfter returns the height of the metal in the funnel over level 0 t
// seconds after the end of the run, when the hand pours on until it is full.
func (r *Run) HeadAfter(t float64) float64 {
	f := &r.s[0]
	return r.mesh.top + min(f.vol, f.m+t*r.pour.Rate)/r.mesh.funnel.Area
}

// Pressure is that of the full head on a place, Pa.
func (r *Run) Pressure(level, height float64) float64 {
	return fluid.Pressure(r.metal.Rho, max(0, level-height))
}

// Held returns the enthalpy in J and the volume in m³ of the metal in the
// channels; with Heat and the funnel they balance what was poured.
func (r *Run) Held() (heat, volume float64) {
	for i := 1; i < len(r.s); i++ {
		v := r.s[i].m * r.mesh.cells[i].copies
		volume += v
		heat += r.metal.Rho * v * r.s[i].e
	}
	return heat, volume
}

// InFunnel is the metal in the funnel, m³.
func (r *Run) InFunnel() float64 { return r.s[0].m }

// StopEnthalpy is that at which a front stops, J/kg; WeldEnthalpy that under
// which metal that meets does not weld.
func (r *Run) StopEnthalpy() float64 { return r.stop }

// WeldEnthalpy see StopEnthalpy.
func (r *Run) WeldEnthalpy() float64 { return r.weld }
