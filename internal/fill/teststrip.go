package fill

import (
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fill/network"
	"pourwright/internal/section"
)

// TestStrip is a strip of one thickness, or a wedge that tapers, poured to
// learn how far metal runs.
type TestStrip struct {
	LengthMM        float64  `json:"length_mm" minimum:"20" maximum:"240" doc:"Length from the sprue to the far end" example:"100"`
	WidthMM         float64  `json:"width_mm" minimum:"4" maximum:"60" default:"12" doc:"Width"`
	FootMM          float64  `json:"foot_mm" minimum:"0.4" maximum:"10" doc:"Thickness at the sprue" example:"1.2"`
	TipMM           *float64 `json:"tip_mm,omitempty" minimum:"0.1" maximum:"10" doc:"Thickness at the far end of a wedge; absent for a strip of one thickness" example:"0.3"`
	Posture         string   `json:"posture" enum:"lying,standing" default:"lying" doc:"lying: level; standing: hanging under its sprue"`
	SprueLengthMM   float64  `json:"sprue_length_mm" minimum:"2" maximum:"200" default:"20" doc:"Length of the sprue from funnel to strip"`
	SprueDiameterMM float64  `json:"sprue_diameter_mm" minimum:"1" maximum:"30" default:"6" doc:"Diameter of the sprue"`
	FunnelHeadMM    float64  `json:"funnel_head_mm" minimum:"0" maximum:"80" default:"12" doc:"Depth of metal kept in the funnel"`
	FunnelWideMM    float64  `json:"funnel_diameter_mm" minimum:"2" maximum:"80" default:"18" doc:"Mean diameter of the metal in the funnel"`
	VentCount       int      `json:"vent_count" minimum:"0" maximum:"12" default:"2" doc:"Vents at its far end"`
	Alloy           string   `json:"alloy" default:"silver-925" doc:"Alloy by its id, or a composition"`
	PourC           *float64 `json:"pour_c,omitempty" minimum:"100" maximum:"2000" doc:"Temperature of the metal as it enters the funnel; 100 K over the liquidus if absent"`
	ClayC           float64  `json:"clay_c" minimum:"-20" maximum:"300" default:"25" doc:"Temperature of the clay"`
	Hand            string   `json:"hand" enum:"practised,beginner" default:"practised" doc:"As for fills"`
	PourTimeS       *float64 `json:"pour_time_s,omitempty" minimum:"0.1" maximum:"30" doc:"Time from the first metal in the funnel until strip, sprue and funnel are full, as read from a video" example:"1.1"`
}

// PouredStrip is a test strip and how far it ran.
type PouredStrip struct {
	TestStrip
	ReachedMM float64 `json:"reached_mm" minimum:"0" maximum:"240" doc:"How far the metal ran from the sprue, over most of the width; length_mm where the strip is full" example:"62"`
}

// Of test strips. Our choice.
const (
	reachError = 0.15 // relative error of a run by the model and by the rounded tip
	fullShare  = 0.97 // of the length, from which a strip counts as full
)

// input is the strip as a bar that is fed from one end.
func (t *TestStrip) input() In {
	in := calc.Default[In]()
	in.Piece, in.LengthMM, in.Improvements = "bar", t.LengthMM, false
	in.Section = section.Section{Shape: section.Rectangular, ThicknessMM: t.FootMM, WidthMM: t.WidthMM}
	if t.TipMM != nil && *t.TipMM < t.FootMM {
		tip := in.Section
		tip.ThicknessMM = *t.TipMM
		in.Stations = section.Profile{{AtPct: 0, Section: in.Section}, {AtPct: 100, Section: tip}}
	}
	in.Posture, in.VentCount = t.Posture, t.VentCount
	in.SprueLengthMM, in.SprueDiameterMM = t.SprueLengthMM, t.SprueDiameterMM
	in.FunnelHeadMM, in.FunnelDiameterMM = t.FunnelHeadMM, t.FunnelWideMM
	in.Alloy, in.PourC, in.ClayC, in.Hand, in.PourTimeS = t.Alloy, t.PourC, t.ClayC, t.Hand, t.PourTimeS
	return in
}

func (t *TestStrip) check() error {
	var c calc.Checks
	c.Bounds(*t)
	if t.TipMM != nil && *t.TipMM > t.FootMM {
		c.Refuse("tip_mm", *t.TipMM, "give at most foot_mm, %g mm", t.FootMM)
	}
	return c.Err()
}

func (t *PouredStrip) check() error {
	var c calc.Checks
	c.Under("", t.TestStrip.check())
	c.Bounds(*t)
	if t.ReachedMM > t.LengthMM {
		c.Refuse("reached_mm", t.ReachedMM, "give at most length_mm, %g mm", t.LengthMM)
	}
	return c.Err()
}

