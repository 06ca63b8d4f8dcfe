package heat

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Times is a raster of freezing times, s, row by row from the top; NaN where
// there is no metal.
type Times struct {
	Columns, Rows int
	S             []float64
}

func newTimes(columns, rows int) Times {
	t := Times{columns, rows, make([]float64, columns*rows)}
	for i := range t.S {
		t.S[i] = math.NaN()
	}
	return t
}

// At is the time of a column from the left and a row from the top.
func (t Times) At(column, row int) float64 { return t.S[row*t.Columns+column] }

// Span is the earliest and the latest time in the piece, s.
func (out *FreezeOut) Span() (first, last float64) {
	o := out.run
	first = math.Inf(1)
	for n, t := range o.frozen {
		if o.partOf(o.Centre(int(o.cell[n]))) == inPiece {
			first, last = min(first, float64(t)), max(last, float64(t))
		}
	}
	return first, last
}

// RoundSprue tells whether the piece is followed round from its sprue, as a
// ring is, or else along its longest side.
func (out *FreezeOut) RoundSprue() bool { return out.run.opening != nil }

// Section is the layer of cells across the axis of a ring, or across the
// shortest side, through the sprue; a cell is as large as the grid says.
func (out *FreezeOut) Section() Times {
	o := out.run
	axis := 0
	low, high := o.piece.Bounds()
	size := r3.Sub(high, low)
	for k := range 3 {
		if component(size, k) < component(size, axis) {
			axis = k
		}
	}
	if o.opening != nil {
		for k := range 3 {
			if math.Abs(component(o.opening.Axis, k)) > 0.9 {
				axis = k
			}
		}
	}
	middle := r3.Scale(0.5, r3.Add(low, high))
	layer := int((component(middle, axis) - component(o.Low, axis)) / o.D)
	u, v := (axis+1)%3, (axis+2)%3
	times := newTimes(o.N[u], o.N[v])
	for i := range o.N[u] {
		for j := range o.N[v] {
			var c [3]int
			c[axis], c[u], c[v] = layer, i, j
			cell := o.index(c[0], c[1], c[2])
			if o.body.metal[cell] >= 0.5 && o.node[cell] != none {
				times.S[(o.N[v]-1-j)*o.N[u]+i] = float64(o.frozen[o.node[cell]])
			}
		}
	}
	return times
}

// Unrolled is when the last metal through the thickness is solid, by the way
// along the piece (columns) and the place across it; and its width across, mm.
func (out *FreezeOut) Unrolled() (Times, float64) {
	o := out.run
	low, high := math.Inf(1), math.Inf(-1)
	piece := func(n int) (r3.Vec, bool) {
		p := o.Centre(int(o.cell[n]))
		return p, o.partOf(p) == inPiece
	}
	for n := range o.cell {
		if p, ok := piece(n); ok {
			low, high = min(low, o.across(p)), max(high, o.across(p))
		}
	}
	// Pixels somewhat larger than the cells, so that each has one.
	pl, ph := o.piece.Bounds()
	long := max(ph.X-pl.X, ph.Y-pl.Y, ph.Z-pl.Z)
	if o.opening != nil {
		long = math.Pi * o.opening.DiameterMM
	}
	low, high = low-o.D/2, high+o.D/2
	wide, tall := max(8, int(long/(1.5*o.D))), max(1, int((high-low)/(1.05*o.D)))
	last := make([][]float64, wide)
	for i := range last {
		last[i] = make([]float64, tall)
	}
	for n := range o.cell {
		if p, ok := piece(n); ok {
			i := min(int(o.along(p)*float64(wide)), wide-1)
			j := min(int((o.across(p)-low)/(high-low)*float64(tall)), tall-1)
			last[i][j] = max(last[i][j], float64(o.frozen[n]))
		}
	}
	times := newTimes(wide, tall)
	for i := range wide {
		for j := range tall {
			t := last[i][j]
			if t == 0 { // between cells that lie askew
				t = max(last[(i+1)%wide][j], last[(i-1+wide)%wide][j], last[i][min(j+1, tall-1)], last[i][max(j-1, 0)])
			}
			if t > 0 {
				times.S[(tall-1-j)*wide+i] = t
			}
		}
	}
	return times, high - low
}

// across is how far a place lies across the unrolled piece: along the axis of
// its opening, or its middle measure, mm.
func (o *outcome) across(p r3.Vec) float64 {
	if o.opening != nil {
		return r3.Dot(r3.Sub(p, o.opening.Centre), o.opening.Axis)
	}
	l, h := o.piece.Bounds()
	size := r3.Sub(h, l)
	longest, shortest := 0, 0
	for k := range 3 {
		if component(size, k) > component(size, longest) {
			longest = k
		}
		if component(size, k) <= component(size, shortest) {
			shortest = k
		}
	}
	if longest == shortest {
		return component(p, (longest+1)%3)
	}
	return component(p, 3-longest-shortest)
}
