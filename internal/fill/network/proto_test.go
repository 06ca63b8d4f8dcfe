package network

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
	"time"

	"pourwright/internal/fluid"
	"pourwright/internal/metal"
	"pourwright/internal/section"
)

type tc struct {
	name           string
	inside         float64
	shape          section.Shape
	thick, thin, w float64
	lying          bool
	superheat      float64
	sprue          float64
}

func (c tc) network() (Network, float64) {
	sec := func(f float64) section.Section { // f 0 gate ... 1 far
		return section.Section{Shape: c.shape, ThicknessMM: c.thick + (c.thin-c.thick)*f, WidthMM: c.w}
	}
	cen := (sec(0).Centroid() + sec(1).Centroid()) / 2
	r := (c.inside/2 + cen) / 1e3
	half := math.Pi * r
	const n = 48
	var arm []Section
	vol := 0.0
	for i := range n {
		f := (float64(i) + 0.5) / n
		s := sec(f)
		m, l := s, s
		m.ThicknessMM *= 1.01
		l.ThicknessMM *= 0.99
		x := Section{Length: half / n, Area: s.Area() / 1e6, Perimeter: s.Perimeter() / 1e3, Thickness: s.ThicknessMM / 1e3, PerThick: (m.Perimeter() - l.Perimeter()) / 0.02 / 1e3}
		if !c.lying {
			z := func(f float64) float64 { return r * (math.Cos(math.Pi*f) - 1) }
			x.Height, x.Rise = z(f), z((float64(i)+1)/n)-z(float64(i)/n)
		}
		vol += 2 * x.Area * x.Length
		arm = append(arm, x)
	}
	d := 6e-3
	sl := c.sprue / 1e3
	var sp []Section
	for i := range 8 {
		sp = append(sp, Section{Length: sl / 8, Area: math.Pi / 4 * d * d, Perimeter: math.Pi * d, Thickness: d, Round: true, Height: sl - (float64(i)+0.5)*sl/8, Rise: -sl / 8})
	}
	ref := math.Pi / 4 * 18e-3 * 18e-3
	net := Network{Funnel: Funnel{Junction: 0, Area: ref, Depth: 12e-3, Sprue: math.Pi / 4 * d * d},
		Reaches: []Reach{{From: 0, To: 1, Sections: sp, Loss: fluid.EntryLoss, Piece: NoPiece},
			{From: 1, To: DeadEnd, Sections: arm, Loss: fluid.TurnLoss, Piece: 0, Copies: 2, Mirror: true}},
		Vents: []Vent{{Reach: 1, At: 1, Diameter: 1e-3, Length: 15e-3, Count: 2}}}
	return net, vol + math.Pi/4*d*d*sl + ref*12e-3
}

func sterling(super float64) (Metal, float64) {
	m, err := metal.Named("silver-925")
	if err != nil {
		panic(err)
	}
	pour := m.LiquidusC() + super
	at := (pour + m.LiquidusC()) / 2
	mm := Metal{Rho: m.LiquidDensityKgM3(at), Gamma: m.SurfaceTensionNM(at) * fluid.NonWetting(fluid.ContactDeg), Mu: m.ViscosityPaS(at)}
	end := 1e3 * m.EnthalpyKJKg(m.FreezingEndC())
	h := 1e3 * m.EnthalpyKJKg(pour)
	mm.Tabulate(0.5*end, h+1e5, func(h float64) float64 { return m.TemperatureC(h / 1e3) }, func(h float64) float64 { return m.SolidFraction(m.TemperatureC(h / 1e3)) })
	return mm, h
}

var rows = []struct {
	name string
	want string
	c    []tc
}{}

func hr(thick, thin float64, lying bool) tc {
	return tc{"", 62, section.HalfRound, thick, thin, 6, lying, 100, 20}
}
func ring(t float64, lying bool) tc { return tc{"", 17, section.D, t, t, 5, lying, 100, 20} }

var riseS, pourS = env("RISE", 0.4), env("POUR", 1.3)

func env(k string, d float64) float64 {
	if v, err := strconv.ParseFloat(os.Getenv(k), 64); err == nil {
		return v
	}
	return d
}

