package shape

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/section"
)

// Body is a piece whose form is settled.
type Body struct {
	Kind     Kind
	path     path
	sections section.Profile
	thins    []Place // thin and thick places alike
	head     *head
	bail     *Bail
	outline  func(f float64) float64 // share of the width, of a disc or drop
	scanned  *scan                   // of a surface, in place of all the above
	sums     sums
}

// sums are what is integrated along the way.
type sums struct {
	length, volume float64
	at             []float64 // length of the way at i/fine
	box            *box
}

// box is what a piece just fills, found when it is first asked for.
type box struct {
	once      sync.Once
	low, high r3.Vec
}

const fine = 1440 // steps of an integral along the way, by the middle of each

// Closed says whether the way runs back into itself.
func (b *Body) Closed() bool {
	if b.scanned != nil {
		return b.scanned.closed
	}
	return b.Kind.Closed()
}

// cutAt is the section at a fraction of the way, as it stands across the
// middle line of the band.
func (b *Body) cutAt(f float64) cut {
	c := b.base(f)
	for i := range b.thins {
		p := &b.thins[i]
		w := b.swell(p, f)
		if w == 0 {
			continue
		}
		width := c.Width()
		if p.WidthMM != nil {
			width += w * (*p.WidthMM - width)
		}
		thickness := c.ThicknessMM + w*(p.ThicknessMM-c.ThicknessMM)
		if c.Shape == section.Round && p.WidthMM == nil {
			width = thickness
		}
		c = c.measured(thickness, width)
	}
	if b.head != nil {
		c = b.head.over(b, f, c)
	}
	return c
}

// base is the section without places and head.
func (b *Body) base(f float64) cut {
	p := b.sections
	at := 100 * f
	i := slices.IndexFunc(p, func(s section.Station) bool { return at <= s.AtPct })
	var c cut
	switch {
	case i < 0:
		c = plain(p[len(p)-1].Section)
	case i == 0:
		c = plain(p[0].Section)
	default:
		c = blend(p[i-1].Section, p[i].Section, (at-p[i-1].AtPct)/(p[i].AtPct-p[i-1].AtPct))
	}
	if b.outline == nil {
		return c
	}
	g := b.outline(f)
	if b.Kind == Disc {
		return c.measured(c.ThicknessMM, g*c.Width())
	}
	return c.measured(dropBody(g)*c.ThicknessMM, g*c.Width())
}

// swell is how far a place has its say at f: 1 in its middle, a cosine to 0.
func (b *Body) swell(p *Place, f float64) float64 {
	d := math.Abs(f - p.AtPct/100)
	if b.Kind.Closed() {
		d = min(d, 1-d)
	}
	x := d * b.plainLength() / p.LengthMM
	if x >= 0.5 {
		return 0
	}
	return (1 + math.Cos(2*math.Pi*x)) / 2
}

// plainLength is the length of the inside with the wave left out, in mm.
func (b *Body) plainLength() float64 {
	if b.path.straight {
		return b.path.length
	}
	return b.path.metal * b.path.round()
}

// steep is the ratio of the middle line's length to its length in the plane,
// for a section whose centre lies v from the inside.
func (g *frame) steep(v float64) float64 {
	if g.rise == 0 {
		return 1
	}
	return math.Hypot(1, g.rise/(g.speed*(1+g.curvature*v)))
}

// sum integrates length and volume. A section's area times the path of its
// centre (Pappus), the path's length being that of the inside times 1 + κv
// (parallel curves); exact for sections that stand across the inside, and for
// a waving band, whose sections are upright and as much higher as it is steep.
func (b *Body) sum() {
	b.sums = sums{at: make([]float64, fine+1), box: &box{}}
	for i := range fine {
		from, to := b.pace(float64(i)/fine), b.pace(float64(i+1)/fine)
		f := (from + to) / 2
		g := b.path.at(f)
		area, _, v := b.cutAt(f).measures()
		dl := g.speed * (1 + g.curvature*v) * g.steep(v) * (to - from)
		b.sums.length += dl
		b.sums.volume += area * dl
		b.sums.at[i+1] = b.sums.length
	}
	if b.bail != nil {
		b.sums.volume += b.loopVolume()
	}
}

// pace spaces the steps of a way: even on a closed one, closer at open ends,
// where a piece may run out in a curve.
func (b *Body) pace(u float64) float64 {
	if b.Kind.Closed() {
		return u
	}
	return (1 - math.Cos(math.Pi*u)) / 2
}

// VolumeMM3 is the volume in mm³, bail included.
func (b *Body) VolumeMM3() float64 {
	if b.scanned != nil {
		return b.scanned.volume
	}
	return b.sums.volume
}

// LengthMM is the length of the way along the middle of the sections, in mm.
func (b *Body) LengthMM() float64 {
	if b.scanned != nil {
		return b.scanned.length
	}
	return b.sums.length
}

// InsideMM is the inside circumference over π, in mm; of a cuff, metal and
// opening together; 0 for a straight piece.
func (b *Body) InsideMM() float64 {
	switch {
	case b.scanned != nil:
		return b.scanned.inside
	case b.path.straight:
		return 0
	}
	return b.path.round() / math.Pi
}

