package shape

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/mesh"
)

// Parting says whether the pattern can be drawn from a two-part mould, straight
// up out of either half.
type Parting struct {
	Draws      bool    `json:"draws" doc:"Whether the pattern leaves both halves with the parting named"`
	Parting    string  `json:"parting" enum:"flat,stepped,loose_piece,turn" doc:"flat: one plane; stepped: cut the clay of the first half up and down to the widest line; loose_piece: clay is caught under the pattern and must be a piece of its own; turn: it draws if the pattern is turned"`
	HeightMM   float64 `json:"height_mm,omitempty,omitzero" doc:"Height of the flat plane over the middle of the pattern"`
	UndercutMM float64 `json:"undercut_mm,omitempty,omitzero" doc:"How far the pattern overhangs a flat parting at its worst"`
	UndercutAt string  `json:"undercut_at,omitempty" doc:"Where that is"`
	SlopeDeg   float64 `json:"slope_deg,omitempty,omitzero" doc:"Steepest slope of a stepped parting; 0 for a flat one"`
	CaughtMM   float64 `json:"caught_mm,omitempty,omitzero" doc:"Height of the clay that is caught between two parts of the pattern at its worst; 0 where none is"`
	CaughtAt   string  `json:"caught_at,omitempty" doc:"Where that is"`
	UprightMM  float64 `json:"upright_mm" doc:"Height of the tallest upright wall in one half, which has no draft"`
	Remedy     string  `json:"remedy,omitempty" doc:"What to do; absent where nothing is to be done"`
}

var srcParting = calc.Source{For: "whether a pattern can be drawn", Text: "lines along the draw through the solid: one stretch of metal each and a common height for a flat parting, one stretch each for a stepped one. Geometry of the solid, to the step of the lines", Status: calc.Computed}

var srcDraft = calc.Source{For: "steepest stepped parting, tallest wall without draft", Text: "45 degrees: steeper edges of clay tear; 3 mm: a taller upright wall sticks. Our choice; the trade asks for some draft on upright walls", Status: calc.Choice}

const (
	steepestParting = 45.0
	tallestUpright  = 3.0 // mm
	drawLines       = 220 // along the longer side of the plan
	caughtShare     = 0.002
)

// columns are the stretches of metal along the draw over a square net.
type columns struct {
	ny, nz    int
	step      float64
	low, high []float64 // NaN where there is no metal
	caught    []float64 // height of clay between two stretches
	y0, z0    float64
	filled    int
}

// Parted finds how the pattern parts when it is drawn along z.
// Error: a step of the net, 1/220 of the plan's longer side.
func (b *Body) Parted(ctx context.Context) (Parting, error) {
	m := b.Solid()
	net := look(ctx, moved(m, r3.Vec{}, r3.Vec{Z: 1}, r3.Vec{X: 1}, r3.Vec{Y: 1}))
	if ctx.Err() != nil {
		return Parting{}, ctx.Err()
	}
	p := Parting{Draws: true, Parting: "flat"}
	height, overhang, at := net.plane()
	low, high := m.Bounds()
	p.HeightMM = hundredths(height - (low.Z+high.Z)/2)
	if overhang > 1.5*net.step {
		p.UndercutMM, p.UndercutAt = hundredths(overhang), b.where(at)
		p.Parting = "stepped"
		p.SlopeDeg = math.Round(net.slope())
	}
	flat := p.Parting == "flat"
	tall, at := upright(m, func(p r3.Vec) float64 {
		if flat {
			return height
		}
		return net.middle(p)
	})
	p.UprightMM = hundredths(tall)
	worst, share, where := net.trapped()
	switch {
	case share > caughtShare:
		p.Draws, p.Parting = false, "loose_piece"
		p.CaughtMM, p.CaughtAt = hundredths(worst), b.where(where)
		p.Remedy = fmt.Sprintf("Clay is caught %s, %.1f mm high: make it a loose piece that is drawn sideways, fill the hollow of the pattern with wax, or drill it afterwards.", p.CaughtAt, worst)
		if way := freeWay(ctx, m); way != "" {
			p.Parting = "turn"
			p.Remedy = fmt.Sprintf("Turn the pattern so that it is drawn along its %s: no clay is caught then. Else clay is caught %s and needs a loose piece.", way, p.CaughtAt)
		}
	case p.Parting == "stepped" && p.SlopeDeg > steepestParting:
		p.Draws, p.Parting = false, "loose_piece"
		p.Remedy = fmt.Sprintf("The widest line climbs at %.0f degrees, too steep for an edge of clay: press it flat and let it be bent afterwards, or make loose pieces at the steep places.", p.SlopeDeg)
	case p.Parting == "stepped":
		p.Remedy = fmt.Sprintf("Cut the clay of the first half to the widest line of the pattern, up and down, before the second half is rammed; a flat parting would catch %.1f mm %s.", p.UndercutMM, p.UndercutAt)
	case tall > tallestUpright+0.05:
		p.Remedy = fmt.Sprintf("The wall %s stands upright for %.1f mm in one half: give the pattern one or two degrees of draft there, powder it, and draw it straight.", b.where(at), tall)
	}
	return p, nil
}

