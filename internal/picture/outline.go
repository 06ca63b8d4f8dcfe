package picture

import (
	"math"

	"pourwright/internal/draw"
	"pourwright/internal/section"
)

// outline is the form of a section in mm: x across from −width/2 to width/2,
// y from 0 at the inside face up to the thickness.
func outline(s section.Section) []draw.Point {
	const steps = 48
	w, t := s.Width(), s.ThicknessMM
	// dome is half an ellipse on its flat side at the height base.
	dome := func(base, high float64) []draw.Point {
		var p []draw.Point
		for i := range steps + 1 {
			sin, cos := math.Sincos(math.Pi * float64(i) / steps)
			p = append(p, draw.Point{X: w / 2 * cos, Y: base + high*sin})
		}
		return p
	}
	foot := []draw.Point{{X: -w / 2}, {X: w / 2}}
	switch s.Shape {
	case section.Round, section.Oval:
		var p []draw.Point
		for i := range 2 * steps {
			sin, cos := math.Sincos(math.Pi * float64(i) / steps)
			p = append(p, draw.Point{X: w / 2 * cos, Y: t/2 + t/2*sin})
		}
		return p
	case section.HalfRound:
		return dome(0, t)
	case section.D:
		return append(foot, dome(t/2, t/2)...)
	case section.KnifeEdge:
		return append(foot, draw.Point{Y: t})
	}
	return append(foot, draw.Point{X: w / 2, Y: t}, draw.Point{X: -w / 2, Y: t})
}

// placed moves an outline onto a sheet: its inside face at (x, y), its outside
// face in the direction of an angle, at a scale.
func placed(form []draw.Point, x, y, outDeg, scale float64) []draw.Point {
	sin, cos := math.Sincos(outDeg * math.Pi / 180)
	p := make([]draw.Point, len(form))
	for i, q := range form {
		// across runs to the right of outward
		p[i] = draw.Point{X: x + scale*(q.X*sin+q.Y*cos), Y: y + scale*(q.X*cos-q.Y*sin)}
	}
	return p
}
