package network

import (
	"fmt"
	"testing"
)

func TestDbg(t *testing.T) {
	c := hr(2.6, 1.8, true)
	net, whole := c.network()
	mesh := NewMesh(&net)
	mm, h := sterling(100)
	clay := Clay{K: 0.6, RhoC: 1.76e6, StartC: 25}
	var r Run
	r.mesh, r.metal, r.clay = mesh, &mm, &clay
	r.pour = Pour{Enthalpy: h, Rise: riseS, Rate: whole / (pourS - riseS/2), Fall: 0.04, Interface: 575, Effusivity: 1, Mixing: 2e-3, Stop: 0.2, Weld: 0.35, Gas: 400, Tension: 1}
	r.start()
	for r.t < 0.7 {
		r.step()
		if r.t > 0.60 && r.t < 0.66 {
			fmt.Printf("t %.4f dt %.4f ", r.t, r.dt*1e3)
			for _, i := range []int{1, 2, 3, 4, 12, 13, 14, 15, 16, 17} {
				s := &r.s[i]
				fmt.Printf("[%d %.0f%v p%.0f q%.2f b%d] ", i, 100*s.m/s.vol, s.full, s.p, 1e6*r.l[i-1].q, r.l[i-1].branch)
			}
			fmt.Println()
		}
	}
}
