package metal

import "math"

// DiagramPoint is a point of a phase diagram.
type DiagramPoint struct{ SilverPct, TemperatureC float64 }

// Diagram holds the lines of the silver-copper phase diagram by mass, from
// silver to copper, and the solubilities below the eutectic.
type Diagram struct {
	Liquidus                    []DiagramPoint // 100 to 0 % silver, through the eutectic
	SilverSolidus, SilverSolvus []DiagramPoint // of the silver-rich solid: falling from 100 %; rising from the cold
	CopperSolidus, CopperSolvus []DiagramPoint // of the copper-rich solid, likewise
	EutecticC                   float64
	EutecticPct                 [3]float64 // % silver: silver-rich solid, liquid, copper-rich solid
}

// SilverCopperDiagram computes the silver-copper diagram with about n points
// a line (at least 8), solvus lines from 400 °C. Model and error as of
// [Metal.LiquidusC]; below 600 °C the solubilities are extrapolated.
func SilverCopperDiagram(n int) (Diagram, error) {
	const coldC = 400.0
	n = max(n, 8)
	s := systems["Ag-Cu"]
	pct := func(x vec) float64 { return 100 * x[0] * s.molar[0] / s.mass(x) }
	E, melt, err := s.solidus(vec{0.5, 0.5})
	if err != nil {
		return Diagram{}, err
	}
	m := s.at(E)
	pair, _, _ := m.solidState(vec{0.5, 0.5})
	silver, copper := pair.one, pair.two
	if silver[0] < copper[0] {
		silver, copper = copper, silver
	}
	d := Diagram{EutecticC: E - zeroC, EutecticPct: [3]float64{pct(silver), pct(melt), pct(copper)}}
	// Each liquidus branch with its solidus, from the pure metal to the eutectic.
	branch := func(from float64) (line, solidus []DiagramPoint, err error) {
		for i := range n + 1 {
			x := vec{from + (melt[0]-from)*float64(i)/float64(n)}
			x[0] = min(1-1e-9, max(1e-9, x[0]))
			x[1] = 1 - x[0]
			T, y, err := s.liquidus(x)
			if err != nil {
				return nil, nil, err
			}
			line = append(line, DiagramPoint{pct(x), T - zeroC})
			solidus = append(solidus, DiagramPoint{pct(y), T - zeroC})
		}
		return line, solidus, nil
	}
	rich, silverSolidus, err := branch(1)
	if err != nil {
		return d, err
	}
	poor, copperSolidus, err := branch(0)
	if err != nil {
		return d, err
	}
	d.SilverSolidus, d.CopperSolidus = silverSolidus, copperSolidus
	// The eutectic itself ends each line, whichever solid came first.
	d.SilverSolidus[n] = DiagramPoint{pct(silver), d.EutecticC}
	d.CopperSolidus[n] = DiagramPoint{pct(copper), d.EutecticC}
	d.Liquidus = rich
	for i := n - 1; i >= 0; i-- {
		d.Liquidus = append(d.Liquidus, poor[i])
	}
	for i := range n + 1 {
		t := coldC + (d.EutecticC-coldC)*float64(i)/float64(n)
		m := s.at(t + zeroC)
		pair, _, ok := m.solidState(vec{0.5, 0.5})
		if !ok {
			return d, errNoSolution
		}
		a, b := pct(pair.one), pct(pair.two)
		d.SilverSolvus = append(d.SilverSolvus, DiagramPoint{math.Max(a, b), t})
		d.CopperSolvus = append(d.CopperSolvus, DiagramPoint{math.Min(a, b), t})
	}
	return d, nil
}