func TestProto(t *testing.T) {
	type row struct {
		name string
		c    tc
	}
	var list []row
	add := func(n string, c tc) {
		list = append(list, row{n, c})
	}
	for _, x := range []float64{2, 2.5, 3, 4} {
		add(fmt.Sprintf("F1 st %.1f <=10", x), hr(x, x, false))
	}
	for _, x := range []float64{2.5, 3, 4} {
		add(fmt.Sprintf("F2 ly %.1f <=12", x), hr(x, x, true))
	}
	add("F3 ly 2.0 3-20", hr(2, 2, true))
	for _, y := range []struct {
		n string
		x float64
	}{{"F4 20-75", 1.0}, {"F5 40-92", 0.8}, {"F6 >=60", 0.6}, {"F7 <=12", 1.8}} {
		n, x := y.n, y.x
		add(n+" st", hr(2.6, x, false))
		add(n+" ly", hr(2.6, x, true))
	}
	add("F8 st >=70", hr(1, 1, false))
	add("F8 ly >=40", hr(1, 1, true))
	for _, y := range []struct {
		n string
		x float64
	}{{"F9 <=6", 2}, {"F10 3-25", 1.2}, {"F11 >=50", 0.6}} {
		n, x := y.n, y.x
		add(n+" st", ring(x, false))
		add(n+" ly", ring(x, true))
	}
	c := hr(3, 3, false)
	c.superheat = 20
	add("F12 >=15", c)
	rng := rand.New(rand.NewPCG(1, 2))
	const N = 160
	var z [N][12]float64
	for i := range z {
		for k := range z[i] {
			z[i][k] = max(-2.5, min(2.5, rng.NormFloat64()))
		}
	}
	var r Run
	start := time.Now()
	steps, count := 0, 0
	al, _ := metal.Named("silver-925")
	var hh [N][2]float64
	for i := range hh {
		for k, sup := range []float64{100, 20} {
			hh[i][k] = 1e3 * al.EnthalpyKJKg(max(al.LiquidusC()+1, al.LiquidusC()+sup+20*z[i][0]))
		}
	}
	for _, q := range list {
		net, whole := q.c.network()
		mesh := NewMesh(&net)
		mm, _ := sterling(q.c.superheat)
		fail, mis, cold := 0, 0, 0
		clay := Clay{K: 0.6, RhoC: 1.76e6, StartC: 25, Perm: 20 * fluid.AFSPermeability, Path: 15e-3}
		var mean float64
		for i := range N {
			u := z[i]
			k := 0
			if q.c.superheat < 50 {
				k = 1
			}
			p := Pour{Spread: env("SPREAD", 0), Rise: riseS, Enthalpy: hh[i][k],
				Rate: env("RATE", 5.2) * 1e-6 * math.Pow(1+math.Pow(whole/6.5e-6, 4), 0.25) * math.Exp(0.3*u[1]), Fall: 0.04, Thickening: 0.06e-3 * u[2], Interface: env("H", 575) * math.Exp(0.34*u[3]),
				Effusivity: math.Exp(0.2 * u[4]), Mixing: 2e-3 * math.Exp(0.4*u[5]), Stop: env("STOP", 0.2) + 0.05*u[6], Weld: env("WELD", 0.35) + 0.05*u[7],
				Gas: max(0, env("GAS", 400)+env("GASS", 200)*u[8]), Tension: 1 + 0.1*u[9]}
			func() {
				defer func() {
					if e := recover(); e != nil {
						fmt.Printf("PANIC %v %+v\n%+v\n", e, p, r.t)
						for i := range r.s {
							fmt.Printf("%d %+v\n", i, r.s[i])
						}
						for i := range r.l {
							fmt.Printf("%d %+v\n", i, r.l[i])
						}
						panic(e)
					}
				}()
				r.Follow(mesh, &mm, &clay, p)
			}()
			steps += r.Steps
			count++
			o := r.Outcome(NoPiece)
			m, kind := o.Misrun, "misrun"
			if o.Cold < m {
				m, kind = o.Cold, "cold"
			}
			mean += m / N
			if m < 0 {
				fail++
				if kind == "misrun" {
					mis++
				} else {
					cold++
				}
			}
		}
		fmt.Printf("%s %.0f | ", q.name, 100*float64(fail)/N)
	}
	fmt.Println(time.Since(start)/time.Duration(count), "a member;", steps/count, "steps")
}

func TestTrace(t *testing.T) {
	for _, c := range []tc{hr(2.6, 1.8, true), hr(2.6, 1.0, false)} {
		net, whole := c.network()
		mesh := NewMesh(&net)
		mm, h := sterling(100)
		clay := Clay{K: 0.6, RhoC: 1.76e6, StartC: 25}
		var r Run
		r.mesh, r.metal, r.clay = mesh, &mm, &clay
		r.pour = Pour{Enthalpy: h, Rise: riseS, Rate: whole / (pourS - riseS/2), Fall: 0.04, Interface: 575, Effusivity: 1, Mixing: 2e-3, Stop: 0.2, Weld: 0.35, Gas: 400, Tension: 1}
		r.start()
		fmt.Println("case", c.thick, c.thin, c.lying)
		last := -1.0
		for r.t < longest && !r.over() {
			r.step()
			if r.t-last > 0.03 || r.Steps < 4 {
				last = r.t
				fmt.Printf("t %.3f h %.1f jet %.0f |", r.t, 1e3*r.s[0].m/mesh.funnel.Area, r.jet)
				for i := 1; i < len(r.s); i++ {
					s := &r.s[i]
					ch := " "
					if s.full {
						ch = "F"
						if s.pressed {
							ch = fmt.Sprintf("P%.0f", s.p/90)
						}
					}
					fmt.Printf("%3.0f%s", 100*s.m/s.vol, ch)
				}
				fmt.Println()
			}
		}
		fmt.Print("tips ")
		for i := 1; i < len(r.s); i++ {
			fmt.Printf("%4.0f", (r.s[i].done-r.stop)/1e3)
		}
		o := r.Outcome(NoPiece)
		m, k, at := min(o.Misrun, o.Cold), o.Full, o.MisrunAt
		fmt.Println("\nmargin", m, k, at, "steps", r.Steps, "welds", r.weldAt)
	}
}
