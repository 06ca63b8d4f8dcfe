package network

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/fluid"
)

// lumped sterling: 310 J/(kg K), 110 kJ/kg freed evenly between 899 and 779 °C,
// 9180 kg/m³. Enthalpy 0 at 25 °C.
func lumped() Metal {
	m := Metal{Rho: 9180, Gamma: 0.95 * fluid.NonWetting(140), Mu: 3.5e-3}
	const cp, latent, top, end = 310.0, 110e3, 899.0, 779.0
	mush := cp + latent/(top-end)
	hEnd := cp * (end - 25)
	hTop := hEnd + mush*(top-end)
	m.Tabulate(0, hTop+cp*400, func(h float64) float64 {
		switch {
		case h < hEnd:
			return 25 + h/cp
		case h < hTop:
			return end + (h-hEnd)/mush
		}
		return top + (h-hTop)/cp
	}, func(h float64) float64 { return max(0, min(1, (hTop-h)/(hTop-hEnd))) })
	return m
}

// enthalpy of lumped sterling at t °C over its liquidus.
func enthalpy(t float64) float64 { return 310*(779-25) + (310+110e3/120)*120 + 310*(t-899) }

// channel is a straight channel of one section, its end rise m over its start.
func channel(length, area, perimeter, rise float64, n int) []Section {
	s := make([]Section, n)
	for i := range s {
		s[i] = Section{Length: length / float64(n), Area: area, Perimeter: perimeter, Thickness: 2 * area / perimeter,
			Height: rise * (float64(i) + 0.5) / float64(n), Rise: rise / float64(n)}
	}
	return s
}

// sprued puts a sprue of 6 mm over channels that begin at its foot, height 0.
func sprued(height float64, reaches ...Reach) *Network {
	const d = 6e-3
	bore := math.Pi / 4 * d * d
	sprue := Reach{From: 0, To: 1, Sections: channel(height, bore, math.Pi*d, -height, 8), Loss: fluid.EntryLoss, Piece: NoPiece}
	for i := range sprue.Sections {
		sprue.Sections[i].Height += height
	}
	return &Network{Funnel: Funnel{Junction: 0, Area: 9 * bore, Depth: 12e-3, Sprue: bore}, Reaches: append([]Reach{sprue}, reaches...)}
}

var clay = Clay{K: 0.6, RhoC: 1.76e6, StartC: 25}

func practised() Pour {
	return Pour{Enthalpy: enthalpy(999), Rate: 6e-6, Rise: 0.6, Fall: 0.04, Interface: 500, Effusivity: 1, Mixing: 3e-3, Stop: 0.2, Weld: 0.35, Gas: 400, Tension: 1}
}

// halfRing is one arm of a band 62 mm inside, half round, 2.6 mm thick at the
// gate and thin mm at the far side, standing or level.
func halfRing(thin float64, standing bool) Reach {
	const n, r = 48, 32.2e-3
	s := make([]Section, n)
	for i := range s {
		f := (float64(i) + 0.5) / n
		t := 2.6 + (thin-2.6)*f
		area := math.Pi / 4 * t * 6
		per := 6 + math.Pi*math.Sqrt((9+t*t)/2) // Euler's ellipse, close enough for a test
		s[i] = Section{Length: math.Pi * r / n, Area: area / 1e6, Perimeter: per / 1e3, Thickness: t / 1e3, PerThick: 6e-3}
		if standing {
			z := func(f float64) float64 { return r * (math.Cos(math.Pi*f) - 1) }
			s[i].Height, s[i].Rise = z(f), z(float64(i+1)/n)-z(float64(i)/n)
		}
	}
	return Reach{From: 1, To: DeadEnd, Sections: s, Loss: fluid.TurnLoss, Copies: 2, Mirror: true}
}

