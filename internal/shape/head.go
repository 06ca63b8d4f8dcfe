package shape

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/section"
)

// head is a table or disc on the band, in mm.
type head struct {
	form, outline            string
	length, width, thickness float64
	at                       float64 // fraction of the way
	shoulder                 float64
	given                    bool // the shoulder was
	end                      int  // -1 or 1: a disc that ends the band at its start or end
	middle                   frame
	edge                     [2]float64 // fractions where the head ends, before and after its middle
	run                      [2]float64 // and how far its shoulders run, as fractions
}

// settle finds where the head begins and ends along the way.
func (h *head) settle(b *Body) {
	length := b.plainLength()
	switch h.end {
	case -1:
		h.at = h.length / 2 / length
	case 1:
		h.at = 1 - h.length/2/length
	}
	h.middle = b.path.at(h.at)
	for side, sign := range [2]float64{-1, 1} {
		// The place runs to and fro steadily up to a quarter of a round.
		least, most := 0.0, 0.5
		if b.Kind.Closed() {
			most = 0.24
		}
		for range 50 {
			m := (least + most) / 2
			if math.Abs(h.along(b, h.at+sign*m)) < h.length/2 {
				least = m
			} else {
				most = m
			}
		}
		h.edge[side] = (least + most) / 2
		rest := 0.5 - h.edge[side]
		if !b.Kind.Closed() {
			rest = max(map[bool]float64{true: h.at, false: 1 - h.at}[side == 0]-h.edge[side], 0)
		}
		h.run[side] = 0.4 * rest
		if h.given {
			h.run[side] = min(h.shoulder/length, rest)
		}
	}
}

// along is how far a place lies along the head from its middle, in mm.
func (h *head) along(b *Body, f float64) float64 {
	if h.form == Table {
		g := b.path.at(f)
		p := r3.Add(g.at, r3.Scale(h.rises(&g), g.out))
		return r3.Dot(r3.Sub(p, h.middle.at), h.middle.along)
	}
	return (f - h.at) * b.plainLength()
}

// rises is the thickness that a flat table has over a place of the path.
func (h *head) rises(g *frame) float64 {
	lift := r3.Dot(r3.Sub(h.middle.at, g.at), h.middle.out)
	return (h.thickness + lift) / r3.Dot(g.out, h.middle.out)
}

// wide is the width of the head at x along it.
func (h *head) wide(x float64) float64 {
	r := min(math.Abs(2*x/h.length), 1)
	switch {
	case h.form == Table && h.outline == "rectangular":
		return h.width
	case h.form == Table && h.outline == "cushion":
		return h.width * math.Sqrt(math.Sqrt(1-r*r*r*r))
	}
	return h.width * math.Sqrt(1-r*r)
}

// over is the section at f with the head on it.
func (h *head) over(b *Body, f float64, c cut) cut {
	d := f - h.at
	if b.Kind.Closed() {
		d -= math.Round(d)
	}
	side := 0
	if d > 0 {
		side = 1
	}
	away := math.Abs(d)
	if away <= h.edge[side] {
		return h.inside(b, h.at+d, c)
	}
	if h.run[side] == 0 || away >= h.edge[side]+h.run[side] {
		return c
	}
	x := (away - h.edge[side]) / h.run[side]
	mix := x * x * (3 - 2*x) // level at both ends
	rim := h.inside(b, h.at+math.Copysign(h.edge[side], d), c)
	s := section.Section{Shape: section.Rectangular, ThicknessMM: rim.ThicknessMM, WidthMM: rim.Width()}
	if h.form != Table {
		s.Shape = rim.Shape
	}
	return blend(s, c.Section, mix)
}

// inside is the section within the head.
func (h *head) inside(b *Body, f float64, c cut) cut {
	x := h.along(b, f)
	if h.form == Table {
		g := b.path.at(f)
		return plain(section.Section{Shape: section.Rectangular, ThicknessMM: h.rises(&g), WidthMM: max(h.wide(x), c.Width())})
	}
	w := max(h.wide(x), c.Width())
	if h.end != 0 && float64(h.end)*x > 0 { // the far half of a disc that ends the band
		w = max(h.wide(x), least*h.width)
	}
	return plain(section.Section{Shape: section.Rectangular, ThicknessMM: h.thickness, WidthMM: w})
}

const least = 0.02 // of the width, where an end runs out in a curve
