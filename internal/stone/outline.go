package stone

import (
	"math"
	"sort"

	"pourwright/internal/calc"
)

// outline is the shape of the girdle seen from above.
type outline int

const (
	ellipse      outline = iota // round, oval, cabochon, bead
	superellipse                // cushion
	box                         // square, rectangle
	cropped                     // emerald cut: a rectangle with its corners cut off
	pear
	marquise
	heart
	wedge // triangle
)

var srcOutline = calc.Source{For: "outlines of cuts", Text: "arcs and straight lines: marquise of two arcs; pear of a half circle and two arcs tangent to it; heart of a square on its corner with a half circle on each upper side; cushion |x/a|³+|y/b|³=1; emerald cut cropped by a sixth of its width; triangle with sides that bulge by 8 %; our models of the usual shapes", Status: calc.Choice}

// point is a place on the girdle plane in mm: x along the stone's length, y
// across it, from the middle of its measures.
type point struct{ x, y float64 }

// girdle is the outline of a stone, counter-clockwise, as a polygon, with the
// sharp points of its cut.
type girdle struct {
	edge   []point
	points []point
	length []float64 // from edge[0] along the outline to each vertex, and round to the first
}

const (
	arcSteps      = 96 // vertices of an arc or a whole curve: area within 0.1 %
	cushionPower  = 3.0
	croppedCorner = 1. / 6 // of the width
	wedgeBulge    = 0.08   // of the side of a triangle
)

// Outline is the girdle of a cut of this length along x and width along y, in
// mm, about its middle: corners, or points close enough to draw a curve by.
func Outline(c Cut, lengthMM, widthMM float64) [][2]float64 {
	rule, _ := ruleOf(c)
	g := girdleOf(rule.outline, lengthMM, widthMM)
	edge := make([][2]float64, len(g.edge))
	for i, p := range g.edge {
		edge[i] = [2]float64{p.x, p.y}
	}
	return edge
}

// girdleOf is the outline of a cut with measures l and w in mm. The point of
// a pear or a heart lies towards positive x.
func girdleOf(o outline, l, w float64) girdle {
	var g girdle
	a, b := l/2, w/2
	switch o {
	case box:
		g.points = []point{{a, -b}, {a, b}, {-a, b}, {-a, -b}}
		g.edge = g.points
	case cropped:
		c := croppedCorner * w
		g.edge = []point{{a, -b + c}, {a, b - c}, {a - c, b}, {-a + c, b}, {-a, b - c}, {-a, -b + c}, {-a + c, -b}, {a - c, -b}}
	case wedge:
		g.wedge(l, w)
	case marquise: // arcs of radius (L²+W²)/4W through both points
		radius := (l*l + w*w) / (4 * w)
		half := math.Asin(min(1, a/radius))
		g.curve(func(t float64) point { return point{radius * math.Sin(t), b - radius + radius*math.Cos(t)} }, half, -half, arcSteps)
		g.curve(func(t float64) point { return point{radius * math.Sin(t), radius - b - radius*math.Cos(t)} }, -half, half, arcSteps)
		g.points = []point{{a, 0}, {-a, 0}}
	case pear: // wings tangent to the head at its widest line
		head := a - b // the half circle's middle is at x = -head
		h := l - b
		radius := (h*h + b*b) / w
		turn := math.Asin(min(1, h/radius))
		g.curve(func(t float64) point { return point{-head + radius*math.Sin(t), b - radius + radius*math.Cos(t)} }, turn, 0, arcSteps/2)
		g.curve(func(t float64) point { return point{-head + b*math.Cos(t), b * math.Sin(t)} }, math.Pi/2, 3*math.Pi/2, arcSteps)
		g.curve(func(t float64) point { return point{-head + radius*math.Sin(t), radius - b - radius*math.Cos(t)} }, 0, turn, arcSteps/2)
		g.points = []point{{a, 0}}
	case heart:
		g.heart(l, w)
	default:
		power := 2.0
		if o == superellipse {
			power = cushionPower
		}
		g.curve(func(t float64) point {
			sin, cos := math.Sincos(t)
			return point{a * math.Copysign(math.Pow(math.Abs(cos), 2/power), cos), b * math.Copysign(math.Pow(math.Abs(sin), 2/power), sin)}
		}, 0, 2*math.Pi, 2*arcSteps)
	}
	g.length = make([]float64, len(g.edge)+1)
	for i, p := range g.edge {
		q := g.edge[(i+1)%len(g.edge)]
		g.length[i+1] = g.length[i] + math.Hypot(q.x-p.x, q.y-p.y)
	}
	return g
}

// curve adds n points of f between two values of its parameter, the last left out.
func (g *girdle) curve(f func(t float64) point, from, to float64, n int) {
	for i := range n {
		g.edge = append(g.edge, f(from+(to-from)*float64(i)/float64(n)))
	}
}

// wedge is an equilateral triangle of side 1 with bulging sides, then stretched
// to its measures.
func (g *girdle) wedge(l, w float64) {
	a := l / 2
	high := math.Sqrt(3)/2 + wedgeBulge
	place := func(x, y float64) point { return point{a - x/high*l, y * w} } // x from the point
	corners := []point{{0, 0}, {math.Sqrt(3) / 2, 0.5}, {math.Sqrt(3) / 2, -0.5}}
	for i, p := range corners {
		q := corners[(i+1)%3]
		normal := point{q.y - p.y, p.x - q.x} // outwards: the corners run clockwise in x from the point
		g.curve(func(t float64) point {
			out := 4 * wedgeBulge * t * (1 - t)
			return place(p.x+t*(q.x-p.x)-out*normal.x, p.y+t*(q.y-p.y)-out*normal.y)
		}, 0, 1, arcSteps/2)
		g.points = append(g.points, place(p.x, p.y))
	}
}

