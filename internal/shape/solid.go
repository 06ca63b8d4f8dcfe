package shape

import (
	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/mesh"
	"pourwright/internal/section"
)

// around is the number of sections of a solid. Facets of 96 places round a
// section and so many along the way lose up to 0.1 % of the volume.
const around = 360

// Solid is the closed surface of the piece, in mm, the z axis across the
// parting. A bail is a shell of its own that overlaps the piece.
func (b *Body) Solid() *mesh.Mesh {
	if b.scanned != nil {
		return b.scanned.mesh
	}
	m := b.band()
	if b.bail != nil {
		m.Append(b.loopMesh())
	}
	return m
}

// band is the surface without the bail: outlines joined along the way, with
// flat ends where it is open.
func (b *Body) band() *mesh.Mesh {
	closed, rings := b.Kind.Closed(), around
	if !closed {
		rings++
	}
	const across = section.Points
	m := &mesh.Mesh{V: make([]mesh.Point, 0, rings*across+2), T: make([]mesh.Triangle, 0, 2*rings*across)}
	for i := range rings {
		f := b.pace(float64(i) / around)
		for _, p := range b.ring(f) {
			m.V = append(m.V, mesh.Point{float32(p.X), float32(p.Y), float32(p.Z)})
		}
	}
	joined := rings
	if !closed {
		joined--
	}
	for i := range joined {
		for j := range across {
			a, d := int32(i*across+j), int32(i*across+(j+1)%across)
			bb, c := int32((i+1)%rings*across+j), int32((i+1)%rings*across+(j+1)%across)
			m.T = append(m.T, mesh.Triangle{a, bb, c}, mesh.Triangle{a, c, d})
		}
	}
	if !closed {
		m.T = append(m.T, fan(m, 0, false)...)
		m.T = append(m.T, fan(m, (rings-1)*across, true)...)
	}
	if m.Solid().VolumeMM3 < 0 {
		for i := range m.T {
			m.T[i][1], m.T[i][2] = m.T[i][2], m.T[i][1]
		}
	}
	return m
}

// fan closes the end that begins at a vertex from its middle.
func fan(m *mesh.Mesh, from int, last bool) []mesh.Triangle {
	const across = section.Points
	var sum r3.Vec
	for j := range across {
		sum = r3.Add(sum, m.V[from+j].Vec())
	}
	sum = r3.Scale(1.0/across, sum)
	middle := int32(len(m.V))
	m.V = append(m.V, mesh.Point{float32(sum.X), float32(sum.Y), float32(sum.Z)})
	list := make([]mesh.Triangle, 0, across)
	for j := range across {
		a, b := int32(from+j), int32(from+(j+1)%across)
		if last {
			a, b = b, a
		}
		list = append(list, mesh.Triangle{middle, a, b})
	}
	return list
}

// ring is the outline at a fraction of the way, in space.
func (b *Body) ring(f float64) (list [section.Points]r3.Vec) {
	g := b.path.at(f)
	c := b.cutAt(f)
	_, _, v := c.measures()
	steep := g.steep(v)
	across := r3.Cross(g.along, g.out)
	if b.path.straight {
		across = r3.Vec{Y: 1}
	}
	for i, p := range c.outline() {
		list[i] = r3.Add(g.at, r3.Add(r3.Scale(p[1], g.out), r3.Scale(p[0]*steep, across)))
	}
	return list
}
