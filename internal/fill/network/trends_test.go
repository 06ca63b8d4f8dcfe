package network

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// freezes is the heat of lumped sterling from all liquid to all solid, J/kg.
const freezes = 310*120 + 110e3

// long is a level channel without friction under a full sprue. Heat does not
// change its flow, so that its reach is a matter of heat alone.
type long struct{ modulus, head, superheat, clayC, stop float64 }

func usual() long { return long{modulus: 0.5e-3, head: 0.05, superheat: 100, clayC: 25, stop: 0.3} }

// reach is how far the metal runs with heat left, m, between two cells.
func (c long) reach(t *testing.T) float64 {
	const area, length = 10e-6, 1.2
	m := lumped()
	m.Mu, m.Gamma = 1e-9, 1e-9
	const slant = 0.08 // of the sprue, whatever its height: as much metal to set in motion, m
	n := sprued(slant, Reach{From: 1, To: DeadEnd, Sections: channel(length, area, area/c.modulus, 0, 120)})
	for i := range n.Reaches[0].Sections {
		s := &n.Reaches[0].Sections[i]
		s.Perimeter *= 1e-3 // it takes no heat
		s.Height *= c.head / slant
		s.Rise *= c.head / slant
	}
	n.Spacing = length / 120
	mould := clay
	mould.StartC = c.clayC
	p := practised()
	p.Enthalpy, p.Stop = enthalpy(899+c.superheat), c.stop
	p.Rate, p.Rise, p.Fall, p.Gas, p.Interface = 1e-4, 0.01, 0, 0, 800
	var r Run
	r.Follow(NewMesh(n), &m, &mould, p)
	before, at := p.Enthalpy, 0.0
	for _, k := range r.Cells(nil) {
		if k.Reach != 1 {
			continue
		}
		x := k.At * length
		if k.Coldest < r.StopEnthalpy() {
			return at + (x-at)*(before-r.StopEnthalpy())/(before-k.Coldest)
		}
		before, at = k.Coldest, x
	}
	t.Fatalf("it ran to the end: %+v", c)
	return 0
}

// TestReachAgainstSuperheat: straight within 10 % over 50 to 200 K, and nothing
// where the latent heat up to the stop is used up too. Straight in L. F. Porter
// and P. C. Rosenthal, Trans. AFS 60 (1952) 725 (grey iron, from memory); A. H.
// Zadeh and J. Campbell, Int. J. Cast Met. Res. (2004) 162 (eutectic iron and
// Al-12.5Si, abstract); Y. Motoyama et al., Mater. Trans. 58 (2017) 629 (a
// copper alloy, abstract).
func TestReachAgainstSuperheat(t *testing.T) {
	const straight = 0.10
	at := func(k float64) float64 {
		c := usual()
		c.superheat = k
		return c.reach(t)
	}
	low, high := at(50), at(200)
	for _, k := range []float64{100, 150} {
		require.InEpsilon(t, low+(high-low)*(k-50)/150, at(k), straight)
	}
	// Of the heat between pouring and stopping, kc L + c ΔT, by which length grows.
	heat := func(k float64) float64 { return 310*k + 0.3*freezes }
	require.InEpsilon(t, heat(200)/heat(50), high/low, 0.15, "hotter metal also gives its heat faster")
}

// TestReachAgainstSection: as the modulus to a power from 1, where contact
// decides, to 2, where the clay does (Zadeh and Campbell, as above, found 2).
func TestReachAgainstSection(t *testing.T) {
	c := usual()
	thin := c.reach(t)
	c.modulus *= 1.5
	n := math.Log(c.reach(t)/thin) / math.Log(1.5)
	t.Logf("reach as modulus^%.2f", n)
	require.Greater(t, n, 1.0)
	require.Less(t, n, 2.0)
}

