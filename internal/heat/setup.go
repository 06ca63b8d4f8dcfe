package heat

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/heat/exact"
	"pourwright/internal/mesh"
	"pourwright/internal/metal"
	"pourwright/internal/section"
)

// job is a freezing problem made ready.
type job struct {
	in     FreezeIn
	metal  metal.Metal
	alloy  Alloy
	clay   Clay
	startH float64
	pourC  float64

	piece    *mesh.Mesh
	checked  *mesh.Checked // the same as read from a file
	whole    *mesh.Mesh    // with sprue and button
	opening  *mesh.Opening
	overlap  bool
	thin     float64 // mm, of the thinnest part
	modulus  float64 // mm, of the thickest part of the piece
	bulky    mesh.Wall
	gate     *FreezeGate
	at, out  r3.Vec  // of the gate
	solidMM3 float64 // of the whole
	low      r3.Vec  // box of the whole
	high     r3.Vec
}

const (
	acrossThinnest = 8          // cells
	minAcross      = 4          // below it the answer says so
	mostCells      = 6_000_000  // computed; see detailCells
	mostInBox      = 12_000_000 // of the box round them: 21 bytes each
	reachFactor    = 3          // of √(αt): a bound there lessens the last flux by 2 exp(−9), 0.02 %; 0.1 % was measured, as t is an estimate
)

// detailCells is how many cells are computed at most for a detail.
var detailCells = map[string]float64{"quick": 60_000, "usual": 400_000, "": 400_000, "fine": mostCells}

// prepare checks the input and lays out the geometry.
func prepare(ctx context.Context, in FreezeIn) (*job, error) {
	j := &job{in: in}
	var err error
	if j.metal, err = metal.Named(in.Alloy); err != nil {
		return nil, err
	}
	liquidus := j.metal.LiquidusC()
	j.pourC = liquidus + 100
	if in.PourC != nil {
		j.pourC = *in.PourC
	}
	if err := j.check(ctx); err != nil {
		return nil, err
	}
	j.alloy = Of(j.metal, j.pourC)
	j.startH = 1e3 * j.metal.EnthalpyKJKg(j.pourC)
	clay := fluid.OilClay
	if in.Clay != nil {
		clay = *in.Clay
	}
	j.clay = Clay{exact.Material{K: clay.ConductivityWMK, Rho: clay.DensityKgM3, C: clay.HeatCapacityJKgK}, in.MouldC}
	if in.Ring != nil {
		j.ring()
	} else if err := j.surface(ctx); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := j.addSprue(ctx); err != nil {
		return nil, err
	}
	return j, ctx.Err()
}

// check refuses what cannot be poured or frozen, and resolves a described shape.
func (j *job) check(ctx context.Context) error {
	in, liquidus := &j.in, j.metal.LiquidusC()
	var c calc.Checks
	if j.pourC < liquidus || j.pourC > liquidus+500 {
		c.Refuse("pour_c", j.pourC, "give %.0f to %.0f °C: the alloy is liquid from %.0f °C", liquidus, liquidus+500, liquidus)
	}
	given := 0
	for _, is := range []bool{in.Given(), in.Ring != nil, in.Shape != nil} {
		if is {
			given++
		}
	}
	if given != 1 {
		c.Refuse("shape", nil, "give one of shape, ring and an STL file")
	}
	if in.Shape != nil {
		body, err := in.Shape.Resolve(ctx)
		if c.Under("shape", err) {
			j.in.Pattern = mesh.Of(body.Solid())
		}
	}
	if in.MouldC >= j.metal.FreezingEndC()-50 {
		c.Refuse("mould_c", in.MouldC, "give less than %.0f °C: the metal must freeze", j.metal.FreezingEndC()-50)
	}
	if in.Gate != nil && in.GateAtPct != nil {
		c.Refuse("gate_at_pct", *in.GateAtPct, "give gate or gate_at_pct, not both")
	}
	if in.GateAtPct != nil && in.Ring == nil {
		c.Refuse("gate_at_pct", *in.GateAtPct, "only for a ring by numbers; for an STL give gate")
	}
	if in.Ring != nil {
		c.Under("ring.profile", section.Profile(in.Ring.Profile).Check())
	}
	return c.Err()
}

// ring makes the piece of its measures.
func (j *job) ring() {
	p := section.Profile(j.in.Ring.Profile)
	j.piece = mesh.Ring(j.in.Ring.InsideMM, p, 360)
	if o, ok := j.piece.Opening(); ok {
		j.opening = &o
	}
	j.thin = math.Inf(1)
	for _, s := range p {
		j.thin = min(j.thin, s.ThicknessMM, s.Width())
		j.modulus = max(j.modulus, s.Modulus())
	}
}

