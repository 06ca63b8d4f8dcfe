package fill

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/section"
	"pourwright/internal/shape"
)

// course is the way of a described piece through space.
type course struct {
	length float64 // m
	open   bool    // a cuff, fed in its middle: its ends do not meet
	// there and back are the middles of the sections from the gate, m, over the
	// first and the second half of the way.
	there, back [courseSteps + 1]r3.Vec
	out         r3.Vec // looks out of the gate, in the plane of a band
}

const courseSteps = sliceCount / 2

// takeShape reads way and sections from the description; section and stations
// that are given beside it are those of its way.
func (in *In) takeShape(ctx context.Context) error {
	switch {
	case in.PatternMesh != nil || in.ThinSpot != nil || in.InsideDiameterMM != 0 || in.LengthMM != 0:
		return calc.Refuse("", nil, "give it without inside_diameter_mm, length_mm, thin_spot and pattern_mesh: the shape has its own")
	case in.Thickest != "as_given":
		return calc.Refuse("", nil, "give thickest as as_given with it, and gate_pct for where the gate enters")
	}
	body, err := in.Shape.Resolve(ctx)
	if err != nil {
		return err
	}
	closed := body.Kind.Curved() && body.Closed()
	gate := func(f float64) float64 { return f } // place of the body, of one from the gate
	in.Piece, in.LengthMM = "bar", body.LengthMM()
	if body.Kind.Curved() {
		in.Piece, in.LengthMM, in.InsideDiameterMM = "bangle", 0, body.InsideMM()
		gate = func(f float64) float64 { return wrap(f + in.GatePct/100) }
		if !closed {
			gate = func(f float64) float64 { // the first half runs to its far end
				if f <= 0.5 {
					return f + 0.5
				}
				return f - 0.5
			}
		}
	}
	in.course = courseOf(body, gate)
	in.course.open = body.Kind.Curved() && !closed
	if len(in.Stations) == 0 && in.Section == (section.Section{}) {
		in.Section = body.Main()
		if !body.Even() {
			for i := range courseSteps + 1 {
				f := float64(i) / courseSteps
				in.Stations = append(in.Stations, section.Station{AtPct: 100 * f, Section: body.Station(100 * gate(f)).Section})
			}
		}
	}
	in.Shape = nil // its way and sections stand for it from here on
	return nil
}

func courseOf(body *shape.Body, gate func(float64) float64) *course {
	c := &course{length: body.LengthMM() / 1e3}
	start := body.Station(100 * gate(0))
	c.out = r3.Vec{X: -1} // of a straight piece
	if body.Kind.Curved() {
		c.out = r3.Unit(r3.Vec{X: start.Out.X, Y: start.Out.Y})
	}
	const past = 1e-9 // over half of the way: the second half's own end
	for i := range c.there {
		f := 0.5 * float64(i) / courseSteps
		c.there[i] = r3.Scale(1e-3, r3.Sub(body.Station(100*gate(f)).Centre, start.Centre))
		c.back[i] = r3.Scale(1e-3, r3.Sub(body.Station(100*gate(min(f+0.5+past, 1))).Centre, start.Centre))
	}
	return c
}

// place is where a fraction of the way lies from the gate, m.
func (c *course) place(f float64) r3.Vec {
	half := &c.there
	if f < 0 || f > 1 {
		f = wrap(f)
	}
	if f > 0.5 {
		half, f = &c.back, f-0.5
	}
	x := 2 * f * courseSteps
	i := min(int(x), courseSteps-1)
	return r3.Add(half[i], r3.Scale(x-float64(i), r3.Sub(half[i+1], half[i])))
}

// level is the direction in the plane across the gate.
func (c *course) level() r3.Vec { return r3.Vec{X: -c.out.Y, Y: c.out.X} }

// height of a place over the gate in m.
func (c *course) height(f float64, s Stance) float64 {
	v := c.place(f)
	switch {
	case s.Posture == "lying":
		return v.Z
	case s.Gate == "side":
		return r3.Dot(v, c.level())
	case s.Gate == "bottom":
		return -r3.Dot(v, c.out)
	}
	return r3.Dot(v, c.out)
}

// across is how wide the way is across the gate, m.
func (c *course) across() float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for i := range c.there {
		for _, v := range [2]r3.Vec{c.there[i], c.back[i]} {
			x := r3.Dot(v, c.level())
			low, high = min(low, x), max(high, x)
		}
	}
	return high - low
}
