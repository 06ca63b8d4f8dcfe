package heat

import (
	"container/heap"
	"context"
	"math"

	"pourwright/internal/heat/exact"
)

// fillUp lets the metal that ran farther come colder. The way of each node
// from the pour is found through the metal, straight steps along the cells
// corrected to distances by fast marching's two-neighbour rule; nodes fill in
// the order of their way, at an even rate. The metal of a node has lost
// q·(S/V)·(its time of arrival) on the way, q through interface and clay in
// series; the clay that it passed, which is the clay touched before it, has
// that heat, shared out by area and time of touch.
//
// J. A. Sethian, Proc. Natl. Acad. Sci. USA 93 (1996) 1591 (fast marching).
func (j *job) fillUp(ctx context.Context, s *solver) {
	b := s.body
	arrival := b.arrivals(ctx, func(n int32) bool {
		p := j.partOf(b.Centre(int(b.cell[n])))
		return p == inButton || j.gate == nil && n == 0
	}, j.in.FillS)
	if ctx.Err() != nil {
		return
	}
	area, volume := 0.0, 0.0
	for _, c := range b.contacts {
		area += float64(c.area)
	}
	for _, v := range b.volume {
		volume += float64(v) * b.D * b.D * b.D
	}
	perKg := area / volume * 1e3 / j.alloy.Rho // m²/kg of metal
	dt := j.pourC - j.clay.Start
	drawn := 0.0 // J
	d := s.meters()
	for n, t := range arrival {
		// Contact and clay in series since the front came by: Carslaw & Jaeger, 2.7.
		loss := perKg * heatThrough(j.clay, j.in.InterfaceWM2K, dt, t)
		loss = math.Min(loss, j.startH-(j.alloy.EndH+0.3*(j.alloy.StartH-j.alloy.EndH))) // it still ran
		s.h[n] -= loss
		drawn += loss * j.alloy.Rho * float64(b.volume[n]) * d * d * d
	}
	touched := 0.0
	for _, c := range b.contacts {
		touched += float64(c.area) * (j.in.FillS - arrival[c.node])
	}
	if touched == 0 {
		return
	}
	for _, c := range b.contacts {
		heat := drawn * float64(c.area) * (j.in.FillS - arrival[c.node]) / touched
		s.t[b.odd[c.odd].cell] += float32(heat * s.clayHeat(&b.odd[c.odd]))
	}
}

// heatThrough returns the heat in J/m² drawn from metal dt above the clay in
// time t: interface and thick clay in series, by the mean of the flux.
func heatThrough(clay Clay, h, dt, t float64) float64 {
	b := clay.Effusivity()
	tau := h * math.Sqrt(t) / b
	if tau < 1e-3 {
		return h * dt * t
	}
	return exact.MouldHeatThrough(clay.Material, h, 0, dt, t)
}

// arrivals returns when each node fills, 0 to total.
func (b *body) arrivals(ctx context.Context, source func(int32) bool, total float64) []float64 {
	way := make([]float64, len(b.cell))
	done := make([]bool, len(b.cell))
	q := &queue{}
	for n := range way {
		way[n] = math.Inf(1)
		if source(int32(n)) {
			way[n] = 0
			*q = append(*q, waiting{0, int32(n)})
		}
	}
	heap.Init(q)
	order := make([]int32, 0, len(b.cell))
	for looks := 0; q.Len() > 0 && !gone(ctx, looks); looks++ {
		n := heap.Pop(q).(waiting).node
		if done[n] {
			continue
		}
		done[n] = true
		order = append(order, n)
		for side, o := range b.next[n] {
			if o == n || done[o] || b.link[n][side] == 0 {
				continue
			}
			if d := b.eikonal(o, way); d < way[o] {
				way[o] = d
				heap.Push(q, waiting{-d, o}) // the queue gives the largest first
			}
		}
	}
	whole, sum := 0.0, 0.0
	for _, v := range b.volume {
		whole += float64(v)
	}
	at := make([]float64, len(b.cell))
	for i := range at {
		at[i] = total // what no way leads to fills last
	}
	for _, n := range order {
		at[n] = total * sum / whole
		sum += float64(b.volume[n])
	}
	return at
}

// eikonal solves |∇way| = 1 at a node from the nearer neighbour on each axis.
func (b *body) eikonal(n int32, way []float64) float64 {
	var near [3]float64
	count := 0
	for axis := range 3 {
		a := math.Inf(1)
		for side := 2 * axis; side < 2*axis+2; side++ {
			if o := b.next[n][side]; o != n && b.link[n][side] > 0 {
				a = min(a, way[o])
			}
		}
		if !math.IsInf(a, 1) {
			near[count] = a
			count++
		}
	}
	list := near[:count]
	for i := range list { // rising
		for k := i; k > 0 && list[k] < list[k-1]; k-- {
			list[k], list[k-1] = list[k-1], list[k]
		}
	}
	best := math.Inf(1)
	sum, squares := 0.0, 0.0
	for i, a := range list {
		if a >= best {
			break
		}
		sum, squares = sum+a, squares+a*a
		k := float64(i + 1)
		if disc := sum*sum - k*(squares-b.D*b.D); disc >= 0 {
			best = (sum + math.Sqrt(disc)) / k
		}
	}
	return best
}