// InsideAxesMM are the inside width, through the gate, and height, in mm.
func (b *Body) InsideAxesMM() (width, height float64) {
	if b.scanned != nil {
		return b.scanned.longest, b.scanned.shortest
	}
	if b.path.straight {
		return 0, 0
	}
	return 2 * (b.path.a + b.path.offset), 2 * (b.path.b + b.path.offset)
}

// GapMM is the opening of a cuff along the inside, mm; 0 of anything else.
func (b *Body) GapMM() float64 {
	if b.Closed() || !b.Kind.Curved() {
		return 0
	}
	if b.scanned != nil {
		return b.scanned.gap
	}
	return (1 - b.path.metal) * b.path.round()
}

// Extent returns the edges of the box that the piece just fills along x, y, z.
func (b *Body) Extent() r3.Vec {
	low, high := b.Bounds()
	return r3.Sub(high, low)
}

// Bounds are the lowest and the highest corner of that box, mm.
func (b *Body) Bounds() (low, high r3.Vec) {
	if b.scanned != nil {
		return b.Solid().Bounds()
	}
	box := b.sums.box
	box.once.Do(func() { box.low, box.high = b.Solid().Bounds() })
	return box.low, box.high
}

// AreaMM2 is the surface in mm², of the solid's facets; of a bail without what
// lies inside the piece.
func (b *Body) AreaMM2() float64 {
	if b.scanned != nil {
		return b.scanned.area
	}
	return b.band().Solid().AreaMM2 + b.loopArea()
}

// Thinnest returns the least thickness in mm of the band, and its place in
// percent of the way. The ends themselves, within a
// thickness or half a width of them, do not count.
func (b *Body) Thinnest() (mm, atPct float64) {
	mm = math.Inf(1)
	for _, s := range b.Stations(wearStations) {
		if end := min(s.AtMM, b.LengthMM()-s.AtMM); !b.Closed() && end < max(s.ThicknessMM, s.WidthMM/2) {
			continue
		}
		if s.ThicknessMM < mm-1e-9 {
			mm, atPct = s.ThicknessMM, s.AtPct
		}
	}
	for i := range b.thins {
		f := b.thins[i].AtPct / 100
		if t := b.cutAt(f).ThicknessMM; t < mm-1e-9 {
			mm, atPct = t, b.run(f)
		}
	}
	return mm, atPct
}

const wearStations = 96

// Grown adds metal for the bench: inside and outside in mm on the faces, edge
// on each edge and end; negative takes it off. Of a surface the sections grow
// and the solid stays as it is.
func (b *Body) Grown(inside, outside, edge float64) *Body {
	g := *b
	if b.scanned != nil {
		g.scanned = b.scanned.grown(inside, outside, edge)
		return &g
	}
	if g.path.straight {
		g.path.length += 2 * edge
	} else {
		g.path.offset -= inside
		if g.path.metal < 1 {
			gap := (1-g.path.metal)*b.path.round() - 2*edge
			g.path.metal = 1 - max(gap, 0)/g.path.round()
		}
	}
	r := g.Resized(inside+outside, 2*edge)
	if r.head != nil {
		r.head.length += 2 * edge
	}
	if b.bail != nil {
		r.bail = &Bail{max(b.bail.InsideDiameterMM-2*edge, 0.1), b.bail.WireMM + 2*edge}
	}
	r.settle()
	return r
}

// Scaled multiplies the path by inside and the sections by across, as metal
// contracts that a core holds and that nothing holds.
func (b *Body) Scaled(inside, across float64) *Body {
	g := *b
	if b.scanned != nil {
		g.scanned = b.scanned.scaled(math.Cbrt(inside * across * across))
		return &g
	}
	g.path = b.path.scaled(inside)
	g.sections = slices.Clone(b.sections)
	for i := range g.sections {
		g.sections[i].ThicknessMM *= across
		g.sections[i].WidthMM *= across
	}
	g.thins = slices.Clone(b.thins)
	for i := range g.thins {
		p := &g.thins[i]
		p.LengthMM *= inside
		p.ThicknessMM *= across
		if p.WidthMM != nil {
			p.WidthMM = ptr(*p.WidthMM * across)
		}
	}
	if b.head != nil {
		h := *b.head
		h.length, h.width, h.thickness, h.shoulder = h.length*inside, h.width*across, h.thickness*across, h.shoulder*inside
		g.head = &h
	}
	if b.bail != nil {
		g.bail = &Bail{b.bail.InsideDiameterMM * across, b.bail.WireMM * across}
	}
	g.settle()
	return &g
}

// settle finds what follows from the form.
func (b *Body) settle() {
	if b.head != nil {
		b.head.settle(b)
	}
	b.sum()
}

func (p path) scaled(k float64) path {
	p.length, p.a, p.b, p.offset, p.rise = k*p.length, k*p.a, k*p.b, k*p.offset, k*p.rise
	if p.arc != nil {
		p.arc = slices.Clone(p.arc)
		for i := range p.arc {
			p.arc[i] *= k
		}
	}
	return p
}

func ptr[T any](v T) *T { return &v }