// hundredths of a mm are less than a step of the lines; 0 is never negative.
func hundredths(mm float64) float64 { return math.Round(100*mm)/100 + 0 }

// Sources of the parting.
func (p *Parting) Sources() []calc.Source { return []calc.Source{srcParting, srcDraft} }

// look pierces the solid along its x axis.
func look(ctx context.Context, m *mesh.Mesh) *columns {
	low, high := m.Bounds()
	size := r3.Sub(high, low)
	c := &columns{step: max(size.Y, size.Z) / drawLines}
	c.ny, c.nz = int(size.Y/c.step)+2, int(size.Z/c.step)+2
	c.y0, c.z0 = low.Y-0.31*c.step, low.Z-0.37*c.step
	lines := m.Lines(ctx, c.y0, c.z0, c.step, c.ny, c.nz)
	if ctx.Err() != nil {
		return c
	}
	n := c.ny * c.nz
	c.low, c.high, c.caught = make([]float64, n), make([]float64, n), make([]float64, n)
	for iz := range c.nz {
		for iy := range c.ny {
			i := iz*c.ny + iy
			c.low[i], c.high[i] = math.NaN(), math.NaN()
			lines.Stretches(iy, iz, func(from, to float64) {
				if math.IsNaN(c.low[i]) {
					c.low[i] = from
					c.filled++
				} else if gap := from - c.high[i]; gap > 0.02*size.X {
					c.caught[i] = max(c.caught[i], gap)
				}
				c.high[i] = to
			})
		}
	}
	return c
}

func (c *columns) point(i int, height float64) r3.Vec {
	return r3.Vec{X: c.y0 + float64(i%c.ny)*c.step, Y: c.z0 + float64(i/c.ny)*c.step, Z: height}
}

// middle is the mean height of the metal at the line nearest to a place.
func (c *columns) middle(p r3.Vec) float64 {
	y := min(max(int(math.Round((p.X-c.y0)/c.step)), 0), c.ny-1)
	z := min(max(int(math.Round((p.Y-c.z0)/c.step)), 0), c.nz-1)
	for reach := range 3 {
		for dz := -reach; dz <= reach; dz++ {
			for dy := -reach; dy <= reach; dy++ {
				yy, zz := y+dy, z+dz
				if yy < 0 || yy >= c.ny || zz < 0 || zz >= c.nz {
					continue
				}
				if i := zz*c.ny + yy; !math.IsNaN(c.low[i]) {
					return (c.low[i] + c.high[i]) / 2
				}
			}
		}
	}
	return p.Z
}

