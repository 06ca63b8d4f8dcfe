package heat

import (
	"context"
	"errors"
	"math"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/mesh"
	"pourwright/internal/safety"
)

var (
	srcEnthalpy  = calc.Source{For: "freezing", Text: "enthalpy method on cut cubic cells, finite volumes; V. R. Voller, C. Prakash, Int. J. Heat Mass Transfer 30 (1987) 1709 for the method's kind", Status: calc.FromMemory}
	srcRKL       = calc.Source{For: "steps of time", Text: "C. D. Meyer, D. S. Balsara, T. D. Aslam, J. Comput. Phys. 257 (2014) 594", Status: calc.FromMemory}
	srcProof     = calc.Source{For: "error of the method", Text: "tests against Neumann's and Schwarz's exact solutions, the semi-infinite mould and refined one-dimensional freezing of plate, cylinder and sphere", Status: calc.Computed}
	srcInterface = calc.Source{For: "interface coefficient", Text: "500 to 1500 W/(m² K) at first contact; no measurement of silver or gold on oil-bonded clay was found", Status: calc.Choice}
	srcClay      = fluid.SourceClay
	srcNiyama    = calc.Source{For: "Niyama value", Text: "E. Niyama et al., AFS Int. Cast Met. J. 7 (1982) 52; read where 90 % is solid. Not judged: no limit is known for these alloys", Status: calc.FromMemory}
	srcRiser     = calc.Source{For: "sprue proposed", Text: "riser modulus 1.2 times the casting's, the usual rule of founding", Status: calc.FromMemory}
	srcFeeding   = calc.Source{For: "feeding", Text: "a place is cut off when every way to the button has passed feeding_stops_solid before it has; 0.7 is between the values of 0.6 to 0.9 that are in use", Status: calc.Choice}
)

// outcome is a run with what is needed to read it.
type outcome struct {
	*job
	*body
	*history
	niyama []float32
}

// run freezes the job on cells of size d.
func (j *job) run(ctx context.Context, d float64) (*outcome, error) {
	reach, _ := j.reach(d)
	// Metal and its clay, and a layer of cells round them.
	low, high := j.low, j.high
	span := func(p r3.Vec, r float64) {
		low = r3.Vec{X: min(low.X, p.X-r), Y: min(low.Y, p.Y-r), Z: min(low.Z, p.Z-r)}
		high = r3.Vec{X: max(high.X, p.X+r), Y: max(high.Y, p.Y+r), Z: max(high.Z, p.Z+r)}
	}
	for _, v := range j.whole.V {
		span(v.Vec(), reach(v.Vec()))
	}
	g := around(low, high, d, 1)
	buried := func(p, n r3.Vec) bool { return false }
	if j.gate != nil || j.overlap {
		l := j.whole.Lines(ctx, g.Low.Y+d/8, g.Low.Z+d/8, d/4, 4*g.N[1], 4*g.N[2])
		buried = func(p, n r3.Vec) bool {
			return (j.overlap || j.nearGate(p)) && l.Inside(r3.Add(p, r3.Scale(0.25*d, n)))
		}
	}
	calc.Progress(ctx, 0, "cutting the piece into cells")
	b, err := newBody(ctx, g, j.whole, buried, reach)
	if err != nil {
		return nil, err
	}
	s := newSolver(calc.Cores(ctx), b, &j.alloy, j.clay, j.contact(), j.startH)
	defer s.crew.dismiss()
	if j.in.FillS > 0 {
		j.fillUp(ctx, s)
	}
	piece := j.frozenBy(j.thin / 4)
	// A step may not be longer than the thinnest part takes to follow the clay.
	conductance := 1 / (1/j.in.InterfaceWM2K + 1e-3*0.02*d/j.clay.K)
	most := 0.5 * j.alloy.Rho * 1e3 * j.metal.CpSolidKJKgK() * j.thin / 4 * 1e-3 / conductance
	h, err := s.march(ctx, plan{first: 0.01 * piece, rel: defaultRel, most: most, limit: 40 * j.frozenBy(j.bulk()), close: j.alloy.enthalpyAt(j.in.FeedingStops)})
	if err != nil {
		return nil, err
	}
	o := &outcome{job: j, body: b, history: h}
	o.niyama = make([]float32, len(h.gradient))
	for i := range o.niyama {
		// Read in K/mm and K/s: (K s)^½/mm.
		o.niyama[i] = h.gradient[i] / float32(math.Sqrt(math.Max(float64(h.rate[i]), 1e-9)))
	}
	return o, nil
}

// bulk returns the largest modulus, in mm.
func (j *job) bulk() float64 {
	m := j.modulus
	if j.gate != nil {
		m = max(m, j.gate.ButtonMM*j.gate.ButtonHighMM/(4*j.gate.ButtonHighMM+2*j.gate.ButtonMM), j.gate.SprueMM/3)
	}
	return m
}

