package shape

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/mesh"
)

// The loop of a bail lies in the parting plane at the far end, let into it by
// three quarters of its wire.
const letIn = 0.75

// Loop is the bail where it stands.
type Loop struct {
	Centre r3.Vec
	Radius float64 // of the middle of the wire, mm
	WireMM float64
}

// Loop returns the bail, if there is one.
func (b *Body) Loop() (Loop, bool) {
	if b.bail == nil {
		return Loop{}, false
	}
	wire := b.bail.WireMM
	end := b.cutAt(1)
	outer := b.bail.InsideDiameterMM/2 + wire
	return Loop{r3.Vec{X: b.path.length + outer - letIn*wire, Z: end.ThicknessMM / 2}, outer - wire/2, wire}, true
}

// LengthMM is the length of wire once round, in mm.
func (l Loop) LengthMM() float64 { return 2 * math.Pi * l.Radius }

// loopVolume is what the bail adds: the ring of wire less what lies in the piece.
func (b *Body) loopVolume() float64 {
	volume, _ := b.loop()
	return volume
}

func (b *Body) loopArea() float64 {
	if b.bail == nil {
		return 0
	}
	_, area := b.loop()
	return area
}

// loop integrates over the plan, where the piece and the ring of wire each
// reach from a low to a high place: 400 lines each way over the part they share.
func (b *Body) loop() (volume, area float64) {
	l, _ := b.Loop()
	r := l.WireMM / 2
	whole := 2 * math.Pi * math.Pi * l.Radius * r * r
	skin := 4 * math.Pi * math.Pi * l.Radius * r
	end, reach := b.path.length, l.Radius+r
	from := l.Centre.X - reach
	if from >= end {
		return whole, skin
	}
	const n = 400
	dx, dy := (end-from)/n, 2*reach/n
	shared := 0.0
	for i := range n {
		x := from + (float64(i)+0.5)*dx
		c := b.cutAt(x / end)
		for k := range n {
			y := -reach + (float64(k)+0.5)*dy
			off := math.Hypot(x-l.Centre.X, y) - l.Radius
			low, high, ok := c.span(y)
			if !ok || math.Abs(off) >= r {
				continue
			}
			half := math.Sqrt(r*r - off*off)
			shared += max(0, min(high, l.Centre.Z+half)-max(low, l.Centre.Z-half)) * dx * dy
		}
	}
	return whole - shared, skin * (1 - shared/whole)
}

// loopMesh is the surface of the bail.
func (b *Body) loopMesh() *mesh.Mesh {
	l, _ := b.Loop()
	m := mesh.Torus(l.Radius, l.WireMM/2, 120, 36)
	m.Scale(1)
	for i := range m.V {
		v := r3.Add(m.V[i].Vec(), l.Centre)
		m.V[i] = mesh.Point{float32(v.X), float32(v.Y), float32(v.Z)}
	}
	return m
}

// Edges are the outer and the inner circle of the loop in the plan.
func (l Loop) Edges() [][]r3.Vec {
	const n = 48
	var rings [][]r3.Vec
	for _, r := range [2]float64{l.Radius + l.WireMM/2, l.Radius - l.WireMM/2} {
		ring := make([]r3.Vec, n)
		for i := range ring {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
			ring[i] = r3.Add(l.Centre, r3.Vec{X: r * cos, Y: r * sin})
		}
		rings = append(rings, ring)
	}
	return rings
}
