package picture

import (
	"math"

	"pourwright/internal/draw"
	"pourwright/internal/section"
)

// outline is the form of a section in mm: x across from −width/2 to width/2,
// y from 0 at the inside face up to the thickness.
func outline(s section.Section) []draw.Point {
	form := s.Outline()
	p := make([]draw.Point, len(form))
	for i, at := range form {
		p[i] = draw.Point{X: at[0], Y: at[1]}
	}
	return p
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
