package fill

import (
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

func (t *WedgeTest) check() error {
	var c calc.Checks
	c.Bounds(*t)
	if t.ReachedMM > t.LengthMM {
		c.Refuse("reached_mm", t.ReachedMM, "give at most length_mm, %g mm", t.LengthMM)
	}
	return c.Err()
}

// passed returns what the metal's way up to z (m) asks of its heat: ∫ dz/M.
func (t *WedgeTest) passed(z float64) float64 {
	l, foot := t.LengthMM/1e3, t.FootMM/1e3
	return 2*l/foot*math.Log(1/(1-min(z/l, 1-1e-9))) + 2*z/(t.WidthMM/1e3)
}

// reach inverts passed.
func (t *WedgeTest) reach(ask float64) float64 {
	return solve(0, t.LengthMM/1e3, func(z float64) bool { return t.passed(z) >= ask })
}

// stopTemperature returns the temperature in °C at which the fraction f is solid.
func stopTemperature(m metal.Metal, f float64) float64 {
	return solve(m.FreezingEndC(), m.LiquidusC(), func(t float64) bool { return m.SolidFraction(t) <= f })
}