// heart is two half circles on a square, in units of its side, then stretched to
// its measures.
func (g *girdle) heart(l, w float64) {
	a := l / 2
	side := 1 / (math.Sqrt2/2 + 1) // width 1
	long := side * (math.Sqrt2/2 + math.Sqrt2/4 + 0.5)
	place := func(x, y float64) point { return point{a - x/long*l, y * w} } // x from the point upwards
	lobe := func(side2, from, to float64) {
		cx, cy := side*(math.Sqrt2/2+math.Sqrt2/4), side2*side*math.Sqrt2/4
		g.curve(func(t float64) point { return place(cx+side/2*math.Cos(t), cy+side/2*math.Sin(t)) }, from, to, arcSteps/2)
	}
	g.edge = append(g.edge, place(0, 0))
	lobe(1, 3*math.Pi/4, -math.Pi/4)
	lobe(-1, math.Pi/4, -3*math.Pi/4)
	g.points = []point{{a, 0}}
}

// round is the length of the whole outline, mm.
func (g girdle) round() float64 { return g.length[len(g.edge)] }

// area is the area inside the outline, mm².
func (g girdle) area() float64 {
	sum := 0.0
	for i, p := range g.edge {
		q := g.edge[(i+1)%len(g.edge)]
		sum += p.x*q.y - q.x*p.y
	}
	return math.Abs(sum) / 2
}

// at is the place a length along the outline from its start, and the outward normal there.
func (g girdle) at(along float64) (p, normal point) {
	along = math.Mod(along, g.round())
	if along < 0 {
		along += g.round()
	}
	i := max(0, min(sort.SearchFloat64s(g.length, along)-1, len(g.edge)-1))
	a, b := g.edge[i], g.edge[(i+1)%len(g.edge)]
	span := g.length[i+1] - g.length[i]
	t := (along - g.length[i]) / span
	return point{a.x + t*(b.x-a.x), a.y + t*(b.y-a.y)}, point{(b.y - a.y) / span, -(b.x - a.x) / span}
}

// towards is the length along the outline to the place in a direction from the middle.
func (g girdle) towards(angleDeg float64) float64 {
	sin, cos := math.Sincos(angleDeg * math.Pi / 180)
	best, far := 0.0, math.Inf(-1)
	for i, a := range g.edge {
		b := g.edge[(i+1)%len(g.edge)]
		ca, cb := cos*a.y-sin*a.x, cos*b.y-sin*b.x // across the ray
		if ca > 0 || cb <= 0 || cb == ca {
			continue
		}
		t := -ca / (cb - ca)
		if out := cos*(a.x+t*(b.x-a.x)) + sin*(a.y+t*(b.y-a.y)); out > far {
			best, far = g.length[i]+t*(g.length[i+1]-g.length[i]), out
		}
	}
	return best
}

// clearOfPoints is the distance in mm from a place to the nearest sharp point; infinite without points.
func (g girdle) clearOfPoints(p point) float64 {
	least := math.Inf(1)
	for _, q := range g.points {
		least = min(least, math.Hypot(p.x-q.x, p.y-q.y))
	}
	return least
}

// covered is the area in mm² of a disc of radius r about c that lies inside
// the outline: over each edge, the triangle with the disc's middle where the
// edge is inside the disc and the circle's sector where it is outside.
func (g girdle) covered(c point, r float64) float64 {
	sum := 0.0
	for i, p := range g.edge {
		q := g.edge[(i+1)%len(g.edge)]
		sum += sectorOrTriangle(point{p.x - c.x, p.y - c.y}, point{q.x - c.x, q.y - c.y}, r)
	}
	return math.Abs(sum)
}

// sectorOrTriangle is the signed area common to a disc of radius r about the
// origin and the triangle of the origin with a and b.
func sectorOrTriangle(a, b point, r float64) float64 {
	cross := func(p, q point) float64 { return p.x*q.y - p.y*q.x }
	sector := func(p, q point) float64 { return r * r / 2 * math.Atan2(cross(p, q), p.x*q.x+p.y*q.y) }
	d := point{b.x - a.x, b.y - a.y}
	dd := d.x*d.x + d.y*d.y
	if dd == 0 {
		return 0
	}
	along := (a.x*d.x + a.y*d.y) / dd
	rest := along*along - (a.x*a.x+a.y*a.y-r*r)/dd
	if rest <= 0 {
		return sector(a, b)
	}
	t0, t1 := max(0, -along-math.Sqrt(rest)), min(1, -along+math.Sqrt(rest))
	if t0 >= t1 {
		return sector(a, b)
	}
	p, q := point{a.x + t0*d.x, a.y + t0*d.y}, point{a.x + t1*d.x, a.y + t1*d.y}
	return sector(a, p) + cross(p, q)/2 + sector(q, b)
}

// straddle returns how far outside the outline (negative: inside) the middle
// of a disc of radius r stands at a place so that half of it is inside, and
// the share that then is.
func (g girdle) straddle(p, normal point, r float64) (offset, share float64) {
	over := func(x float64) float64 {
		return g.covered(point{p.x + x*normal.x, p.y + x*normal.y}, r) / (math.Pi * r * r)
	}
	lo, hi := -r, r // the share falls outwards
	for range 40 {
		mid := (lo + hi) / 2
		if over(mid) > overStone {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, over(lo)
}