// TestReachAgainstHead: speed goes as the root of the head, and reach with it
// where contact decides and the column is at speed (M. C. Flemings, Solidification Processing 1974, from
// memory); the column is still gathering speed, which takes a little of it.
func TestReachAgainstHead(t *testing.T) {
	c := usual()
	c.head = 0.03
	low := c.reach(t)
	c.head = 0.08
	n := math.Log(c.reach(t)/low) / math.Log((0.08+0.012)/(0.03+0.012))
	t.Logf("reach as head^%.2f", n)
	require.InDelta(t, 0.5, n, 0.15)
}

// TestPourAgainstMouldTemperature: a degree of the metal acts c (T* − T0)/H times
// as strongly as one of the mould: 2.4 measured for Al-Si in metal moulds (Imono
// 23 (1951) no. 11 p. 8, abstract), by the heat balance 3.8 here.
func TestPourAgainstMouldTemperature(t *testing.T) {
	base, hot, warm := usual(), usual(), usual()
	hot.superheat += 30
	warm.clayC += 60
	r := base.reach(t)
	ratio := (hot.reach(t) - r) / 30 / ((warm.reach(t) - r) / 60)
	mean := 899 + base.superheat/2 - base.clayC
	balance := 310 * mean / (310*base.superheat + base.stop*freezes)
	t.Logf("%.2f, by the balance %.2f", ratio, balance)
	require.InEpsilon(t, balance, ratio, 0.25)
}

// TestReachAgainstStop: from 0.2 to 0.4 solid it moves by a third, as the heat does.
func TestReachAgainstStop(t *testing.T) {
	soon, late := usual(), usual()
	soon.stop, late.stop = 0.2, 0.4
	heat := func(c long) float64 { return 310*c.superheat + c.stop*freezes }
	require.InEpsilon(t, heat(late)/heat(soon), late.reach(t)/soon.reach(t), 0.10)
}

// TestSlabFreezing: without contact resistance the half-space of Chvorinov's rule,
// t = (π/4) (ρ H/(ΔT b))² M²; with nothing but contact t = M ρ H/(h ΔT).
func TestSlabFreezing(t *testing.T) {
	// An iron slab of 10 cm that freezes at 1540 °C in sand of 28 °C: 2417 s by the
	// formula; the example of A. Ghosh and A. K. Mallik, Manufacturing Science, ch. 2
	// (from memory; they print about 0.675 h).
	const h, low = 272e3, 100e3
	iron := Metal{Rho: 7850}
	iron.Tabulate(0, low+h, func(float64) float64 { return 1540 }, func(e float64) float64 { return 1 - max(0, e-low)/h })
	r := Run{metal: &iron, clay: &Clay{K: 0.8655, RhoC: 1600 * 1170, StartC: 28}}
	r.eff = r.clay.Effusivity()
	r.pour.Interface = math.Inf(1)
	wide := math.Inf(1)
	require.InEpsilon(t, 2417, r.FreezeRound(0.05, wide, low+h, low), 1e-3)
	require.InEpsilon(t, 0.675*3600, r.FreezeRound(0.05, wide, low+h, low), 0.02)
	// As the square of the modulus: a round bar of 0.3 m against a rectangle of 3 to 1
	// and the same area, 0.5 m long, 0.6588 (an examination's solution).
	const d, l = 0.3, 0.5
	area := math.Pi / 4 * d * d
	b := math.Sqrt(area / 3)
	round := area * l / (math.Pi*d*l + 2*area)
	flat := area * l / (8*b*l + 2*area)
	require.InEpsilon(t, 0.6588, r.FreezeRound(flat, wide, low+h, low)/r.FreezeRound(round, wide, low+h, low), 2e-3, "their figure is rounded")
	// Contact alone.
	r.clay.K, r.eff, r.pour.Interface = 1e9, 1e9, 500
	require.InEpsilon(t, 0.05*7850*h/(500*(1540-28)), r.FreezeRound(0.05, wide, low+h, low), 1e-3)
}
