package shape

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/mesh"
	"pourwright/internal/section"
)

// scan is a piece read from its surface: moved so that z is across the
// parting, and cut into sections along its way.
type scan struct {
	mesh         *mesh.Mesh
	closed       bool
	volume, area float64
	inside       float64
	gap          float64 // along the inside
	longest      float64 // inside measures through the centre
	shortest     float64
	length       float64
	stations     []Station
}

const (
	cutsRound = 720 // round a ring
	cutsAlong = 360 // along a straight piece
)

// scanned reads the surface of the pattern.
func (s *Shape) scanned(ctx context.Context) (*Body, error) {
	for _, given := range []bool{s.InsideDiameterMM != nil, s.InsideWidthMM != nil, s.LengthMM != nil, s.ThicknessMM != nil, s.Stations != nil, s.Head != nil, s.Bail != nil, s.Wave != nil, s.Weighed != nil} {
		if given {
			return nil, calc.Refuse("mesh", nil, "give either the surface or the measures of the piece, not both")
		}
	}
	solid, err := s.Mesh.Load(ctx)
	if err != nil {
		return nil, calc.Under("mesh", err)
	}
	b := &Body{Kind: s.Kind}
	o, curved := solid.Opening()
	if curved != s.Kind.Curved() && s.Kind != Other {
		return nil, calc.Refuse("kind", s.Kind, "give %s for this surface", map[bool]string{true: "ring, bangle, cuff or signet: it has a hole to be worn by; or other", false: "bar, disc, drop or other: it has no hole to be worn by"}[curved])
	}
	c := &scan{volume: solid.VolumeMM3, area: solid.AreaMM2}
	if curved && s.Kind != Other {
		c.closed = o.GapDeg == 0
		if c.closed != s.Kind.Closed() {
			return nil, calc.Refuse("kind", s.Kind, "give %s: the surface has a gap of %.0f degrees", map[bool]string{true: "ring, bangle or signet", false: "cuff"}[c.closed], o.GapDeg)
		}
		c.round(solid.Mesh, &o)
	} else {
		c.straight(solid.Mesh)
	}
	b.scanned = c
	return b, nil
}

// moved is the surface in another frame of unit vectors about an origin.
func moved(m *mesh.Mesh, origin, x, y, z r3.Vec) *mesh.Mesh {
	n := &mesh.Mesh{V: make([]mesh.Point, len(m.V)), T: m.T}
	for i, p := range m.V {
		d := r3.Sub(p.Vec(), origin)
		n.V[i] = mesh.Point{float32(r3.Dot(d, x)), float32(r3.Dot(d, y)), float32(r3.Dot(d, z))}
	}
	return n
}

// round cuts a ring or cuff by half planes through its axis, from its bulkiest
// section or from one end.
func (c *scan) round(m *mesh.Mesh, o *mesh.Opening) {
	c.shortest, c.longest = o.ShortestMM, o.LongestMM
	c.mesh = moved(m, o.Centre, o.U, o.V, o.Axis)
	cuts := cutRound(c.mesh)
	first, count := 0, cutsRound
	if c.closed {
		for i := range cuts {
			if cuts[i].area > cuts[first].area {
				first = i
			}
		}
	} else {
		first, count = afterGap(cuts)
	}
	turn := 2 * math.Pi * (float64(first) + 0.5) / cutsRound
	if !c.closed { // the middle of the metal to +x, as a described cuff lies
		turn += math.Pi * float64(count-1) / cutsRound
	}
	sin, cos := math.Sincos(turn)
	c.mesh = moved(c.mesh, r3.Vec{}, r3.Vec{X: cos, Y: sin}, r3.Vec{X: -sin, Y: cos}, r3.Vec{Z: 1})
	places := make([]placed, count)
	for i := range places {
		k := (first + i) % cutsRound
		s, cs := math.Sincos(2*math.Pi*(float64(k)+0.5)/cutsRound - turn)
		s0 := &cuts[k]
		r, z := s0.r/s0.area, s0.z/s0.area
		places[i] = placed{slice: s0, centre: r3.Vec{X: r * cs, Y: r * s, Z: z}, out: r3.Vec{X: cs, Y: s},
			volume: s0.r * 2 * math.Pi / cutsRound, thickness: s0.rHigh - s0.rLow, width: s0.zHigh - s0.zLow, centroid: r - s0.rLow}
	}
	c.inside = insideRound(cuts, first, count) / math.Pi
	c.gap = math.Pi * c.inside * (1 - float64(count)/cutsRound)
	c.lay(places)
}