// nearGate tells whether facets there may be buried in another body.
func (j *job) nearGate(p r3.Vec) bool {
	d := r3.Sub(p, j.at)
	along := r3.Dot(d, j.out)
	off := r3.Norm(r3.Sub(d, r3.Scale(along, j.out)))
	wide := 0.7 * j.gate.SprueMM
	return off < wide+0.5 && along < j.gate.SprueLongMM+1 && along > -3*wide-j.thin*2
}

// contact returns the interface coefficient for a solid fraction.
func (j *job) contact() func(float32) float64 {
	first := j.in.InterfaceWM2K
	last := first
	if j.in.GapWM2K != nil {
		last = *j.in.GapWM2K
	}
	return func(solid float32) float64 { return first + float64(solid)*(last-first) }
}

// Freeze follows a piece with its sprue and button from the end of the pour
// until all is solid. Heat flows by conduction in metal and clay and through
// the interface between them; the metal gives off its heat along its freezing
// range. Left out: currents in the liquid, the mould's gas, the pull of
// shrinkage, radiation, and heat from the button to the air (it counts as
// lying in clay).
func Freeze(ctx context.Context, in FreezeIn) (FreezeOut, error) {
	j, err := prepare(ctx, in)
	if err != nil {
		return FreezeOut{}, err
	}
	d, err := j.chooseCell()
	if err != nil {
		return FreezeOut{}, err
	}
	o, coarse, err := j.refine(ctx, d)
	if err != nil {
		return FreezeOut{}, err
	}
	if !o.done {
		return FreezeOut{}, calc.Refuse("mould_c", in.MouldC, "give a colder or better conducting mould: the metal is not all solid after %.3g s", o.time[len(o.time)-1])
	}
	out, err := o.answer(ctx)
	if err != nil {
		return FreezeOut{}, err
	}
	if in.EstimateError && coarse != nil {
		o.bound(&out, coarse)
	}
	if o.D > d {
		out.Warn("coarse_answer", calc.Care, "The time was too short for cells of %.3g mm: this is the answer on cells of %.3g mm. Ask again when the machine is idle, or with detail quick.", d, o.D)
	}
	return out, nil
}

// refine freezes the job on the cells chosen. Where the error is asked for it
// does so on cells twice as large before; where the caller's time is limited
// on cells four times and twice as large, a tenth more work, and gives the
// finest answer that was ready: at the end of the time something is known. The
// coarser outcome is the one that the error is told by, nil where there is none.
func (j *job) refine(ctx context.Context, d float64) (o, coarser *outcome, err error) {
	deadline, limited := ctx.Deadline()
	sizes := []float64{d}
	switch {
	case limited:
		sizes = []float64{4 * d, 2 * d, d}
	case j.in.EstimateError:
		sizes = []float64{2 * d, d}
	}
	if limited {
		const kept = 0.15 // of the time, to read the answer
		var cancel context.CancelFunc
		whole := ctx
		ctx, cancel = context.WithTimeout(ctx, time.Duration((1-kept)*float64(time.Until(deadline))))
		defer cancel()
		defer func() {
			if whole.Err() != nil {
				o, coarser, err = nil, nil, whole.Err()
			}
		}()
	}
	for _, size := range sizes {
		next, err := j.run(ctx, size)
		switch {
		case err == nil && next.done:
			o, coarser = next, o
		case size > d && ctx.Err() == nil: // too coarse for this piece
		case o != nil && errors.Is(ctx.Err(), context.DeadlineExceeded):
			return o, coarser, nil
		default:
			return next, coarser, err
		}
	}
	return o, coarser, nil
}

// leftover is what the refinement study of six pieces left of an error besides
// the difference to cells twice as large, for cells as large as the thinnest
// part: it goes with the place of the cells as much as with their size.
const leftover = 8.0 // %

// bound tells how far the grid may be off.
func (o *outcome) bound(out *FreezeOut, coarse *outcome) {
	e := 100 * math.Abs(coarse.lastOf(inPiece)-out.PieceFrozenS) / out.PieceFrozenS
	place := leftover * o.D / o.thin
	volume := 200 * math.Abs(out.Grid.VolumeMM3/out.Grid.SolidMM3-1) // times go with the square of the modulus
	sum := e + place + volume
	out.Grid.ErrorPct = &sum
	out.Step("error of the grid", sum, "%", "%.2g from cells of %.3g mm, %.2g for the place of the cells (%.3g %% × cell over thinnest part), %.2g for the grid's volume", e, coarse.D, place, leftover, volume)
}

