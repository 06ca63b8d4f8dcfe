package mesh

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// Opening is the hole of a ring-like body: a ring, band, bangle or cuff.
type Opening struct {
	Axis             r3.Vec  // unit vector
	Centre           r3.Vec  // on the axis, mid-width
	DiameterMM       float64 // of the largest round bar that passes
	ShortestMM       float64 // least and greatest inside measure through the centre
	LongestMM        float64
	OutsideMM        float64 // diameter of the round tube that the body just enters, about the same axis
	WidthMM          float64 // along the axis
	GapDeg           float64 // angle without metal: 0 for a closed ring
	U, V             r3.Vec  // unit vectors across the axis; angles run from U to V
	inside, outwards [bins]float64
	first, last      [bins]float64 // of the metal seen in each, radians from its start
}

const (
	bins       = 360 // places round the axis
	leastCover = 250 // degrees that a ring-like body must take up
)

// Opening finds the hole of a ring-like body, or reports that there is none.
// Its axis is taken among the principal axes of the surface; a body with a
// heavy head to one side is met as long as it is even to both sides of the
// band's middle plane. A ring of facets is measured as it is: to the chords.
func (m *Mesh) Opening() (Opening, bool) {
	best, found := Opening{}, false
	centre, axes := m.Principal()
	for _, axis := range axes {
		o, ok := m.look(axis, centre)
		if ok && (!found || o.DiameterMM > best.DiameterMM) {
			best, found = o, true
		}
	}
	return best, found
}

