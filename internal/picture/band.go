package picture

import (
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/draw"
	"pourwright/internal/section"
)

// Band is a ring, a bangle or a cuff. Places along it are percent of its
// length, clockwise from where it starts.
type Band struct {
	Name           string  // "Bangle, finished size"
	InsideWidthMM  float64 // inside, across
	InsideHeightMM float64 // inside, from top to bottom; 0: as the width (round)
	GapMM          float64 // opening of a cuff, measured along the inside; 0: closed
	StartDeg       float64 // where 0 % is, anticlockwise from the right: 90 at the top, −90 at the bottom; the middle of a cuff's gap
	Profile        section.Profile
	Stones         []SetStone
}

// SetStone is a stone in the outer face of a band.
type SetStone struct {
	AtPct      float64
	DiameterMM float64 // length along the band
	DepthMM    float64 // table to culet; 0: 0.6 of the diameter
	Label      string
}

// Check refuses a band that is not one.
func (b Band) Check() error {
	var c calc.Checks
	c.Within("inside_width_mm", b.InsideWidthMM, 1, 500, "mm")
	if b.InsideHeightMM != 0 {
		c.Within("inside_height_mm", b.InsideHeightMM, 1, 500, "mm")
	}
	c.Within("start_deg", b.StartDeg, -360, 360, "degrees")
	c.Under("profile", b.Profile.Check())
	if len(b.Stones) > 400 {
		c.Refuse("stones", len(b.Stones), "give at most 400")
	}
	for i, s := range b.Stones {
		at := fmt.Sprintf("stones[%d].", i)
		c.Within(at+"at_pct", s.AtPct, 0, 100, "percent of the length")
		c.Within(at+"diameter_mm", s.DiameterMM, 0.2, 60, "mm")
		c.Within(at+"depth_mm", s.DepthMM, 0, 60, "mm")
	}
	if c.Err() == nil {
		c.Within("gap_mm", b.GapMM, 0, 0.9*b.course().length, "mm")
	}
	return c.Err()
}

func (b Band) insideHeight() float64 {
	if b.InsideHeightMM == 0 {
		return b.InsideWidthMM
	}
	return b.InsideHeightMM
}

// course is the inside face of a band as a curve measured by its length.
type course struct {
	a, b, start float64   // half-axes and the angle of the start on the ellipse
	at          []float64 // length from the start at even steps of the parameter, clockwise
	length, gap float64
}

const courseSteps = 720

func (b Band) course() course {
	k := course{a: b.InsideWidthMM / 2, b: b.insideHeight() / 2, gap: b.GapMM}
	sin, cos := math.Sincos(b.StartDeg * math.Pi / 180)
	k.start = math.Atan2(sin*k.a, cos*k.b) // the ellipse's parameter in the direction of the angle
	k.at = make([]float64, courseSteps+1)
	step := 2 * math.Pi / courseSteps
	for i := 1; i <= courseSteps; i++ {
		sin, cos := math.Sincos(k.start - (float64(i)-0.5)*step)
		k.at[i] = k.at[i-1] + step*math.Hypot(k.a*sin, k.b*cos)
	}
	k.length = k.at[courseSteps]
	return k
}

// place is the point of the inside face at a fraction of the band's length,
// in mm from the centre with y down, and the outward direction in degrees.
func (k course) place(f float64) (draw.Point, float64) {
	want := k.gap/2 + f*(k.length-k.gap)
	lo, hi := 0, courseSteps
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; k.at[mid] <= want {
			lo = mid
		} else {
			hi = mid
		}
	}
	u := float64(lo) + (want-k.at[lo])/(k.at[hi]-k.at[lo])
	sin, cos := math.Sincos(k.start - u*2*math.Pi/courseSteps)
	return draw.Point{X: k.a * cos, Y: -k.b * sin}, math.Atan2(k.a*sin, k.b*cos) * 180 / math.Pi
}

// Outside is a place so many mm outside the outer face at a percent of the
// length, from the centre with y down.
func (b Band) Outside(atPct, off float64) draw.Point {
	p, out := b.course().place(atPct / 100)
	return polarFrom(p, out, b.Profile.At(atPct/100).ThicknessMM+off)
}

// body is the band seen along its axis, about the origin, in mm: the outline,
// and for a closed one the hole.
func (b Band) body() [][]draw.Point {
	k := b.course()
	var inside, outside []draw.Point
	const steps = 180 // within 0.01 mm of the curve on a bangle
	for i := range steps + 1 {
		f := float64(i) / steps
		p, out := k.place(f)
		inside = append(inside, p)
		outside = append(outside, polarFrom(p, out, b.Profile.At(f).ThicknessMM))
	}
	if b.GapMM == 0 {
		return [][]draw.Point{outside[:steps], inside[:steps]}
	}
	ring := outside
	for i := len(inside) - 1; i >= 0; i-- {
		ring = append(ring, inside[i])
	}
	return [][]draw.Point{ring}
}