// lastOf returns when the last of a part is solid. The piece ends where the
// sprue begins, between two nodes: a reading at the nearer one would leap with
// the place of the cells.
func (o *outcome) lastOf(p part) float64 {
	last := 0.0
	for n, t := range o.frozen {
		at := o.Centre(int(o.cell[n]))
		if o.partOf(at) != p {
			continue
		}
		last = max(last, float64(t))
		if p != inPiece || o.gate == nil {
			continue
		}
		below := -r3.Dot(r3.Sub(at, o.at), o.out)
		for _, next := range o.next[n] {
			beyond := o.Centre(int(o.cell[next]))
			above := r3.Dot(r3.Sub(beyond, o.at), o.out)
			if below >= 0 && above > 0 && o.partOf(beyond) != inPiece {
				last = max(last, float64(t)+(float64(o.frozen[next])-float64(t))*below/(below+above))
			}
		}
	}
	return last
}

// answer reads a run.
func (o *outcome) answer(ctx context.Context) (FreezeOut, error) {
	out := FreezeOut{Notes: calc.Noting(ctx), run: o, Gate: o.gate,
		HotSpots: []FreezeSpot{}, Last: []FreezeSpot{}, Regions: []FreezeRegion{}, Path: []mesh.Place{}, Curve: []FreezeMoment{}}
	parts := make([]part, len(o.cell))
	for n := range parts {
		parts[n] = o.partOf(o.Centre(int(o.cell[n])))
	}
	piece := func(n int32) bool { return parts[n] == inPiece }
	out.PieceFrozenS, out.SurfaceS = o.lastOf(inPiece), math.Inf(1)
	for n, t := range o.frozen {
		if piece(int32(n)) {
			out.SurfaceS = min(out.SurfaceS, float64(t))
		}
	}
	if o.gate != nil {
		sprue, button := o.lastOf(inSprue), o.lastOf(inButton)
		out.SprueFrozenS, out.ButtonFrozenS = &sprue, &button
	}
	o.readFeeding(ctx, &out, parts, piece)
	for _, p := range o.peaks(ctx, o.frozen, piece, standsOut) {
		if len(out.Last) < listed && p.volume >= leastPlace {
			out.Last = append(out.Last, o.spot(p))
		}
	}
	if err := ctx.Err(); err != nil {
		return out, err
	}
	out.Regions = o.regions(piece)
	out.Curve = o.curve()
	out.Niyama = o.readNiyama(piece)
	out.Grid = o.gridOut()
	o.explain(&out)
	return out, ctx.Err()
}

const (
	standsOut = 0.02 // of its time, by which a place freezes after those round it
	tolerance = 0.03 // of its time, by which feeding must stop too soon: the steps and the grid blur less
	listed    = 10
	// A bound that warms by a fifth, 2 erfc(1.16), lessens the flux there by 2 exp(−4 × 1.16²), 1 %, at the end.
	warmEdge = 0.2

	leastPlace = 4.0 // cells; what is smaller is the grid's own roughness
)

// readFeeding finds what is cut off from the button, or without one from the
// place that freezes last.
func (o *outcome) readFeeding(ctx context.Context, out *FreezeOut, parts []part, piece func(int32) bool) {
	last := int32(0)
	for n, t := range o.frozen {
		if t > o.frozen[last] {
			last = int32(n)
		}
	}
	source := func(n int32) bool { return parts[n] == inButton }
	if o.gate == nil {
		source = func(n int32) bool { return n == last }
	}
	f := o.feed(ctx, o.closed, source)
	if ctx.Err() != nil {
		return
	}
	cutOff := func(n int32) bool {
		return piece(n) && float64(o.closed[n])-f.open[n] > tolerance*float64(o.closed[n])
	}
	cell := o.D * o.D * o.D
	for _, p := range o.pools(ctx, o.frozen, cutOff) {
		if p.volume < leastPlace {
			continue
		}
		out.CutOffMM3 += p.volume * cell
		if len(out.HotSpots) < listed {
			s := o.spot(p)
			stops := max(f.open[p.last], 0)
			s.CutOffS = &stops
			out.HotSpots = append(out.HotSpots, s)
		}
	}
	out.Fed = out.CutOffMM3 == 0
	far := int32(none)
	for n, t := range o.frozen {
		if piece(int32(n)) && (far == none || t > o.frozen[far]) {
			far = int32(n)
		}
	}
	var way []int32
	for n := far; n != none; n = f.from[n] {
		way = append(way, n)
	}
	const places = 40
	for i := range min(places, len(way)) {
		n := way[i*(len(way)-1)/max(1, min(places, len(way))-1)]
		out.Path = append(out.Path, mesh.PlaceOf(o.Centre(int(o.cell[n]))))
	}
}