// TestClayThatAgesWithTheMetal: a plate of 1 mm in perfect contact gives its
// heat to clay that has aged with it. The exact solution of the half-space with
// a falling surface temperature stops at 0.0935 s, 46.8 mm at 0.5 m/s; the law
// here remembers the heat taken and not its history, which is 4 % quick.
func TestClayThatAgesWithTheMetal(t *testing.T) {
	m := lumped()
	r := Run{metal: &m, clay: &Clay{K: 1060 * 1060 / 1.76e6, RhoC: 1.76e6, StartC: 25}, eff: 1060}
	r.pour = Pour{Interface: 1e9, Effusivity: 1}
	stop := m.AtSolid(0.25)
	h, g, now := enthalpy(1000), 0.0, 0.0
	const dt, modulus = 1e-5, 0.5e-3
	for h > stop {
		q := r.flux(m.Temperature(h)-25, g+0.5*0.01, 0)
		if g == 0 { // the first instant by the exact law
			q = 2 * 1060 * 975 / math.Sqrt(math.Pi*dt)
		}
		g += q * dt
		h -= q * dt / (m.Rho * modulus)
		now += dt
	}
	const memory = 0.07
	require.InEpsilon(t, 0.0935, now, memory)
	require.InEpsilon(t, 46.8e-3, 0.5*now, memory)
}

// TestTipOnFreshClay: a tip that is renewed by nothing (all the metal behind is
// as cold) on clay that it touches for mixing length over speed. The mean flux
// of a half-space over that contact is 2 b ΔT/√(π λ/v), so the tip's heat falls
// by ρ M ΔH = 2 b ΔT √(v/(π λ)) t whatever the grid: for λ 3 mm, v 0.5 m/s and
// M 0.5 mm it loses 40 kJ/kg in ρ M ΔH √(π λ/v)/(2 b ΔT) seconds.
func TestTipOnFreshClay(t *testing.T) {
	m := lumped()
	for _, lambda := range []float64{1e-3, 3e-3, 10e-3} {
		const v, modulus, b = 0.5, 0.5e-3, 1060.0
		mesh := &Mesh{cells: make([]cell, 2)}
		mesh.cells[1] = cell{length: 1}
		r := Run{mesh: mesh, metal: &m, clay: &Clay{StartC: 25}, eff: b, s: make([]state, 2)}
		r.pour = Pour{Interface: math.Inf(1), Mixing: lambda}
		s := &r.s[1]
		*s = state{vol: 1, mod: modulus, speed: v, inFace: -1, tip: enthalpy(1000), age: lambda / v, perMass: 1 / (m.Rho * modulus)}
		r.dt = 1e-6
		for from := s.tip; from-s.tip < 20e3; r.t += r.dt { // all of it liquid: ΔT is known
			s.e = s.tip // what is behind is no hotter
			r.renew(1, s, r.dt)
		}
		mean := m.Temperature(enthalpy(1000)-10e3) - 25
		exact := m.Rho * modulus * 20e3 * math.Sqrt(math.Pi*lambda/v) / (2 * b * mean)
		require.InEpsilon(t, exact, r.t, 0.003) // ΔT as its mean
	}
}

// TestReachHasALimitForEachMixingLength: in perfect contact a front runs as far
// on a grid twice as fine, and the further the longer its mixing length.
func TestReachHasALimitForEachMixingLength(t *testing.T) {
	m := lumped()
	margin := func(spacing, lambda float64) float64 {
		n := sprued(60e-3, Reach{From: 1, To: DeadEnd, Sections: channel(60e-3, 12e-6, 14e-3, 0, 60), Loss: fluid.TurnLoss})
		n.Spacing = spacing
		p := practised()
		p.Interface, p.Mixing = 1e6, lambda
		var r Run
		r.Follow(NewMesh(n), &m, &clay, p)
		return r.Outcome(NoPiece).Misrun
	}
	const part = 0.03 // of the margin's unit, which is the heat between pouring and stopping
	a, b, c := margin(1e-3, 2e-3), margin(0.5e-3, 2e-3), margin(0.25e-3, 2e-3)
	require.InDelta(t, b, a, part)
	require.InDelta(t, c, b, part)
	require.Greater(t, margin(1e-3, 4e-3), a)
}

