package heat

import (
	"gonum.org/v1/gonum/spatial/r3"
	"math"
	"pourwright/internal/mesh"
	"testing"
)

func TestTMP2(t *testing.T) {
	for _, d := range []float64{0.5, 0.333, 0.2} {
		g := around(r3.Vec{X: -12, Y: -12}, r3.Vec{X: 12, Y: 12, Z: d}, d, 0)
		m := mesh.Frustum(r3.Vec{Z: -9}, r3.Vec{Z: 9}, 2, 2, 400)
		b, _ := newBody(g, m, nil, func(r3.Vec) float64 { return 1e6 })
		v, phi, clay := 0.0, 0.0, 0.0
		for _, x := range b.volume {
			v += float64(x)
		}
		for _, x := range b.metal {
			phi += float64(x)
		}
		for _, o := range b.odd {
			clay += float64(o.volume)
		}
		for _, r := range b.runs {
			clay += float64(r.count)
		}
		area, dc, dm := 0.0, 0.0, 0.0
		for _, c := range b.contacts {
			area += float64(c.area)
			dc += float64(c.area) * float64(c.clay) / d
			dm += float64(c.area) * float64(c.metal) / d
		}
		t.Log(d, v*d*d/(math.Pi*4), phi*d*d/math.Pi/4, (v+clay)/float64(b.Cells()), area/(4*math.Pi*d), dc/area, dm/area, len(b.contacts))
	}
}