func polarFrom(p draw.Point, deg, r float64) draw.Point { return draw.Polar(p.X, p.Y, r, deg) }

func moved(rings [][]draw.Point, x, y, scale float64) [][]draw.Point {
	out := make([][]draw.Point, len(rings))
	for i, ring := range rings {
		for _, p := range ring {
			out[i] = append(out[i], draw.Point{X: x + scale*p.X, Y: y + scale*p.Y})
		}
	}
	return out
}

// thickest is the greatest thickness of a profile, which lies at a station.
func thickest(p section.Profile) float64 {
	t := 0.0
	for _, s := range p {
		t = math.Max(t, s.ThicknessMM)
	}
	return t
}

// DrawBand draws a band seen along its axis, with its stones, and the sections
// at its stations beside it.
func DrawBand(b Band, l Look) (*draw.Sheet, error) {
	var c calc.Checks
	c.Under("", b.Check())
	l.check(&c)
	if err := c.Err(); err != nil {
		return nil, err
	}
	const label, column, head, foot = 11.0, 44.0, 9.0, 12.0 // mm around the band, for the sections, above and below
	t := thickest(b.Profile)
	crown := 0.0
	for _, st := range b.Stones {
		crown = math.Max(crown, 0.17*st.DiameterMM)
	}
	wide, high := b.InsideWidthMM+2*(t+crown), b.insideHeight()+2*(t+crown)
	scale := 1.0
	if !l.True {
		room := l.width() - column - 2*label
		scale = niceScale(wide, high, room, 1.2*room)
	}
	bandW := scale*wide + 2*label
	sheetH := math.Max(scale*high+2*label, sectionsHeight(b)) + head + foot
	s := draw.NewSheet(math.Max(bandW+column, 60), sheetH)
	s.Title = b.Name
	s.Description = fmt.Sprintf("Band of %s inside width and %s inside height, %s, %s.",
		mm(b.InsideWidthMM), mm(b.insideHeight()), count(len(b.stations()), "section"), count(len(b.Stones), "stone"))
	s.Text(2, 5.5, b.Name, draw.TextStyle{SizePt: 10, Bold: true, FitMM: bandW + column - 4})

	cx, cy := bandW/2, head+(sheetH-head-foot)/2
	b.DrawOn(s, cx, cy, scale)
	b.drawStations(s, cx, cy, scale)
	insideMeasures(s, b, cx, cy, scale)
	b.drawSections(s, bandW+2, head, column-4)

	if l.True {
		s.ScaleBar(3, sheetH-foot+2, math.Min(100, 10*math.Floor((bandW+column-6)/10)))
	} else {
		s.Text(2, sheetH-2.5, "Scale "+ratio(scale), quiet)
	}
	return s, s.Err()
}

// DrawOn draws the band seen along its axis, with its stones, about a centre
// on a sheet; 1 is true size. Check the band first.
func (b Band) DrawOn(s *draw.Sheet, cx, cy, scale float64) {
	body := moved(b.body(), cx, cy, scale)
	s.Area(body, draw.Filled(cast))
	s.Hatch(body, 1.4, 45, draw.Stroke(draw.Grey(0.55), 0.1))
	s.Area(body, ink)
	b.drawStones(s, cx, cy, scale)
}

func insideMeasures(s *draw.Sheet, b Band, cx, cy, scale float64) {
	fine := draw.Stroke(draw.Grey(0.25), 0.15)
	half := scale * b.InsideWidthMM / 2
	s.Arrow(cx, cy, cx-half, cy, fine)
	s.Arrow(cx, cy, cx+half, cy, fine)
	st := caption
	st.Align, st.FitMM = draw.Centre, 1.8*half
	if section.Circular(b.insideHeight(), b.InsideWidthMM) {
		s.Text(cx, cy-1.2, "⌀ "+mm(b.InsideWidthMM)+" inside", st)
		return
	}
	s.Text(cx-half/2, cy-1.2, mm(b.InsideWidthMM), draw.TextStyle{SizePt: 8.5, Align: draw.Centre, FitMM: 0.9 * half})
	high := scale * b.insideHeight() / 2
	s.Arrow(cx, cy, cx, cy-high, fine)
	s.Arrow(cx, cy, cx, cy+high, fine)
	s.Text(cx-1.2, cy-high/2, mm(b.insideHeight()), draw.TextStyle{SizePt: 8.5, Align: draw.Centre, TurnDeg: 90, FitMM: 0.9 * high})
}

