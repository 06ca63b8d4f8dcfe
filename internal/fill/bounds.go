package fill

import (
	"math"

	"pourwright/internal/fill/front"
	"pourwright/internal/section"
)

// bounds gives the two answers of the closed formula in the mean section at
// the planned speed. A front that always meets fresh clay is held by the
// interface alone (M. C. Flemings 1974 ch. 7 with B = 0); one that met clay
// warmed for as long as it has run itself would be held by interface and
// clay in series. The followed front lies between: fresh clay ahead, but the
// column behind mixes into it.
func (w *run) bounds(n *Nominal) {
	j := w.job
	area, perimeter := j.profile.Mean(section.Section.Area)/1e6, j.profile.Mean(section.Section.Perimeter)/1e3
	streams := 1.0
	if j.in.isBand() || j.in.SprueCount == 2 {
		streams = 2 * float64(j.in.SprueCount)
		if !j.in.isBand() {
			streams = 2
		}
	}
	v := w.pour.Rate / streams / area
	from, to := w.pour.Enthalpy, w.metal.AtSolid(w.drawn.choke)
	if first := w.place(0); !math.IsNaN(first.Arrived) {
		from = max(first.ArrivedAt, to) // after the sprue
	}
	mean := (w.metal.Temperature(from) + w.metal.Temperature(to)) / 2
	heat := w.metal.Rho * area / perimeter * (from - to) / (mean - w.clay.StartC)
	n.ReachBareMM = 1e3 * v * heat / w.clay.H
	n.ReachWarmMM = 1e3 * v * w.clay.TimeFor(heat, perimeter)
	longest := 0.0
	for _, d := range j.mould.Ducts {
		way := d.Length
		if d.To != front.NoGate {
			way /= 2
		}
		longest = math.Max(longest, way)
	}
	n.NeedMM = 1e3 * longest
}
