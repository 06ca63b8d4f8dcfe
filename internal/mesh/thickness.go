package mesh

import (
	"context"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"
)

// Wall is the thickness of a wall at a place: the diameter of the largest ball
// in the metal that touches the surface there.
type Wall struct {
	MM float64
	At r3.Vec // on the surface
	In r3.Vec // unit vector from there to the middle of the ball
}

func (b *ball) asWall() Wall { return Wall{2 * b.r, b.at, b.in} }

// survey is a surface made ready to have its walls measured: what of it bounds
// metal, filed, and the creases where it bends inwards.
type survey struct {
	*tree
	from    *Checked
	source  []int32 // facet of the piece that each facet here is part of; nil for itself
	creases []crease
	solid   Solid   // of bodies that run into one another
	widest  float64 // mm, across everything
}

// crease is a stretch along which two faces meet turned inwards, or where one
// body runs into another: the nearest metal opposite may be nearest to it.
type crease struct {
	a, b       r3.Vec
	in, across r3.Vec // unit vectors into the metal, square to the two faces
}

// bent is the cosine of the least angle at which faces make a crease: 10°.
// What bends less is a facet of a curve, and its faces see what is opposite.
const bent = 0.985

// survey files the surface once.
func (c *Checked) survey(ctx context.Context) *survey {
	if c.surveyed != nil {
		return c.surveyed
	}
	low, high := c.Bounds()
	s := &survey{from: c, widest: norm(r3.Sub(high, low))}
	if c.Unions > 0 {
		e := c.exposed(ctx)
		s.tree, s.source, s.creases, s.solid = e.Mesh.tree(ctx), e.source, e.creases, e.Solid
	} else {
		s.tree = c.filed(ctx)
		s.creases = c.creases(ctx)
	}
	if ctx.Err() == nil {
		c.surveyed = s
	}
	return s
}

// filed is the whole surface, filed once.
func (c *Checked) filed(ctx context.Context) *tree {
	if c.tree == nil {
		c.tree = c.Mesh.tree(ctx)
	}
	return c.tree
}

// creases lists the edges at which faces meet turned inwards.
func (c *Checked) creases(ctx context.Context) []crease {
	const part = 1 << 15
	parts := make([][]crease, (len(c.mate)+part-1)/part)
	Parallel(ctx, len(parts), func(i int) {
		for h := i * part; h < min((i+1)*part, len(c.mate)); h++ {
			o := c.mate[h]
			if int(o) <= h {
				continue
			}
			n, k := c.normal(int32(h/3)), c.normal(o/3)
			a, b := c.V[c.from(int32(h))].Vec(), c.V[c.to(int32(h))].Vec()
			tip := c.V[c.T[o/3][(o+2)%3]].Vec()
			if r3.Dot(n, k) < bent*math.Sqrt(r3.Norm2(n)*r3.Norm2(k)) && r3.Dot(n, r3.Sub(tip, a)) > 0 {
				parts[i] = append(parts[i], crease{a, b, r3.Scale(-1, r3.Unit(n)), r3.Scale(-1, r3.Unit(k))})
			}
		}
	})
	return slices.Concat(parts...)
}

// normal of a triangle, outwards, twice its area long.
func (m *Mesh) normal(t int32) r3.Vec {
	a, b, c := m.Corners(int(t))
	return r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
}

// probe is a place of the surface and the unit vector into the metal there.
type probe struct{ at, in r3.Vec }

// Walls measures the piece's walls at about n places spread evenly over the
// surface, in rising order, and returns the thinnest of them and of what was
// found besides: at small facets, in creases, and by search round the thinnest.
// Faces that stand at more than 35° to each other, or go on to meet at an edge,
// make no wall. A neck or a wall between even faces is met within 2 %, one that
// thins towards a blunt end as it is half its thickness in from the end. Once ctx is done the walls are of no use.
func (c *Checked) Walls(ctx context.Context, n int) (thinnest Wall, walls []Wall, ok bool) {
	s := c.survey(ctx)
	if ctx.Err() != nil || len(s.m.T) == 0 {
		return thinnest, nil, false
	}
	even := s.balls(ctx, s.spread(n))
	for _, b := range even {
		walls = append(walls, b.asWall())
	}
	slices.SortFunc(walls, func(a, b Wall) int { return sign(a.MM - b.MM) })
	all := slices.Concat(even, s.balls(ctx, s.details(n/3)), s.balls(ctx, s.inCreases(n/3)))
	if ctx.Err() != nil {
		return thinnest, nil, false
	}
	if len(all) == 0 { // edges all round: the ball between them
		thinnest, ok = c.Bulkiest(ctx, n)
		return thinnest, []Wall{thinnest}, ok
	}
	slices.SortFunc(all, func(a, b ball) int { return sign(a.r - b.r) })
	best := all[0]
	starts := apartFrom(all, 24)
	Parallel(ctx, len(starts), func(i int) { starts[i] = s.narrow(starts[i]) })
	for _, b := range starts {
		if b.r < best.r {
			best = b
		}
	}
	if thinnest = best.asWall(); len(walls) == 0 {
		walls = []Wall{thinnest}
	}
	return thinnest, walls, true
}