// class of a strip that ran over a share of its length.
func reachClass(share float64) int {
	if share >= fullShare {
		return full
	}
	return min(reachClasses, 1+int(share*reachClasses))
}

// filled is the share of the piece that comes out, by volume or length of its
// cells: of those that are pressed full with heat left.
func (w *run) filled(size func(c *network.Cell) float64) float64 {
	stop := w.StopEnthalpy()
	span := w.poured.Enthalpy - stop
	out, all := 0.0, 0.0
	for i := range w.cells {
		c := &w.cells[i]
		if c.Piece == network.NoPiece {
			continue
		}
		all += size(c)
		if !math.IsNaN(c.Pressed) {
			out += size(c) * (1 - soft((c.Coldest-stop)/span))
		}
	}
	return out / all
}

// strip reads a member's run: the chances of the classes, and how likely it
// reaches what was seen. A run ends where the model says within reachError, at
// least a fiftieth of the length.
func (w *run) strip(o *outcome, seen float64) (r reading) {
	other := w.job.other()
	reach := w.filled(func(c *network.Cell) float64 { return c.Size })
	whole := 1 - soft(o.misrun)
	spread := max(0.02, reachError*reach)
	below := func(share float64) float64 { return math.Erfc((reach-share)/spread/math.Sqrt2) / 2 }
	r.chances[full] = whole * (1 - other)
	last := 0.0
	for k := 1; k <= reachClasses; k++ {
		p := 1.0
		if k < reachClasses {
			p = below(float64(k) / reachClasses)
		}
		r.chances[k] = (1-whole)*(1-other)*(p-last) + other/reachClasses
		last = p
	}
	if seen >= fullShare {
		r.likely = r.chances[full]
		return r
	}
	gap := (seen - reach) / spread
	r.likely = (1-whole)*(1-other)*math.Exp(-gap*gap/2) + other*spread*math.Sqrt(2*math.Pi)
	return r
}

// Of candidates: thicknesses about the thinnest place of the piece, and sizes
// that a flask holds. Our choice.
var (
	aboutThinnest  = []float64{0.75, 1, 1.4}
	leastStripMM   = 0.5
	longestStripMM = 120.0
)

// candidates are the strips and wedges to choose from: as long as the way from
// the gate, about as thick as the thinnest place, lying and standing.
func (j *job) candidates() []TestStrip {
	thin, wide := math.Inf(1), 0.0
	for _, s := range j.profile {
		if s.ThicknessMM < thin {
			thin, wide = s.ThicknessMM, s.Width()
		}
	}
	way := 1e3 * j.length
	if j.in.isBand() {
		way /= 2
	}
	in := &j.in
	strip := TestStrip{LengthMM: math.Round(min(max(way, 30), longestStripMM)), WidthMM: math.Round(min(max(wide, 5), 15)),
		SprueLengthMM: in.SprueLengthMM, SprueDiameterMM: in.SprueDiameterMM, FunnelHeadMM: in.FunnelHeadMM, FunnelWideMM: in.FunnelDiameterMM,
		VentCount: in.VentCount, Alloy: in.Alloy, PourC: in.PourC, ClayC: in.ClayC, Hand: in.Hand}
	tenth := func(v float64) float64 { return math.Round(10*v) / 10 }
	var out []TestStrip
	for _, posture := range []string{"lying", "standing"} {
		strip.Posture = posture
		last := 0.0
		for _, times := range aboutThinnest {
			s := strip
			if s.FootMM = tenth(min(max(times*thin, leastStripMM), 6)); s.FootMM > last {
				out = append(out, s)
			}
			last = s.FootMM
		}
		wedge := strip
		wedge.FootMM, wedge.TipMM = tenth(min(max(2*thin, 1.5), 6)), ptr(0.3)
		out = append(out, wedge)
	}
	return out
}

// words describe a strip.
func (t *TestStrip) words() string {
	form := fmt.Sprintf("strip %.3g mm thick", t.FootMM)
	if t.TipMM != nil {
		form = fmt.Sprintf("wedge from %.3g to %.2g mm", t.FootMM, *t.TipMM)
	}
	return fmt.Sprintf("a %s %s, %.0f mm wide and %.0f mm long", t.Posture, form, t.WidthMM, t.LengthMM)
}

// former asks for its solid.
func (t *TestStrip) former() FormerOf {
	f := FormerOf{"wedge", t.LengthMM, t.WidthMM, t.FootMM, t.FootMM}
	if t.TipMM != nil {
		f.WedgeTipMM = *t.TipMM
	}
	return f
}
