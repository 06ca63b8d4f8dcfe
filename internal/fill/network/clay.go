package network

import "math"

// Effusivity returns √(k ρ c) in W √s/(m² K).
func (c *Clay) Effusivity() float64 { return math.Sqrt(c.K * c.RhoC) }

// wall is the clay along one cell: effusivity, spread and contact resistance.
//
// Its gain is the heat in J per m² and kelvin taken up t seconds after metal of
// constant temperature first touched it. The semi-infinite solid behind a
// contact resistance has an exact solution, b²/h · (exp η² erfc η − 1 + 2η/√π)
// with η = h√t/b (Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed. 1959,
// 2.7), written here as the two resistances in series, t/(1/h + √t/b), times a
// factor between 1 and 2/√π. Heat spreads round a narrow channel: a closed
// convex perimeter turns through 2π, which adds π k t per metre of channel to
// the flat wall's 2b√(t/π) (short-time solution outside a cylinder, ibid. 13.5;
// the form of Adams & Taylor 1957). It enters as a greater effusivity.
type wall struct{ b, spread, resistance float64 }

func newWall(b, k, h, perimeter float64) wall {
	const turning = math.Pi * math.SqrtPi / 2
	return wall{b, k * turning / perimeter, 1 / h}
}

// seriesPoints is the resolution of the factor's table; linear interpolation
// is then within 2e-6 of the exact solution.
const seriesPoints = 512

var seriesTable = func() (table [seriesPoints + 2]float64) {
	for i := range table {
		u := float64(i) / seriesPoints
		eta := u / (1 - u)
		switch {
		case i >= seriesPoints:
			table[i] = 2 / math.SqrtPi
		case eta < 1e-2: // the series of exp η² erfc η, where the formula cancels
			table[i] = (1 + eta) * (1 - 4*eta/(3*math.SqrtPi) + eta*eta/2)
		default:
			table[i] = (1 + eta) * (erfcx(eta) - 1 + 2*eta/math.SqrtPi) / (eta * eta)
		}
	}
	return table
}()

// seriesFactor takes the clay's share of the resistance, η/(1+η).
func seriesFactor(u float64) float64 {
	x := u * seriesPoints
	i := int(x)
	return seriesTable[i] + (x-float64(i))*(seriesTable[i+1]-seriesTable[i])
}

// erfcx returns exp(x²) erfc(x), x ≥ 0.
func erfcx(x float64) float64 {
	if x < 5 {
		return math.Exp(x*x) * math.Erfc(x)
	}
	// The asymptotic series, Abramowitz & Stegun 7.1.23; its error is below
	// the first term left out, 2e-6 of the whole at x = 5.
	y := 1 / (2 * x * x)
	return (1 - y*(1-3*y*(1-5*y*(1-7*y)))) / (x * math.SqrtPi)
}

// timeFor inverts gain: a quadratic in √t whose two slowly varying factors
// are brought up to date until t settles.
func (w wall) timeFor(gain float64) float64 {
	root, factor := math.Sqrt(gain*w.resistance), 1.0
	for range 30 {
		b := w.b + w.spread*root
		next := (gain/b + math.Sqrt(gain*gain/(b*b)+4*factor*gain*w.resistance)) / (2 * factor)
		settled := math.Abs(next-root) <= 1e-9*next
		root = next
		if settled {
			break
		}
		clay := root / (w.b + w.spread*root)
		factor = seriesFactor(clay / (w.resistance + clay))
	}
	return root * root
}