// balls finds the walls at the probes.
func (s *survey) balls(ctx context.Context, probes []probe) []ball {
	found := make([]ball, len(probes))
	Parallel(ctx, (len(probes)+127)/128, func(part int) {
		for i := part * 128; i < min(len(probes), (part+1)*128); i++ {
			if b, ok := s.wall(probes[i].at, probes[i].in, s.widest); ok {
				found[i] = b
			}
		}
	})
	return slices.DeleteFunc(found, func(b ball) bool { return b.r == 0 })
}

// Steps of the plastic-number sequence: even over choice of triangle and place in it.
const p1, p2, p3 = 0.8191725133961645, 0.6710436067037893, 0.5497004779019703

// spread places n probes evenly by area.
func (s *survey) spread(n int) []probe {
	sum := make([]float64, len(s.m.T)+1)
	for t := range s.m.T {
		sum[t+1] = sum[t] + norm(s.m.normal(int32(t)))
	}
	return s.probes(n, func(k float64) int {
		return sort.SearchFloat64s(sum, frac(0.5+p1*k)*sum[len(sum)-1]) - 1
	})
}

// details places n probes evenly by count of facets, which are small where
// there is much to draw.
func (s *survey) details(n int) []probe {
	return s.probes(n, func(k float64) int { return int(frac(0.5+p1*k) * float64(len(s.m.T))) })
}

func (s *survey) probes(n int, choose func(k float64) int) []probe {
	list := make([]probe, 0, n)
	for i := range n {
		k := float64(i + 1)
		t := min(max(choose(k), 0), len(s.m.T)-1)
		at := s.m.within(t, frac(0.5+p2*k), frac(0.5+p3*k))
		if in, ok := s.inwards(int32(t), at); ok {
			list = append(list, probe{at, in})
		}
	}
	return list
}

// inwards returns the unit vector into the metal at a place of a facet, even
// over facets of one curved face as shading does (B. T. Phong, Comm. ACM 18
// (1975) 311): the facet's own would lean by half the angle to the next.
func (s *survey) inwards(t int32, at r3.Vec) (in r3.Vec, ok bool) {
	if s.source != nil {
		t = s.source[t]
	}
	m := s.from
	own := m.normal(t)
	if r3.Norm2(own) == 0 {
		return in, false
	}
	a, b, c := m.Corners(int(t))
	for k, area := range [3]float64{
		r3.Dot(r3.Cross(r3.Sub(b, at), r3.Sub(c, at)), own), r3.Dot(r3.Cross(r3.Sub(c, at), r3.Sub(a, at)), own), r3.Dot(r3.Cross(r3.Sub(a, at), r3.Sub(b, at)), own),
	} {
		in = r3.Sub(in, r3.Scale(max(area, 0), m.cornerNormal(t, k, own)))
	}
	if r3.Norm2(in) == 0 {
		in = r3.Scale(-1, own)
	}
	return r3.Unit(in), true
}

// even is the cosine of the angle up to which facets belong to one curved
// face: 35°, as of a circle of ten sides.
const even = 0.82

// cornerNormal is the mean normal at a corner of the facets of its face, of length 1.
func (c *Checked) cornerNormal(t int32, corner int, own r3.Vec) r3.Vec {
	sum := own
	for _, back := range [2]bool{false, true} {
		h, before := 3*t+int32(corner), own
		for range 32 {
			if back { // across the side that ends at the corner
				h = 3*(h/3) + (h+2)%3
			}
			h = c.mate[h]
			if h < 0 {
				break
			}
			if !back { // the side across starts where this one ends: go on to the next
				h = 3*(h/3) + int32(next(int(h%3)))
			}
			n := c.normal(h / 3)
			if h/3 == t || r3.Dot(n, before) < even*math.Sqrt(r3.Norm2(n)*r3.Norm2(before)) {
				break
			}
			sum, before = r3.Add(sum, n), n
		}
	}
	return r3.Unit(sum)
}