func (o *outcome) spot(p pool) FreezeSpot {
	v := p.volume * o.D * o.D * o.D
	shrinks := max(0, 1-o.metal.LiquidDensityKgM3(o.metal.LiquidusC())/o.alloy.Rho)
	return FreezeSpot{At: mesh.PlaceOf(o.Centre(int(o.cell[p.last]))), FrozenS: float64(o.frozen[p.last]), VolumeMM3: v, ShrinksMM3: v * shrinks}
}

// along returns where a place lies along the piece, 0 to 1.
func (o *outcome) along(p r3.Vec) float64 {
	if o.opening != nil {
		deg := o.opening.AngleOf(p)
		switch {
		case o.gate != nil:
			deg -= o.opening.AngleOf(o.at)
		case o.in.Ring != nil:
			deg -= o.opening.AngleOf(r3.Add(o.opening.Centre, r3.Vec{X: 1}))
		}
		return math.Mod(deg+360, 360) / 360
	}
	low, high := o.piece.Bounds()
	size := r3.Sub(high, low)
	axis := 0
	for k := range 3 {
		if component(size, k) > component(size, axis) {
			axis = k
		}
	}
	return min(max((component(p, axis)-component(low, axis))/component(size, axis), 0), 1-1e-9)
}

func (o *outcome) gridOut() FreezeGrid {
	g := FreezeGrid{CellMM: o.D, MetalCells: len(o.cell), Cells: len(o.cell) + o.clayCount(), Across: o.thin / o.D, Steps: o.steps,
		EnergyPct: 100 * o.drift, ClayEdgeC: o.warmest, SurfaceMM2: o.area}
	for _, v := range o.volume {
		g.VolumeMM3 += float64(v) * o.D * o.D * o.D
	}
	g.SolidMM3 = o.solidMM3
	return g
}

// explain adds working, cautions and sources.
func (o *outcome) explain(out *FreezeOut) {
	n := &out.Notes
	n.Step("pour temperature", o.pourC, "°C", "liquidus %.1f °C, freezing ends at %.1f °C", o.metal.LiquidusC(), o.alloy.EndT)
	n.Step("heat to give off", (o.startH-o.alloy.EndH)/1e3, "kJ/kg", "enthalpy at %.1f °C less that at the end of freezing", o.pourC)
	n.Step("density", o.alloy.Rho, "kg/m³", "of the solid at the end of freezing: what fills a mould that is fed")
	n.Step("clay's diffusivity", o.clay.Diffusivity(), "m²/s", "k/(ρc) = %.3g/(%.4g × %.4g)", o.clay.K, o.clay.Rho, o.clay.C)
	n.Step("by the law of the mould", o.frozenBy(o.modulus), "s", "(π/4)(ρH′M/(ΔT b))² + ρH′M/(hΔT), M = %.3g mm, for comparison", o.modulus)
	n.Step("cell", o.D, "mm", "thinnest part %.3g mm / %.3g cells", o.thin, o.thin/o.D)
	n.Cite(srcEnthalpy, srcRKL, srcProof, srcFeeding)
	n.Cite(o.metal.Sources()...)
	if o.in.Clay == nil {
		n.Cite(srcClay)
	}
	n.Cite(srcInterface)
	if out.Niyama != nil {
		n.Cite(srcNiyama)
	}
	if o.gate != nil && o.in.SprueMM == nil {
		n.Cite(srcRiser)
	}
	n.Caution(safety.MoltenMetal, safety.DampMould, safety.HotMould, safety.OilSmoke)
	n.Caution(o.metal.Cautions()...)
	n.Warn("interface_unknown", calc.Care, "Nobody has measured the interface coefficient in oil-bonded clay; times go nearly as its inverse on thin pieces. Run 500 and 1500 W/(m² K) too, and trust the order of freezing before the times.")
	if !out.Fed {
		n.Warn("cut_off", calc.Care, "%.3g mm³ of the piece are cut off from the button while they still need metal: look for shrinkage at the hot spots, move or thicken the sprue, or add a second.", out.CutOffMM3)
	}
	if o.thin/o.D < minAcross {
		n.Warn("coarse_grid", calc.Care, "Only %.2g cells across the thinnest part fit the limits; times there may be off by several percent.", o.thin/o.D)
	}
	if off := out.Grid.VolumeMM3/out.Grid.SolidMM3 - 1; math.Abs(off) > 0.01 {
		n.Warn("grid_volume", calc.Care, "The grid holds %+.2g %% of metal against the solid: its cells are too large for the piece, and times are off by about twice that.", 100*off)
	}
	if rise := o.warmest - o.clay.Start; rise > warmEdge*(o.alloy.EndT-o.clay.Start) {
		n.Warn("clay_edge_warm", calc.Note, "The outer bound of the clay that was computed, taken to let no heat through, warmed by %.0f K; real clay beyond it would take a little more heat.", rise)
	}
}