// TestVolumeAndHeatBalance: what was poured is in the funnel and the channels,
// and its heat in them and in the clay.
func TestVolumeAndHeatBalance(t *testing.T) {
	m := lumped()
	rapid.Check(t, func(t *rapid.T) {
		thin := rapid.Float64Range(0.6, 2.6).Draw(t, "thin")
		n := sprued(rapid.Float64Range(8e-3, 40e-3).Draw(t, "sprue"), halfRing(thin, rapid.Bool().Draw(t, "standing")))
		p := practised()
		p.Rate = rapid.Float64Range(1e-6, 2e-5).Draw(t, "rate")
		p.Interface = rapid.Float64Range(100, 2000).Draw(t, "h")
		p.Gas = rapid.Float64Range(0, 1000).Draw(t, "gas")
		var r Run
		r.Follow(NewMesh(n), &m, &clay, p)
		heat, volume := r.Held()
		const drained = 2e-3 // a cell drained in a step is emptied, no more
		require.InDelta(t, 1, (volume+r.InFunnel())/r.Poured, drained)
		brought := m.Rho * (r.Poured - r.InFunnel()) * p.Enthalpy
		require.InDelta(t, 1, (heat+r.Heat)/brought, 0.01, "first-order mixing in one step")
	})
}

// TestTorricelliIsNotBeaten: a level channel without friction to speak of takes
// no more than √(2 g h) through its section, and at rest stands under the head.
func TestTorricelliIsNotBeaten(t *testing.T) {
	m := lumped()
	m.Mu, m.Gamma = 1e-9, 1e-9
	const area = 4e-6
	n := sprued(40e-3, Reach{From: 1, To: DeadEnd, Sections: channel(0.4, area, 8e-3, 0, 40)})
	p := practised()
	p.Gas, p.Fall, p.Rate, p.Rise = 0, 0, 1e-4, 0.01
	var r Run
	r.mesh, r.metal, r.clay, r.pour = NewMesh(n), &m, &clay, p
	r.start()
	most := 0.0
	for r.t < 0.5 {
		r.step()
		outflow := math.Sqrt(2 * fluid.Gravity * (40e-3 + r.s[0].m/n.Funnel.Area))
		for f := range r.mesh.faces {
			if e := &r.mesh.faces[f]; r.mesh.cells[e.b].reach == 1 && r.s[e.b].m > 0 && r.t > 0.15 {
				v := r.l[f].q / area
				require.LessOrEqual(t, v, 1.02*outflow)
				most = max(most, v/outflow)
			}
		}
	}
	require.Greater(t, most, 0.75) // the long column is still gathering speed
}

// TestFreeFall: a stream down an upright channel comes as fast as it falls.
func TestFreeFall(t *testing.T) {
	m := lumped()
	m.Gamma, m.Mu = 1e-9, 1e-9
	r := Reach{From: 1, To: DeadEnd, Sections: channel(80e-3, 30e-6, 22e-3, -80e-3, 40)}
	n := sprued(20e-3, r)
	n.Spacing = 2e-3
	p := practised()
	p.Gas, p.Fall, p.Rise, p.Rate = 0, 0, 0.01, 2e-6
	var w Run
	w.Follow(NewMesh(n), &m, &clay, p)
	var cells []Cell
	first, last := math.Inf(1), 0.0
	for _, c := range w.Cells(cells) {
		first, last = min(first, c.Arrived), max(last, c.Arrived)
	}
	// From rest at the funnel 98 mm down to the last cell: √(2 h/g) = 0.141 s;
	// the metal enters with the little head that it needs, and wall friction slows it.
	require.InDelta(t, math.Sqrt(2*98e-3/fluid.Gravity), last-first, 0.06)
}

