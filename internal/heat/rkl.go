package heat

import "math"

// stage holds the coefficients of one stage of the second-order
// Runge-Kutta-Legendre method, in terms of the change D since the start:
//
//	D_j = μ D_(j−1) + ν D_(j−2) + μ̃ τ L(Y_(j−1)) + γ̃ τ L(Y_0)
//
// s stages are stable for τ up to (s²+s−2)/4 times the explicit limit, so a
// long step costs the square root of what small steps would.
//
// C. D. Meyer, D. S. Balsara, T. D. Aslam, J. Comput. Phys. 257 (2014) 594.
type stage struct{ mu, nu, muTau, gammaTau float32 }

// stages returns the coefficients of a step of s stages; s is odd and at least 3.
func stages(s int, tau float64) []stage {
	list := make([]stage, s+1)
	b := func(j int) float64 {
		if j < 2 {
			return 1.0 / 3
		}
		f := float64(j)
		return (f*f + f - 2) / (2 * f * (f + 1))
	}
	w := 4 / float64(s*s+s-2)
	list[1] = stage{muTau: float32(b(1) * w * tau)}
	for j := 2; j <= s; j++ {
		f := float64(j)
		mu := (2*f - 1) / f * b(j) / b(j-1)
		nu := -(f - 1) / f * b(j) / b(j-2)
		list[j] = stage{float32(mu), float32(nu), float32(mu * w * tau), float32(-(1 - b(j-1)) * mu * w * tau)}
	}
	return list
}

// stagesFor returns the least odd number of stages that keeps a step of tau
// stable when the fastest mode decays at the given rate, with a margin of 5 %.
func stagesFor(tau, rate float64) int {
	s := int(math.Ceil((-1 + math.Sqrt(9+8*1.05*tau*rate)) / 2))
	return max(3, s|1)
}

// longest returns the longest step that s stages keep stable.
func longest(s int, rate float64) float64 {
	return float64(s*s+s-2) / 2 / (1.05 * rate)
}