// Principal returns the centre and the principal axes of the surface, from that
// of the least second moment to the greatest.
func (m *Mesh) Principal() (centre r3.Vec, axes []r3.Vec) {
	var sum, area float64
	moment := mat.NewSymDense(3, nil)
	for t := range m.T {
		a, b, c := m.Corners(t)
		area = r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
		sum += area
		centre = r3.Add(centre, r3.Scale(area/3, r3.Add(a, r3.Add(b, c))))
	}
	centre = r3.Scale(1/sum, centre)
	for t := range m.T {
		a, b, c := m.Corners(t)
		area = r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
		for _, p := range [3]r3.Vec{r3.Scale(0.5, r3.Add(a, b)), r3.Scale(0.5, r3.Add(b, c)), r3.Scale(0.5, r3.Add(c, a))} {
			d := r3.Sub(p, centre) // middles of the sides: exact for second moments
			v := [3]float64{d.X, d.Y, d.Z}
			for i := range 3 {
				for j := i; j < 3; j++ {
					moment.SetSym(i, j, moment.At(i, j)+area*v[i]*v[j])
				}
			}
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(moment, true) {
		return centre, nil
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	for j := range 3 {
		a := r3.Vec{X: vectors.At(0, j), Y: vectors.At(1, j), Z: vectors.At(2, j)}
		if big := max(math.Abs(a.X), math.Abs(a.Y), math.Abs(a.Z)); a.X == -big || a.Y == -big || a.Z == -big {
			a = r3.Scale(-1, a)
		}
		axes = append(axes, a)
	}
	return centre, axes
}

// look looks along an axis for a hole about the given centre.
func (m *Mesh) look(axis, centre r3.Vec) (Opening, bool) {
	o := Opening{Axis: axis, Centre: centre}
	o.U = r3.Unit(r3.Cross(leastAligned(axis), axis))
	o.V = r3.Cross(axis, o.U)
	flat := make([][2]float64, len(m.V))
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range m.V {
		d := r3.Sub(p.Vec(), centre)
		flat[i] = [2]float64{r3.Dot(d, o.U), r3.Dot(d, o.V)}
		along := r3.Dot(d, axis)
		low, high = min(low, along), max(high, along)
	}
	o.WidthMM = high - low
	for _, t := range m.T {
		if covers(flat[t[0]], flat[t[1]], flat[t[2]]) {
			return o, false
		}
	}
	var c [2]float64
	for range 4 {
		o.sweep(m, flat, c)
		c = o.widest(c)
	}
	o.sweep(m, flat, c)
	covered, run := 0, 0
	for k := range 2 * bins { // twice round: a gap may lie across the start
		if math.IsInf(o.inside[k%bins], 1) {
			run++
			continue
		}
		if run > 0 && run < bins && k >= run { // the gap reaches into the bins beside it
			wide := 2 * math.Pi / bins
			before := (k - run - 1 + 2*bins) % bins
			o.GapDeg = max(o.GapDeg, 180/math.Pi*(wide*float64(run)+(wide-o.last[before])+o.first[k%bins]))
		}
		run = 0
		if k < bins {
			covered++
		}
	}
	if covered < leastCover {
		return o, false
	}
	r := math.Inf(1)
	o.ShortestMM, o.LongestMM = math.Inf(1), 0
	for k, in := range o.inside {
		r = min(r, in)
		o.OutsideMM = max(o.OutsideMM, 2*o.outwards[k])
		if through := in + o.inside[(k+bins/2)%bins]; !math.IsInf(through, 1) {
			o.ShortestMM, o.LongestMM = min(o.ShortestMM, through), max(o.LongestMM, through)
		}
	}
	o.DiameterMM = 2 * r
	o.Centre = r3.Add(centre, r3.Add(r3.Scale(c[0], o.U), r3.Add(r3.Scale(c[1], o.V), r3.Scale((low+high)/2, axis))))
	return o, o.DiameterMM > 0 && !math.IsInf(o.ShortestMM, 1)
}

// covers tells whether the origin lies in the flat triangle.
func covers(a, b, c [2]float64) bool {
	s, t, u := a[0]*b[1]-a[1]*b[0], b[0]*c[1]-b[1]*c[0], c[0]*a[1]-c[1]*a[0]
	return s >= 0 && t >= 0 && u >= 0 || s <= 0 && t <= 0 && u <= 0
}

// sweep records the nearest and farthest metal in each direction from c:
// corners, and the sides of facets where they pass nearest or span several bins.
func (o *Opening) sweep(m *Mesh, flat [][2]float64, c [2]float64) {
	for k := range bins {
		o.inside[k], o.outwards[k] = math.Inf(1), 0
		o.first[k], o.last[k] = math.Inf(1), 0
	}
	note := func(x, y float64) int {
		turn := (math.Atan2(y, x)/(2*math.Pi) + 1) * bins
		k := int(turn) % bins
		within := (turn - math.Floor(turn)) * 2 * math.Pi / bins
		o.first[k], o.last[k] = min(o.first[k], within), max(o.last[k], within)
		r := math.Hypot(x, y)
		o.inside[k], o.outwards[k] = min(o.inside[k], r), max(o.outwards[k], r)
		return k
	}
	at := make([]int16, len(flat))
	for i, p := range flat {
		at[i] = int16(note(p[0]-c[0], p[1]-c[1]))
	}
	for _, t := range m.T {
		for i, v := range t {
			w := t[next(i)]
			if v > w { // each side once, from its lower corner
				continue
			}
			apart := (int(at[w]) - int(at[v]) + bins) % bins
			if apart > bins/2 {
				apart = bins - apart
			}
			ax, ay := flat[v][0]-c[0], flat[v][1]-c[1]
			dx, dy := flat[w][0]-flat[v][0], flat[w][1]-flat[v][1]
			if l := dx*dx + dy*dy; l > 0 {
				if f := -(ax*dx + ay*dy) / l; f > 0 && f < 1 {
					note(ax+f*dx, ay+f*dy)
				}
			}
			for k := 1; k < 2*apart; k++ {
				f := float64(k) / float64(2*apart)
				note(ax+f*dx, ay+f*dy)
			}
		}
	}
}

// Towards returns the unit vector across the axis at an angle, in degrees from
// U, and the least and greatest distance of metal from the axis there, in mm.
func (o *Opening) Towards(deg float64) (out r3.Vec, inside, outside float64) {
	s, c := math.Sincos(deg * math.Pi / 180)
	k := (int(math.Floor(deg*bins/360))%bins + bins) % bins
	return r3.Add(r3.Scale(c, o.U), r3.Scale(s, o.V)), o.inside[k], o.outwards[k]
}

// AngleOf returns the angle of a place about the axis, in degrees from U, 0 to 360.
func (o *Opening) AngleOf(p r3.Vec) float64 {
	d := r3.Sub(p, o.Centre)
	return math.Mod(math.Atan2(r3.Dot(d, o.V), r3.Dot(d, o.U))*180/math.Pi+360, 360)
}

// widest moves c to where the nearest metal is farthest: steps away from it
// that shrink to a thousandth of a millimetre.
func (o *Opening) widest(c [2]float64) [2]float64 {
	var points [][2]float64
	r := math.Inf(1)
	for k, in := range o.inside {
		if math.IsInf(in, 1) {
			continue
		}
		s, cos := math.Sincos(2 * math.Pi * (float64(k) + 0.5) / bins)
		points = append(points, [2]float64{c[0] + in*cos, c[1] + in*s})
		r = min(r, in)
	}
	best := c
	clearance := func(p [2]float64) (float64, [2]float64) {
		least, at := math.Inf(1), p
		for _, q := range points {
			if d := math.Hypot(q[0]-p[0], q[1]-p[1]); d < least {
				least, at = d, q
			}
		}
		return least, at
	}
	most, _ := clearance(c)
	for step := r / 4; step > 1e-5; step *= 0.97 {
		d, q := clearance(c)
		if d > most {
			most, best = d, c
		}
		if d == 0 {
			break
		}
		c = [2]float64{c[0] + step*(c[0]-q[0])/d, c[1] + step*(c[1]-q[1])/d}
	}
	return best
}