// surface takes the piece from the file.
func (j *job) surface(ctx context.Context) error {
	c, err := j.in.Load(ctx)
	if err != nil {
		return err
	}
	j.piece, j.checked = c.Mesh, c
	j.overlap = c.Unions > 0 || slices.ContainsFunc(c.Flaws, func(f mesh.Flaw) bool { return f.Code == "overlaps" })
	if o, ok := j.piece.Opening(); ok {
		j.opening = &o
	}
	_, walls, _ := c.Walls(ctx, 4000)
	j.modulus = c.VolumeMM3 / c.AreaMM2
	j.thin = 2 * j.modulus
	if len(walls) > 0 {
		j.thin = walls[len(walls)/50].MM // a place in fifty is thinner: a mark or an edge
	}
	var ok bool
	if j.bulky, ok = c.Bulkiest(ctx, 1000); ok {
		j.modulus = max(j.modulus, j.bulky.MM/4)
	}
	return nil
}

// addSprue joins sprue and button to the piece.
func (j *job) addSprue(ctx context.Context) error {
	j.whole = &mesh.Mesh{}
	j.whole.Append(j.piece)
	if j.in.Sprue {
		wall := j.place(ctx)
		const feeds = 1.2 // of moduli: the riser rule
		sprue := max(2, 4*feeds*j.modulus)
		if j.in.SprueMM != nil {
			sprue = *j.in.SprueMM
		}
		button := 2.5 * sprue
		if j.in.ButtonMM != nil {
			button = *j.in.ButtonMM
		}
		high := button
		if j.in.ButtonHighMM != nil {
			high = *j.in.ButtonHighMM
		}
		if button < sprue {
			return calc.Refuse("button_mm", button, "give at least the diameter of the sprue, %.3g mm", sprue)
		}
		const lap = 0.02 // mm, so that the bodies overlap and do not merely touch
		top := r3.Add(j.at, r3.Scale(j.in.SprueLongMM, j.out))
		root := r3.Sub(j.at, r3.Scale(wall*0.45, j.out))
		j.whole.Append(mesh.Frustum(root, r3.Add(top, r3.Scale(lap, j.out)), sprue/2, 0.65*sprue, 96))
		j.whole.Append(mesh.Frustum(top, r3.Add(top, r3.Scale(high, j.out)), button/2, button/2, 96))
		j.gate = &FreezeGate{mesh.PlaceOf(j.at), mesh.PlaceOf(j.out), sprue, j.in.SprueLongMM, button, high, j.in.Gate == nil && j.in.GateAtPct == nil}
	}
	j.low, j.high = j.whole.Bounds()
	const lines = 600 // each way
	j.solidMM3 = j.whole.UnionVolume(ctx, lines)
	return nil
}

// place finds where the sprue meets the piece, its direction, and the
// thickness of the piece there.
func (j *job) place(ctx context.Context) (wall float64) {
	switch {
	case j.in.Ring != nil && j.in.Gate == nil:
		p := section.Profile(j.in.Ring.Profile)
		f := 0.0
		if j.in.GateAtPct != nil {
			f = *j.in.GateAtPct / 100
		} else {
			thick := 0.0
			for _, s := range p {
				if m := s.Modulus(); m > thick {
					thick, f = m, s.AtPct/100
				}
			}
		}
		s := p.At(f)
		sin, cos := math.Sincos(2 * math.Pi * f)
		j.out = r3.Vec{X: cos, Y: sin}
		j.at = r3.Scale(j.in.Ring.InsideMM/2+s.ThicknessMM, j.out)
		return s.ThicknessMM
	case j.opening != nil:
		// Radially outwards, where the wall is thickest or where it was asked for.
		best, most := 0.0, 0.0
		for deg := 0.5; deg < 360; deg++ {
			if _, in, out := j.opening.Towards(deg); !math.IsInf(in, 1) && out-in > most {
				best, most = deg, out-in
			}
		}
		if j.in.Gate != nil {
			best = j.opening.AngleOf(r3.Vec{X: j.in.Gate.XMM, Y: j.in.Gate.YMM, Z: j.in.Gate.ZMM})
		}
		out, in, outside := j.opening.Towards(best)
		j.out, j.at = out, r3.Add(j.opening.Centre, r3.Scale(outside, out))
		return outside - in
	}
	if j.bulky.MM == 0 { // all edges: from the top
		low, high := j.piece.Bounds()
		j.out = r3.Vec{Z: 1}
		j.at = r3.Vec{X: (low.X + high.X) / 2, Y: (low.Y + high.Y) / 2, Z: high.Z}
		return 2 * j.modulus
	}
	w := j.bulky
	if j.in.Gate != nil {
		p := r3.Vec{X: j.in.Gate.XMM, Y: j.in.Gate.YMM, Z: j.in.Gate.ZMM}
		nearest := math.Inf(1)
		_, walls, _ := j.checked.Walls(ctx, 4000)
		for _, v := range walls {
			if d := r3.Norm(r3.Sub(v.At, p)); d < nearest {
				nearest, w = d, v
			}
		}
	}
	j.at, j.out = w.At, r3.Scale(-1, w.In)
	return w.MM
}