// inCreases places about n probes along the creases, at each a fan of
// directions between the two faces, no more than 12° apart: at half of that a
// ball across a neck is larger by 1/cos 6°, half a percent.
func (s *survey) inCreases(n int) []probe {
	const step = 12 * math.Pi / 180
	long := 0.0
	for _, c := range s.creases {
		long += norm(r3.Sub(c.b, c.a))
	}
	var list []probe
	due := 0.0
	for _, c := range s.creases {
		fan := 1 + int(math.Ceil(math.Acos(min(max(r3.Dot(c.in, c.across), -1), 1))/step))
		due += norm(r3.Sub(c.b, c.a)) / max(long, 1e-9) * float64(n) / float64(fan+1)
		places := int(math.Ceil(due))
		due -= float64(places)
		for i := range places {
			at := r3.Add(c.a, r3.Scale((float64(i)+0.5)/float64(places), r3.Sub(c.b, c.a)))
			for k := range fan + 1 {
				f := float64(k) / float64(fan)
				if d := r3.Add(r3.Scale(1-f, c.in), r3.Scale(f, c.across)); r3.Norm2(d) > 1e-6 {
					list = append(list, probe{at, r3.Unit(d)})
				}
			}
		}
	}
	return list
}

// apartFrom picks up to n of the first balls that do not lie in one another.
func apartFrom(list []ball, n int) (picked []ball) {
	for i := range list {
		b := &list[i]
		if !slices.ContainsFunc(picked, func(o ball) bool { return norm(r3.Sub(b.centre(), o.centre())) < 0.5*o.r }) {
			if picked = append(picked, *b); len(picked) == n {
				break
			}
		}
	}
	return picked
}

// narrow looks for a smaller ball round one, nearer and nearer: from places in
// it to the nearest of the surface, which may be a face, an edge or a corner,
// and from there across.
func (s *survey) narrow(b ball) ball {
	const directions = 14
	for h := 0.6; h > 0.01; h *= 0.6 {
		for tries := 0; tries < 4; tries++ {
			before := b.r
			for k := range directions {
				z := 1 - (2*float64(k)+1)/directions // a spiral over the sphere
				sin, cos := math.Sincos(float64(k) * math.Pi * (3 - math.Sqrt(5)))
				base := b.centre()
				if k%2 == 1 { // beside the place where it touches
					base = r3.Add(b.at, r3.Scale(0.1*b.r, b.in))
				}
				y := r3.Add(base, r3.Scale(h*b.r, r3.Vec{X: math.Sqrt(1-z*z) * cos, Y: math.Sqrt(1-z*z) * sin, Z: z}))
				near, ok := s.nearest(y, 2*b.r, nil)
				if !ok || near.best == 0 {
					continue
				}
				in := r3.Unit(r3.Sub(y, near.at))
				even, ok := s.inwards(near.tri, near.at)
				switch dot := r3.Dot(in, even); {
				case !ok || dot < 0: // outside
					continue
				case dot > bent: // on a face, not at its edge
					in = even
				}
				if o, ok := s.wall(near.at, in, s.widest); ok && o.r < b.r*(1-1e-5) {
					b = o
				}
			}
			if b.r > before*(1-1e-3) {
				break
			}
		}
	}
	return b
}

// Bulkiest returns the largest ball found in the piece from about n places.
// The wall's MM is its diameter.
func (c *Checked) Bulkiest(ctx context.Context, n int) (Wall, bool) {
	s := c.survey(ctx)
	var best ball
	if ctx.Err() != nil || len(s.m.T) == 0 {
		return Wall{}, false
	}
	for _, p := range s.spread(n) {
		if ctx.Err() != nil {
			break
		}
		b, ok := s.ballAt(p.at, p.in, s.widest)
		if !ok || b.r <= best.r {
			continue
		}
		if near, ok := s.nearest(b.centre(), b.r, nil); ok { // what it did not see
			b.r = math.Sqrt(near.best)
		}
		if b.r > best.r {
			best = b
		}
	}
	return best.asWall(), best.r > 0
}

func frac(x float64) float64 { return x - math.Floor(x) }

func sign(x float64) int {
	switch {
	case x < 0:
		return -1
	case x > 0:
		return 1
	}
	return 0
}

// within returns the point of triangle t at (u, v) of the unit square, folded.
func (m *Mesh) within(t int, u, v float64) r3.Vec {
	if u+v > 1 {
		u, v = 1-u, 1-v
	}
	a, b, c := m.Corners(t)
	return r3.Add(a, r3.Add(r3.Scale(u, r3.Sub(b, a)), r3.Scale(v, r3.Sub(c, a))))
}
