package front

import "math"

const stemCells = 4

// stem is the state of the funnel and the sprues above the gates.
type stem struct {
	volume                      float64 // metal standing in it, m³
	drawn                       float64 // flow drawn by the gates in this step, m³/s
	flow                        []float64
	heat                        []float64 // enthalpy delivered at each gate
	cells                       [][stemCells]float64
	gained                      [stemCells]float64
	wall                        wall
	area                        float64
	inertia, laminar, turbulent float64
	since                       float64
}

func (s *stem) start(r *Run) {
	st := &r.mould.Stem
	s.area = math.Pi / 4 * st.Diameter * st.Diameter
	p := math.Pi * st.Diameter
	s.volume, s.since = 0, 0
	s.wall = newWall(r.clay, p)
	s.inertia = r.metal.Rho * st.Length / s.area
	s.laminar = 2 * r.metal.Mu * p * p * st.Length / (s.area * s.area * s.area)
	s.turbulent = blasius * r.metal.Rho / 8 * math.Pow(r.metal.Mu*p/(4*r.metal.Rho), 0.25) * p * st.Length / (s.area * s.area * s.area)
	if len(s.flow) != r.mould.Gates {
		s.flow, s.heat = make([]float64, r.mould.Gates), make([]float64, r.mould.Gates)
		s.cells = make([][stemCells]float64, r.mould.Gates)
	}
	for g := range s.flow {
		s.flow[g], s.heat[g] = 0, r.pour.Enthalpy
		for i := range s.cells[g] {
			s.cells[g][i] = r.pour.Enthalpy
		}
	}
	s.gained = [stemCells]float64{}
}

// level returns the height in m of the metal over the gates, and the area on
// which it stands.
func (s *stem) level(r *Run) (height, area float64) {
	st := &r.mould.Stem
	sprues := float64(r.mould.Gates) * s.area
	if v := sprues * st.Length; s.volume > v {
		return st.Length + (s.volume-v)/st.FunnelArea, st.FunnelArea
	}
	return s.volume / sprues, sprues
}

func (s *stem) capacity(r *Run) float64 {
	st := &r.mould.Stem
	return float64(r.mould.Gates)*s.area*st.Length + st.Head*st.FunnelArea
}

// resist returns the loss in one sprue at the flow q and its derivative.
func (s *stem) resist(r *Run, q float64) (p, slope float64) {
	head := r.metal.Rho / 2 * r.mould.Stem.Entry / (s.area * s.area)
	p, slope = head*q*q, 2*head*q
	if r.mould.Stem.Smooth || q <= 0 {
		return p, slope
	}
	return addFriction(p, slope, s.laminar, s.turbulent, q)
}

// most returns the flow in m³/s that one gate could be given: by the hand, or
// by the full head falling free.
func (s *stem) most(r *Run) float64 {
	drive := r.metal.Rho * gravity * (r.mould.Stem.Length + r.mould.Stem.Head)
	q := s.area * math.Sqrt(2*drive/r.metal.Rho)
	for range 20 {
		p, slope := s.resist(r, q)
		if r.mould.Stem.Entry == 0 {
			p, slope = p+r.metal.Rho/2*q*q/(s.area*s.area), slope+r.metal.Rho*q/(s.area*s.area)
		}
		q = max(q/4, q-(p-drive)/slope)
	}
	return min(q, r.pour.Rate/float64(r.mould.Gates))
}

// pass moves metal through the stem for a step and cools it on the way. Each
// cell is mixed, as the turbulence of a sprue does; where the sprue runs part
// full only the wetted part of its wall cools.
func (s *stem) pass(r *Run) {
	st := &r.mould.Stem
	dt := r.dt
	height, _ := s.level(r)
	covered := height / st.Length * stemCells
	surface := math.Pi * st.Diameter * st.Length / stemCells
	held := r.metal.Rho * s.area * st.Length / stemCells
	fall := max(0.1, math.Sqrt(gravity*st.Length)) // mean speed of fall
	for i := range s.gained {
		next := s.wall.gain(s.since + dt)
		took := (next - s.gained[i]) * surface
		s.gained[i] = next
		for g := range s.cells {
			wet := 1.0
			if float64(stemCells-1-i) >= covered {
				a := min(s.area, s.flow[g]/fall)
				around := math.Pi * st.Diameter
				wet = wettedWall(a, s.area, st.Diameter, around) / around
			}
			in := r.metal.Rho * s.flow[g] * dt
			above := r.pour.Enthalpy
			if i > 0 {
				above = s.cells[g][i-1]
			}
			h := s.cells[g][i]
			lost := max(0, r.metal.Temperature(h)-r.clay.StartC) * took * wet
			s.cells[g][i] = max((held*h+in*above-lost)/(held+in), r.metal.low)
		}
	}
	for g := range s.heat {
		s.heat[g] = s.cells[g][stemCells-1]
	}
	s.since += dt
	s.volume = min(max(0, s.volume+dt*(r.pour.Rate-s.drawn)), s.capacity(r))
}

// wettedWall returns how much of a wall of the given perimeter, m, a stream of
// area a touches in a channel of the given area and thickness: a round
// rivulet, 2√(πa), until at a = thickness²/8 the ribbon between two faces,
// 2a/thickness + thickness, has no more perimeter than that.
func wettedWall(a, area, thickness, perimeter float64) float64 {
	switch {
	case a >= area:
		return perimeter
	case 8*a < thickness*thickness:
		return min(perimeter, 2*math.Sqrt(math.Pi*a))
	}
	return min(perimeter, 2*a/thickness+thickness)
}