// frozenBy estimates when a part of the given modulus, in mm, is solid, by the
// mould-controlled law with the interface in series.
func (j *job) frozenBy(modulus float64) float64 {
	q := j.alloy.Rho * (j.startH - j.alloy.EndH) * modulus * 1e-3
	dt := (j.metal.LiquidusC()+j.metal.FreezingEndC())/2 - j.clay.Start
	h := j.in.InterfaceWM2K
	if j.in.GapWM2K != nil {
		h = min(h, *j.in.GapWM2K)
	}
	return math.Pi/4*math.Pow(q/(dt*j.clay.Effusivity()), 2) + q/(h*dt)
}

// part tells what a place belongs to.
type part int8

const (
	inPiece part = iota
	inSprue
	inButton
)

func (j *job) partOf(p r3.Vec) part {
	if j.gate == nil {
		return inPiece
	}
	d := r3.Sub(p, j.at)
	along := r3.Dot(d, j.out)
	off := r3.Norm(r3.Sub(d, r3.Scale(along, j.out)))
	switch {
	case along > j.gate.SprueLongMM && off < j.gate.ButtonMM/2+j.thin:
		return inButton
	case along > 0 && off < 0.65*j.gate.SprueMM+0.3*j.thin:
		return inSprue
	}
	return inPiece
}

// reach is how deep the clay is followed behind a place, in mm.
func (j *job) reach(cell float64) (of func(p r3.Vec) float64, most float64) {
	depth := func(modulus float64) float64 {
		return min(j.in.ClayMM, max(reachFactor*1e3*math.Sqrt(j.clay.Diffusivity()*j.frozenBy(modulus)), 4*cell))
	}
	piece := depth(j.modulus)
	most = piece
	var sprue, button float64
	if j.gate != nil {
		sprue = depth(j.gate.SprueMM * 1.15 / 4)
		d, h := j.gate.ButtonMM, j.gate.ButtonHighMM
		button = depth(d * h / (4*h + 2*d))
		most = max(piece, sprue, button)
	}
	return func(p r3.Vec) float64 {
		switch j.partOf(p) {
		case inSprue:
			return sprue
		case inButton:
			return button
		}
		return piece
	}, most
}

// cells estimates the work of a cell size: cells computed and cells in the box.
func (j *job) cells(d float64) (computed, box float64) {
	_, most := j.reach(d)
	size := r3.Add(r3.Sub(j.high, j.low), r3.Scale(2*most, r3.Vec{X: 1, Y: 1, Z: 1}))
	box = size.X * size.Y * size.Z / (d * d * d)
	s := j.piece.Solid()
	shell := func(area, volume, reach float64) float64 { // a tube about it, or a ball
		return volume + area*reach + 2*reach*reach*math.Sqrt(area)
	}
	piece, _ := j.reach(d)
	low, high := j.piece.Bounds()
	sum := shell(s.AreaMM2, math.Abs(s.VolumeMM3), piece(r3.Scale(0.5, r3.Add(low, high))))
	if g := j.gate; g != nil {
		sum += shell(math.Pi*g.ButtonMM*(g.ButtonHighMM+g.ButtonMM/2)+math.Pi*g.SprueMM*g.SprueLongMM, math.Pi/4*g.ButtonMM*g.ButtonMM*g.ButtonHighMM, most)
	}
	return min(sum/(d*d*d), box), box
}

// chooseCell returns the size of the cells, in mm. One that is asked for and
// does not fit is refused with the smallest that does.
func (j *job) chooseCell() (float64, error) {
	limit := float64(mostCells)
	fits := func(d float64) bool {
		computed, box := j.cells(d)
		return computed <= limit && box <= mostInBox
	}
	d := min(max(j.thin/acrossThinnest, 0.05), 1)
	if j.in.CellMM != nil {
		d = *j.in.CellMM
	} else {
		limit = detailCells[j.in.Detail]
	}
	least := d
	for !fits(least) {
		least *= 1.02
	}
	if j.in.CellMM == nil {
		return least, nil
	}
	if least > d {
		computed, box := j.cells(d)
		least = math.Ceil(least*1000) / 1000
		return 0, &calc.Refusal{Detail: "the grid is too large",
			Faults:  []calc.Fault{{Field: "cell_mm", Value: d, Accepts: fmt.Sprintf("give at least %.3f mm: cells of %g mm make %.3g computed in a box of %.3g, and the limits are %d and %d", least, d, computed, box, mostCells, mostInBox)}},
			Explain: map[string]any{"smallest_cell_mm": least}}
	}
	if d > j.thin {
		return 0, calc.Refuse("cell_mm", d, "give at most %.3g mm, the thinnest part; %.3g mm is better", j.thin, j.thin/minAcross)
	}
	return d, nil
}