// straight cuts a piece by planes across its longest axis, from its stouter end.
func (c *scan) straight(m *mesh.Mesh) {
	centre, axes := m.Principal()
	long, flat := longestFirst(m, centre, axes)
	c.mesh = moved(m, centre, long, r3.Cross(flat, long), flat)
	cuts, low, high := cutAlong(c.mesh)
	weight := 0.0
	for i := range cuts {
		weight += cuts[i].area * (float64(i) + 0.5 - cutsAlong/2)
	}
	if weight > 0 { // stouter towards its far end: turn it round
		c.mesh = moved(c.mesh, r3.Vec{}, r3.Vec{X: -1}, r3.Vec{Y: -1}, r3.Vec{Z: 1})
		cuts, low, high = cutAlong(c.mesh)
	}
	bottom, _ := c.mesh.Bounds()
	c.mesh = moved(c.mesh, r3.Vec{X: low, Z: bottom.Z}, r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{Z: 1})
	step := (high - low) / cutsAlong
	var places []placed
	for i := range cuts {
		s := &cuts[i]
		if s.area <= 1e-9 {
			continue
		}
		y, z := s.r/s.area, s.z/s.area
		places = append(places, placed{slice: s, centre: r3.Vec{X: (float64(i) + 0.5) * step, Y: y, Z: z - bottom.Z}, out: r3.Vec{Z: 1},
			volume: s.area * step, thickness: s.zHigh - s.zLow, width: s.rHigh - s.rLow, centroid: z - s.zLow})
	}
	c.lay(places)
}

// longestFirst returns the axis along which the body is longest and the one
// along which it is flattest.
func longestFirst(m *mesh.Mesh, centre r3.Vec, axes []r3.Vec) (long, flat r3.Vec) {
	most, least := 0.0, math.Inf(1)
	for _, a := range axes {
		low, high := math.Inf(1), math.Inf(-1)
		for _, p := range m.V {
			d := r3.Dot(r3.Sub(p.Vec(), centre), a)
			low, high = min(low, d), max(high, d)
		}
		if high-low > most {
			most, long = high-low, a
		}
		if high-low < least {
			least, flat = high-low, a
		}
	}
	return long, flat
}

// placed is a section where it stands.
type placed struct {
	*slice
	centre, out      r3.Vec
	volume           float64
	thickness, width float64
	centroid         float64
}

// lay makes stations of the sections: the way runs through their centres, and
// each has the area across the way that its share of the volume asks. A way
// that is not closed runs on by half a step at either end.
func (c *scan) lay(places []placed) {
	n := len(places)
	gap := func(i int) float64 { return r3.Norm(r3.Sub(places[(i+1)%n].centre, places[i].centre)) }
	at := 0.0
	if !c.closed {
		at = gap(0) / 2
	}
	for i := range places {
		p := &places[i]
		var step float64
		var along r3.Vec
		switch {
		case c.closed:
			step = (gap(i) + gap((i+n-1)%n)) / 2
			along = r3.Sub(places[(i+1)%n].centre, places[(i+n-1)%n].centre)
		case i == 0:
			step, along = gap(0), r3.Sub(places[1].centre, p.centre)
		case i == n-1:
			step, along = gap(n-2), r3.Sub(p.centre, places[n-2].centre)
		default:
			step, along = (gap(i)+gap(i-1))/2, r3.Sub(places[i+1].centre, places[i-1].centre)
		}
		steep := p.volume / step / p.area // cosine of the angle of the plane to the way, about
		s := Station{AtMM: at, AreaMM2: p.volume / step, PerimeterMM: p.perimeter * min(1, steep+(1-steep)/2),
			ThicknessMM: p.thickness, WidthMM: p.width * min(1, steep), CentroidMM: p.centroid, Centre: p.centre, Along: r3.Unit(along), Out: p.out}
		s.Section = nearest(s, p.centroid)
		c.stations = append(c.stations, s)
		if c.closed {
			at += gap(i)
		} else if i < n-1 {
			at += gap(i)
		} else {
			at += step / 2
		}
	}
	c.length = at
	if c.closed {
		first := c.stations[0]
		first.AtMM = at
		c.stations = append(c.stations, first)
	}
	for i := range c.stations {
		c.stations[i].AtPct = 100 * c.stations[i].AtMM / at
	}
}