// plane finds the height that most lines cross within metal, and how far the
// others overhang it.
func (c *columns) plane() (height, overhang float64, at r3.Vec) {
	bottom, top := math.Inf(1), math.Inf(-1)
	for i := range c.low {
		if !math.IsNaN(c.low[i]) {
			bottom, top = min(bottom, c.low[i]), max(top, c.high[i])
		}
	}
	slack := 1e-4 * (top - bottom)
	meets := func(i int, h float64) bool { return c.low[i] <= h+slack && c.high[i] >= h-slack }
	most := -1
	const heights = 80
	for k := range heights + 1 {
		// From the middle outwards, so that of equal heights the most central is taken.
		off := float64((k+1)/2) / heights * (top - bottom)
		h := (bottom+top)/2 + map[bool]float64{true: off, false: -off}[k%2 == 0]
		count := 0
		for i := range c.low {
			if meets(i, h) {
				count++
			}
		}
		if count > most {
			most, height = count, h
		}
	}
	far := c.away(func(i int) bool { return meets(i, height) })
	for i, d := range far {
		if !math.IsNaN(c.low[i]) && d > overhang {
			overhang, at = d, c.point(i, (c.low[i]+c.high[i])/2)
		}
	}
	return height, overhang, at
}

// away is the distance of every line from the nearest chosen one, in mm: two
// passes over the net with steps of 1 and √2 (chamfer distance, up to 8 % long).
func (c *columns) away(chosen func(i int) bool) []float64 {
	d := make([]float64, len(c.low))
	for i := range d {
		d[i] = math.Inf(1)
		if chosen(i) {
			d[i] = 0
		}
	}
	pass := func(from, to, by int, steps [4][2]int) {
		for i := from; i != to; i += by {
			y, z := i%c.ny, i/c.ny
			for _, s := range steps {
				if yy, zz := y+s[0], z+s[1]; yy >= 0 && yy < c.ny && zz >= 0 && zz < c.nz {
					d[i] = min(d[i], d[zz*c.ny+yy]+c.step*math.Hypot(float64(s[0]), float64(s[1])))
				}
			}
		}
	}
	pass(0, len(d), 1, [4][2]int{{-1, 0}, {-1, -1}, {0, -1}, {1, -1}})
	pass(len(d)-1, -1, -1, [4][2]int{{1, 0}, {1, 1}, {0, 1}, {-1, 1}})
	return d
}

// slope is the steepest slope in degrees of the parting along the edge of the
// plan, over a base of eight steps.
func (c *columns) slope() float64 {
	const base = 8
	edge := func(i int) bool {
		y, z := i%c.ny, i/c.ny
		if math.IsNaN(c.low[i]) {
			return false
		}
		for _, s := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			yy, zz := y+s[0], z+s[1]
			if yy < 0 || yy >= c.ny || zz < 0 || zz >= c.nz || math.IsNaN(c.low[zz*c.ny+yy]) {
				return true
			}
		}
		return false
	}
	steep := 0.0
	for i := range c.low {
		if !edge(i) {
			continue
		}
		y, z := i%c.ny, i/c.ny
		for dy := -base; dy <= base; dy++ {
			for _, dz := range [2]int{base, -base} {
				for _, to := range [2][2]int{{y + dy, z + dz}, {y + dz, z + dy}} {
					if to[0] < 0 || to[0] >= c.ny || to[1] < 0 || to[1] >= c.nz {
						continue
					}
					k := to[1]*c.ny + to[0]
					if k <= i || !edge(k) {
						continue
					}
					rise := math.Abs(c.low[i]+c.high[i]-c.low[k]-c.high[k]) / 2
					steep = max(steep, rise/(c.step*math.Hypot(float64(to[0]-y), float64(to[1]-z))))
				}
			}
		}
	}
	return math.Atan(steep) * 180 / math.Pi
}

