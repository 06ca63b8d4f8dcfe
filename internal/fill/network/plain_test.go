package network

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/fluid"
)

// plain is an independent scheme for a level channel under a full sprue: one
// rigid column, whose length is the only unknown of the flow, and parcels of
// metal that are never mixed and give heat to clay by the exact history of what
// each place of it has felt. Explicit in time, no cells.
type plain struct {
	length, area, perimeter float64
	head                    float64 // pressure that drives, Pa, capillarity and gas taken off
	sprue                   float64 // length of the sprue, m
	bore                    float64 // its area, m²
	t, x, v                 float64
}

// run fills the channel and returns the time that it takes, and of each of n
// stations when the front came there.
func (p *plain) run(m *Metal, n int) (time float64, came []float64) {
	const dt = 1e-5
	mod := p.area / p.perimeter
	shrink := p.area / p.bore
	for p.x < p.length {
		re := max(1, m.Rho*p.v*4*mod/m.Mu)
		f := max(64/re, 0.316/math.Pow(re, 0.25))
		inert := m.Rho * (p.x + p.sprue*shrink + 1e-3)
		loss := m.Rho / 2 * p.v * p.v * (1 + fluid.TurnLoss + fluid.EntryLoss*shrink*shrink + f*p.x/(4*mod))
		p.v += (p.head - loss) / inert * dt
		p.x += p.v * dt
		p.t += dt
		for float64(len(came))*p.length/float64(n) <= p.x {
			came = append(came, p.t)
		}
	}
	return p.t, came
}

// cool carries parcels through the stations, a row of clay rings by each, and
// returns the enthalpies that they have when the channel is full, from the gate on.
func (p *plain) cool(m *Metal, came []float64, start, h float64) []float64 {
	const (
		rings = 40
		deep  = 5e-5 // m
		most  = 1e-3 // s, under deep²/2a
	)
	n := len(came) - 1
	mod, radius := p.area/p.perimeter, p.perimeter/2/math.Pi
	metal := make([]float64, n)
	rows := make([][rings]float64, n)
	for i := range rows {
		for k := range rings {
			rows[i][k] = clay.StartC
		}
	}
	for i := range n { // the front passes station i
		copy(metal[1:i+1], metal[:i])
		metal[0] = start
		steps := math.Ceil((came[i+1] - came[i]) / most)
		dt := (came[i+1] - came[i]) / steps
		for range int(steps) {
			for s := range i + 1 {
				row := &rows[s]
				in := (m.Temperature(metal[s]) - row[0]) / (1/h + deep/2/clay.K)
				metal[s] -= in * dt / (m.Rho * mod)
				for k := range rings {
					out := 0.0
					if k < rings-1 {
						out = clay.K * (row[k] - row[k+1]) / deep
					}
					r := radius + float64(k)*deep
					row[k] += dt / clay.RhoC / deep * (in*r - out*(r+deep)) / (r + deep/2)
					in = out
				}
			}
		}
	}
	return metal
}

// TestPlainScheme: three channels filled by the network and by the plain scheme:
// the time that the metal takes, and the heat that its first twelfth has lost.
// The channels are narrow enough that the sprue stays full at its mouth, where
// the plain scheme knows no tension that breaks.
func TestPlainScheme(t *testing.T) {
	const (
		timeError = 0.05 // the network begins with a stream that runs into the channel
		heatError = 0.05 // and mixes its parcels a little
		stations  = 96
		h         = 500.0
	)
	m := lumped()
	for _, c := range []struct{ length, area, perimeter float64 }{
		{0.20, 6 * 2e-6, 16e-3}, {0.15, 5 * 1.5e-6, 13e-3}, {0.25, 6 * 2.5e-6, 17e-3},
	} {
		n := sprued(40e-3, Reach{From: 1, To: DeadEnd, Sections: channel(c.length, c.area, c.perimeter, 0, 60), Loss: fluid.TurnLoss})
		for i := range n.Reaches[0].Sections {
			n.Reaches[0].Sections[i].Perimeter *= 1e-3 // a sprue that takes no heat
		}
		n.Spacing = c.length / 48
		p := practised()
		p.Rate, p.Rise, p.Fall, p.Gas, p.Interface, p.Mixing = 1e-4, 0.01, 0, 200, h, 1e-5
		var r Run
		r.Follow(NewMesh(n), &m, &clay, p)
		first, last, ends, count := math.Inf(1), 0.0, 0.0, 0.0
		for _, k := range r.Cells(nil) {
			switch {
			case k.Reach == 0:
			case k.At > 1-1.0/12:
				ends += k.Enthalpy
				count++
				fallthrough
			default:
				first, last = min(first, k.Arrived), max(last, k.Pressed)
			}
		}
		s := plain{length: c.length, area: c.area, perimeter: c.perimeter, sprue: 40e-3, bore: math.Pi / 4 * 36e-6,
			head: fluid.Pressure(m.Rho, 52e-3) - 200 - m.Gamma*c.perimeter/c.area}
		time, came := s.run(&m, stations)
		require.InEpsilon(t, time, last-first, timeError)
		metal, mean := s.cool(&m, came, p.Enthalpy, h), 0.0
		for _, e := range metal[stations-stations/12:] {
			mean += e / (stations / 12)
		}
		t.Logf("%.3f s against %.3f, %.1f kJ/kg lost against %.1f", last-first, time, (p.Enthalpy-ends/count)/1e3, (p.Enthalpy-mean)/1e3)
		require.InEpsilon(t, p.Enthalpy-mean, p.Enthalpy-ends/count, heatError)
	}
}