// TestCapillaryStop: metal enters a level channel when its head, and what the
// gas leaves of it, passes γ|cos θ|/M, and not before.
func TestCapillaryStop(t *testing.T) {
	m := lumped()
	for _, r := range []struct {
		gas   float64
		fills bool
	}{{0, true}, {300, false}} {
		// 32 mm of head are 2881 Pa; M chosen to ask 2700.
		modulus := m.Gamma / 2700
		area := 4e-6
		n := sprued(20e-3, Reach{From: 1, To: DeadEnd, Sections: channel(10e-3, area, area/modulus, 0, 10), Loss: fluid.TurnLoss})
		p := practised()
		p.Fall, p.Gas, p.Interface = 0, r.gas, 1
		var w Run
		w.Follow(NewMesh(n), &m, &clay, p)
		require.Equal(t, r.fills, w.Outcome(NoPiece).Empty == 0, "gas %g", r.gas)
	}
}

// TestHydrostaticRise: metal fed from below does not pass the level in the funnel.
func TestHydrostaticRise(t *testing.T) {
	m := lumped()
	m.Gamma = 1e-9
	rise := Reach{From: 1, To: DeadEnd, Sections: channel(60e-3, 10e-6, 13e-3, 60e-3, 60)}
	n := sprued(20e-3, rise)
	n.Spacing = 2e-3
	p := practised()
	p.Gas, p.Interface, p.Fall = 0, 1, 0
	var w Run
	w.Follow(NewMesh(n), &m, &clay, p)
	high := 0.0
	for i := 1; i < len(w.s); i++ {
		if c := &w.mesh.cells[i]; c.reach == 1 {
			high += c.length * w.s[i].m / w.s[i].vol
		}
	}
	require.InDelta(t, 32e-3, high, 4e-3) // one cell of swing
}

// TestAHalfStandsForTheWhole: one arm with a twin is two arms that meet.
func TestAHalfStandsForTheWhole(t *testing.T) {
	m := lumped()
	for _, standing := range []bool{true, false} {
		half := halfRing(1.4, standing)
		whole := half
		whole.Copies, whole.Mirror, whole.To = 1, false, 2
		var a, b Run
		a.Follow(NewMesh(sprued(20e-3, half)), &m, &clay, practised())
		b.Follow(NewMesh(sprued(20e-3, whole, whole)), &m, &clay, practised())
		x, y := a.Outcome(NoPiece), b.Outcome(NoPiece)
		require.InDelta(t, x.Misrun, y.Misrun, 0.03)
		require.InDelta(t, x.Cold, y.Cold, 0.05)
		require.InDelta(t, x.Full, y.Full, 0.02)
	}
}

// TestRefinement: twice the cells move the margin by little.
func TestRefinement(t *testing.T) {
	m := lumped()
	for _, standing := range []bool{true, false} {
		for _, thin := range []float64{2.6, 1.8, 1.2} {
			margin := func(spacing float64) float64 {
				n := sprued(20e-3, halfRing(thin, standing))
				n.Spacing = spacing
				var r Run
				r.Follow(NewMesh(n), &m, &clay, practised())
				o := r.Outcome(NoPiece)
				return min(o.Misrun, o.Cold)
			}
			require.InDelta(t, margin(3.2e-3), margin(6.4e-3), 0.1, "standing %v thin %g", standing, thin)
		}
	}
}

// TestSamePourSameAnswer to the bit, whatever the Run followed before.
func TestSamePourSameAnswer(t *testing.T) {
	m := lumped()
	mesh := NewMesh(sprued(20e-3, halfRing(1.2, true)))
	var a, b Run
	a.Follow(mesh, &m, &clay, practised())
	b.Follow(NewMesh(sprued(9e-3, halfRing(2, false))), &m, &clay, practised())
	b.Follow(mesh, &m, &clay, practised())
	require.Equal(t, a.Outcome(NoPiece), b.Outcome(NoPiece))
	require.Zero(t, testing.AllocsPerRun(5, func() { b.Follow(mesh, &m, &clay, practised()) }))
}