// trapped is the tallest clay between two stretches of metal, the share of the
// lines where there is any, and the place.
func (c *columns) trapped() (worst, share float64, at r3.Vec) {
	count := 0
	for i, h := range c.caught {
		if h > 0 {
			count++
		}
		if h > worst {
			worst, at = h, c.point(i, (c.low[i]+c.high[i])/2)
		}
	}
	return worst, float64(count) / float64(max(c.filled, 1)), at
}

// freeWay names the way along which no clay is caught, if there is one.
func freeWay(ctx context.Context, m *mesh.Mesh) string {
	x, y, z := r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{Z: 1}
	for _, w := range []struct {
		name    string
		a, b, c r3.Vec
	}{{"length", x, y, z}, {"width", y, z, x}} {
		net := look(ctx, moved(m, r3.Vec{}, w.a, w.b, w.c))
		if ctx.Err() != nil {
			return ""
		}
		if _, share, _ := net.trapped(); share <= caughtShare {
			return w.name
		}
	}
	return ""
}

// upright is the height of the tallest wall within a degree of upright, above
// or below the parting, and its place.
func upright(m *mesh.Mesh, parting func(r3.Vec) float64) (tallest float64, at r3.Vec) {
	for t := range m.T {
		a, b, c := m.Corners(t)
		n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		if l := r3.Norm(n); l < 1e-6 || math.Abs(n.Z) > l*math.Sin(math.Pi/180) {
			continue
		}
		for _, p := range [3]r3.Vec{a, b, c} {
			if h := math.Abs(p.Z - parting(p)); h > tallest {
				tallest, at = h, p
			}
		}
	}
	return tallest, at
}

// where says in words where a place of the piece lies.
func (b *Body) where(p r3.Vec) string {
	best, nearest := Station{}, math.Inf(1)
	for _, s := range b.Stations(wearStations) {
		if d := r3.Norm(r3.Sub(p, s.Centre)); d < nearest {
			best, nearest = s, d
		}
	}
	if l, ok := b.Loop(); ok && math.Abs(r3.Norm(r3.Vec{X: p.X - l.Centre.X, Y: p.Y - l.Centre.Y})-l.Radius) < l.WireMM {
		return "in the bail"
	}
	return b.Where(best.AtPct)
}

// Where says in words where a place in percent of the way lies: on a closed
// band as on a clock whose 12 is the gate, else in mm from its start.
func (b *Body) Where(atPct float64) string {
	switch {
	case b.Closed():
		return "at " + Clock(atPct) + " (12 is the gate)"
	case b.Kind == Cuff:
		return Along(atPct, b.LengthMM(), "first end", "second end")
	}
	return Along(atPct, b.LengthMM(), "gate", "far end")
}

// Along is a place in percent of an open way, in mm from its start; within half
// a mm of an end, that end.
func Along(atPct, lengthMM float64, first, last string) string {
	switch at := atPct / 100 * lengthMM; {
	case at < 0.5:
		return "at the " + first
	case lengthMM-at < 0.5:
		return "at the " + last
	default:
		return fmt.Sprintf("%.0f mm from the %s", at, first)
	}
}

// Clock is a place in percent of the way round a closed band, as on a clock
// whose 12 is the gate, to the half hour.
func Clock(atPct float64) string {
	half := int(math.Round(atPct/100*24)) % 24
	hour := (half/2+11)%12 + 1
	if half%2 == 1 {
		return fmt.Sprintf("half past %d", hour)
	}
	return fmt.Sprintf("%d o'clock", hour)
}

// Around is a place in percent of the way round a closed band of a length: mm from
// the gate the shorter way, and the hour.
func Around(atPct, lengthMM float64) string {
	if atPct > 50 {
		return fmt.Sprintf("%.0f mm from the gate anticlockwise, at %s", (100-atPct)/100*lengthMM, Clock(atPct))
	}
	return fmt.Sprintf("%.0f mm from the gate clockwise, at %s", atPct/100*lengthMM, Clock(atPct))
}