// drawStones draws each stone from its side, its girdle in the outer face.
// The form is a sign for a faceted stone, not its cut: crown a quarter of the
// depth, table 0.55 of the width.
func (b Band) drawStones(s *draw.Sheet, cx, cy, scale float64) {
	k := b.course()
	for _, st := range b.Stones {
		p, out := k.place(st.AtPct / 100)
		girdle := polarFrom(p, out, b.Profile.At(st.AtPct/100).ThicknessMM)
		depth := st.DepthMM
		if depth == 0 {
			depth = 0.6 * st.DiameterMM
		}
		d, crown := st.DiameterMM, depth/4
		form := []draw.Point{{X: -d / 2}, {X: -0.275 * d, Y: crown}, {X: 0.275 * d, Y: crown}, {X: d / 2}, {Y: crown - depth}}
		x, y := cx+scale*girdle.X, cy+scale*girdle.Y
		outline := draw.Style{Line: draw.Black, WidthMM: 0.2, Fill: gem}
		s.Polygon(placed(form, x, y, out, scale), outline)
		ends := placed(form[:1], x, y, out, scale)
		other := placed(form[3:4], x, y, out, scale)
		s.Line(ends[0].X, ends[0].Y, other[0].X, other[0].Y, draw.Stroke(draw.Black, 0.12))
		at := draw.Polar(x, y, scale*crown+2.6, out)
		s.Text(at.X, at.Y, st.Label, draw.TextStyle{SizePt: 7, Align: draw.Centre, Middle: true, FitMM: 8})
	}
}

// letter names a station: A, B, … Z, AA, AB …
func letter(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return letter(i/26-1) + letter(i%26)
}

// stations are those to show: the end of a closed band is its start.
func (b Band) stations() section.Profile {
	last := len(b.Profile) - 1
	first := b.Profile[0]
	if b.GapMM == 0 && last > 0 && first.AtPct == 0 && b.Profile[last].AtPct == 100 && b.Profile[last].Section == first.Section {
		return b.Profile[:last]
	}
	return b.Profile
}

func (b Band) drawStations(s *draw.Sheet, cx, cy, scale float64) {
	k := b.course()
	for i, st := range b.stations() {
		p, out := k.place(st.AtPct / 100)
		in := polarFrom(draw.Point{X: cx + scale*p.X, Y: cy + scale*p.Y}, out, -1.5)
		end := polarFrom(draw.Point{X: cx + scale*p.X, Y: cy + scale*p.Y}, out, scale*st.ThicknessMM+1.5)
		s.Line(in.X, in.Y, end.X, end.Y, draw.Stroke(draw.Black, 0.2, 1.2, 0.5, 0.3, 0.5))
		at := polarFrom(in, out, -2.2)
		s.Text(at.X, at.Y, letter(i), draw.TextStyle{SizePt: 8, Bold: true, Align: draw.Centre, Middle: true})
	}
}

const sectionRow = 21.0 // mm a section takes in its column

// shown is how many sections the column shows; a band of more stations is
// told apart well enough by these.
const shown = 8

func sectionsHeight(b Band) float64 { return float64(min(shown, len(b.stations())))*sectionRow + 5 }

func (b Band) drawSections(s *draw.Sheet, x, y, width float64) {
	wide, high := 0.0, 0.0
	for _, st := range b.Profile {
		wide, high = math.Max(wide, st.Width()), math.Max(high, st.ThicknessMM)
	}
	scale := niceScale(wide, high, width-8, sectionRow-10)
	s.Text(x, y+2, "Sections "+ratio(scale)+", outside up", quiet)
	stations := b.stations()
	for i, st := range stations[:min(shown, len(stations))] {
		foot := y + 3 + float64(i+1)*sectionRow - 7
		form := [][]draw.Point{placed(outline(st.Section), x+7+(width-8)/2, foot, 90, scale)}
		s.Area(form, draw.Filled(cast))
		s.Hatch(form, 1.0, 45, draw.Stroke(draw.Grey(0.45), 0.1))
		s.Area(form, ink)
		s.Text(x, foot, letter(i), draw.TextStyle{SizePt: 9, Bold: true})
		where := draw.Number(st.AtPct) + " %"
		if len(b.Profile) == 1 {
			where = "throughout"
		}
		size := draw.Number(st.ThicknessMM) + " × " + mm(st.Width())
		if st.Shape == section.Round {
			size = "⌀ " + mm(st.ThicknessMM)
		}
		s.Text(x+7+(width-8)/2, foot+3.6, where+": "+size, draw.TextStyle{SizePt: 7.5, Align: draw.Centre})
	}
	if more := len(stations) - shown; more > 0 {
		s.Text(x, y+sectionsHeight(b)-1, fmt.Sprintf("and %d more stations", more), quiet)
	}
}