// nearest is the section of the trade whose filling of its box comes nearest,
// with the true thickness and such a width that its area is the true one.
func nearest(s Station, centroid float64) section.Section {
	fill := s.AreaMM2 / (s.ThicknessMM * s.WidthMM)
	best, off := section.Rectangular, math.Inf(1)
	for _, form := range []section.Shape{section.Rectangular, section.D, section.HalfRound, section.Oval, section.KnifeEdge, section.Comfort} {
		trial := section.Section{Shape: form, ThicknessMM: 1, WidthMM: 1}
		d := math.Abs(trial.Area()-fill) + math.Abs(trial.Centroid()-centroid/s.ThicknessMM)
		if d < off {
			best, off = form, d
		}
	}
	out := section.Section{Shape: best, ThicknessMM: s.ThicknessMM, WidthMM: 1}
	out.WidthMM = s.AreaMM2 / out.Area()
	return out
}

// station is the section at a place in percent, between the sections cut.
func (c *scan) station(atPct float64) Station {
	list := c.stations
	i := 1
	for i < len(list)-1 && list[i].AtPct < atPct {
		i++
	}
	a, b := list[i-1], list[i]
	x := min(max((atPct-a.AtPct)/(b.AtPct-a.AtPct), 0), 1)
	mix := func(p, q float64) float64 { return p + x*(q-p) }
	s := a
	if x > 0.5 {
		s = b
	}
	s.AtPct, s.AtMM = atPct, atPct/100*c.length
	s.AreaMM2, s.PerimeterMM = mix(a.AreaMM2, b.AreaMM2), mix(a.PerimeterMM, b.PerimeterMM)
	s.ThicknessMM, s.WidthMM, s.CentroidMM = mix(a.ThicknessMM, b.ThicknessMM), mix(a.WidthMM, b.WidthMM), mix(a.CentroidMM, b.CentroidMM)
	s.Centre = r3.Add(a.Centre, r3.Scale(x, r3.Sub(b.Centre, a.Centre)))
	s.Section.ThicknessMM = s.ThicknessMM
	s.Section.WidthMM = 1
	s.Section.WidthMM = s.AreaMM2 / s.Section.Area()
	return s
}

func (c *scan) scaled(k float64) *scan {
	s := *c
	s.mesh = &mesh.Mesh{V: append([]mesh.Point(nil), c.mesh.V...), T: c.mesh.T}
	s.mesh.Scale(k)
	s.volume, s.area = k*k*k*c.volume, k*k*c.area
	s.inside, s.gap, s.longest, s.shortest, s.length = k*c.inside, k*c.gap, k*c.longest, k*c.shortest, k*c.length
	s.stations = append([]Station(nil), c.stations...)
	for i := range s.stations {
		t := &s.stations[i]
		t.AtMM, t.ThicknessMM, t.WidthMM = k*t.AtMM, k*t.ThicknessMM, k*t.WidthMM
		t.AreaMM2, t.PerimeterMM, t.CentroidMM, t.Centre = k*k*t.AreaMM2, k*t.PerimeterMM, k*t.CentroidMM, r3.Scale(k, t.Centre)
		t.Section.ThicknessMM *= k
		t.Section.WidthMM *= k
	}
	return &s
}

// grown adds bench metal to every section, its filling of its box kept; the
// surface stays. First order in the allowance over the thickness.
func (c *scan) grown(inside, outside, edge float64) *scan {
	s := *c
	s.stations = append([]Station(nil), c.stations...)
	before, after := 0.0, 0.0
	for i := range s.stations {
		t := &s.stations[i]
		fill := t.AreaMM2 / (t.ThicknessMM * t.WidthMM)
		before += t.AreaMM2
		t.PerimeterMM += 2 * (inside + outside + 2*edge)
		t.ThicknessMM, t.WidthMM = max(t.ThicknessMM+inside+outside, 0.01), max(t.WidthMM+2*edge, 0.01)
		t.AreaMM2 = fill * t.ThicknessMM * t.WidthMM
		after += t.AreaMM2
		t.Section.ThicknessMM, t.Section.WidthMM = t.ThicknessMM, 1
		t.Section.WidthMM = t.AreaMM2 / t.Section.Area()
	}
	s.volume *= after / before
	s.inside -= 2 * inside
	s.longest, s.shortest = s.longest-2*inside, s.shortest-2*inside
	return &s
}
