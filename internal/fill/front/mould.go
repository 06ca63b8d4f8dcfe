package front

import "math"

// Slice is one of many equal lengths of a duct.
type Slice struct {
	Area       float64 // m²
	Perimeter  float64 // m
	PerThick   float64 // change of the perimeter per relative change of thickness, m
	Round      bool    // the width grows with the thickness
	Thickness  float64 // m
	Height     float64 // of its middle above the gates, m
	HeightRise float64 // over its length, m
}

// area of the section thickened by delta.
func (s *Slice) area(delta float64) float64 {
	grown := 1 + delta/s.Thickness
	if s.Round {
		grown *= grown
	}
	return s.Area * grown
}

// Duct is a stretch of the mould from a gate to another, to itself round a
// ring, or to a dead end.
type Duct struct {
	From, To int // gates; To is NoGate at a dead end
	Length   float64
	Slices   []Slice
	VentArea float64 // of the vents at the place that fills last, m²
	VentBore float64 // of each of them, m
	VentLong float64 // m
}

// NoGate marks the dead end of a duct.
const NoGate = -1

// Stem is what stands above the gates: a funnel and one equal round sprue to
// each gate. All gates are at one height.
type Stem struct {
	Length, Diameter float64 // of each sprue, m
	Head             float64 // greatest depth in the funnel, m
	FunnelArea       float64 // m²
	Entry            float64 // loss at the sprue's mouth, in velocity heads of the sprue
	Turn             float64 // loss from sprue into duct, in velocity heads of the duct
	Smooth           bool    // leaves out wall friction, for comparison with ideal flow
}

// Mould is all the metal can reach.
type Mould struct {
	Stem  Stem
	Gates int
	Ducts []Duct
	Cells int // per duct; 0 means DefaultCells
}

// DefaultCells per duct: see TestRefinement for what finer ones change.
const DefaultCells = 48

// Pour is one way the pour may go.
type Pour struct {
	Rate       float64 // m³/s that the hand pours
	Enthalpy   float64 // as poured, J/kg
	Choke      float64 // fraction solid at which a front stops
	Thickening float64 // of every section over what the mould says, m
}

// grid is a duct cut into cells of equal volume, so that the parcels that
// move along it keep their size.
type grid struct {
	n      int
	volume float64   // of a cell, m³
	length []float64 // m
	area   []float64 // m²
	around []float64 // perimeter, m
	wall   []wall
	cap    []float64 // capillary pressure that opposes entry, Pa
	thick  []float64 // m
	edge   []float64 // height of the n+1 boundaries, m
	// Sums from the start to each boundary, so that the part between any two
	// fronts costs two look-ups.
	inertia, laminar, turbulent, surface []float64
}

// blasius is the friction factor's constant, f = 0.316/Re^¼ (H. Blasius 1913).
const blasius = 0.316

// cut divides d, its sections thickened by delta, into n cells.
func (g *grid) cut(d *Duct, m *Metal, c *Clay, n int, delta float64) {
	g.size(n)
	slice := d.Length / float64(len(d.Slices))
	total := 0.0
	for i := range d.Slices {
		s := &d.Slices[i]
		total += s.area(delta) * slice
	}
	g.n, g.volume = n, total/float64(n)
	resist := blasius * m.Rho / 8 * math.Pow(m.Mu/(4*m.Rho), 0.25)
	i, used := 0, 0.0
	height := d.Slices[0].Height - d.Slices[0].HeightRise/2
	for cell := range n {
		g.edge[cell] = height
		var long, wet, thick float64
		for need := g.volume; ; {
			s := &d.Slices[i]
			rel := delta / s.Thickness
			area := s.area(delta)
			dx := min(need/area, slice-used)
			long += dx
			wet += dx * (s.Perimeter + s.PerThick*rel)
			thick += dx * (s.Thickness + delta)
			height += s.HeightRise * dx / slice
			need -= dx * area
			used += dx
			if used >= slice*(1-1e-12) && i+1 < len(d.Slices) {
				i, used = i+1, 0
				height = d.Slices[i].Height - d.Slices[i].HeightRise/2
				if need > 1e-12*g.volume {
					continue
				}
			}
			break
		}
		a, p := g.volume/long, wet/long
		g.length[cell], g.area[cell], g.around[cell], g.thick[cell] = long, a, p, thick/long
		g.wall[cell] = newWall(c, p)
		g.cap[cell] = m.Gamma * p / a
		// Laminar loss: 2 μ P²/A³ in a tube, 3 μ P²/A³ between plates.
		form := 2 + min(1, (p*p/(4*math.Pi*a)-1)/2)
		g.inertia[cell+1] = g.inertia[cell] + m.Rho*long/a
		g.laminar[cell+1] = g.laminar[cell] + form*m.Mu*p*p*long/(a*a*a)
		g.turbulent[cell+1] = g.turbulent[cell] + resist*p*math.Sqrt(math.Sqrt(p))*long/(a*a*a)
		g.surface[cell+1] = g.surface[cell] + wet
	}
	g.edge[n] = height
}

func (g *grid) size(n int) {
	if len(g.length) == n {
		return
	}
	for _, s := range []*[]float64{&g.length, &g.area, &g.around, &g.cap, &g.thick} {
		*s = make([]float64, n)
	}
	for _, s := range []*[]float64{&g.edge, &g.inertia, &g.laminar, &g.turbulent, &g.surface} {
		*s = make([]float64, n+1)
	}
	g.wall = make([]wall, n)
}

// sum returns what a cumulative row holds between the places a ≤ b, in cells.
func sum(row []float64, a, b float64) float64 { return along(row, b) - along(row, a) }

// along reads a row of boundary values at a place in cells.
func along(row []float64, x float64) float64 {
	i := min(int(x), len(row)-2)
	return row[i] + (x-float64(i))*(row[i+1]-row[i])
}
