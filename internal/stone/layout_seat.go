package stone

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/section"
)

// head is the head of metal in mm at a direction: in a standing flask it
// grows from the sprue downwards.
func (r ring) head(deg float64) float64 {
	if r.in.Flask == "lying" {
		return r.in.HeadMM
	}
	return r.in.HeadMM + r.face*(1-math.Cos((deg-r.in.SprueDeg)*math.Pi/180))
}

// seatAll finds what each stone needs where it stands, and its place across.
func (r ring) seatAll(ctx context.Context, out *LayoutOut) {
	for i := range out.Stones {
		if ctx.Err() != nil {
			return
		}
		s := &out.Stones[i]
		local := r.in.Profile.At(s.AtDeg / 360)
		s.HeadMM, s.ThicknessMM = r.head(s.AtDeg), local.ThicknessMM
		s.AlongMM = r.along(s.AtDeg)
		c := capillary{r.alloy.SurfaceTensionNM(r.in.MetalC), r.alloy.LiquidDensityKgM3(r.in.MetalC), s.HeadMM}
		g := grainsFor(s.body, c, r.in.Grains, 0, softYield(r.alloy), 0)
		s.GrainMM, s.GrainsFill = g.DiameterMM, g.Fills
		s.seat = seatFor(s.body, s.body.volume(), site{local, r.in.InsideDiameterMM/2 + local.ThicknessMM, s.WidthMM}, c, g, 50, 0)
		out.DisplacedMM3 += s.seat.DisplacedMM3
		s.NeedsMM, s.PressMM = s.seat.ThicknessMinMM, s.seat.PressMM
		s.SprueMM = r.clear(s.AtDeg, s.LengthMM, r.in.SprueDeg, r.in.SprueWidthMM)
		for _, v := range r.in.VentsDeg {
			if d := r.clear(s.AtDeg, s.LengthMM, v, r.in.VentWidthMM); s.VentMM == nil || d < *s.VentMM {
				s.VentMM = &d
			}
		}
		if r.in.Rows != "middle" {
			// a grain beside it must clear the parting line too
			offset, _ := grainOffset(s.body, s.GrainMM/2)
			reach := max(s.WidthMM/2, (s.WidthMM/2+offset)*math.Sqrt2/2+s.GrainMM/2)
			s.AcrossMM = reach + partingMM
			if s.Row == 2 {
				s.AcrossMM = -s.AcrossMM
			}
		}
	}
	// a row runs straight: the widest stone decides
	for row := 1; row <= 2; row++ {
		widest := 0.0
		for _, s := range out.Stones {
			if s.Row == row {
				widest = max(widest, math.Abs(s.AcrossMM))
			}
		}
		for i := range out.Stones {
			if s := &out.Stones[i]; s.Row == row {
				s.AcrossMM = math.Copysign(widest, s.AcrossMM)
			}
		}
	}
}

func (r ring) along(deg float64) float64 { return r.face * deg * math.Pi / 180 }

// next returns the index of the stone after i in its row, and the arc in
// degrees to it; false for the last of an arc or a lone stone.
func (r ring) next(stones []PlacedStone, i int) (int, float64, bool) {
	j := i + 1
	if j == len(stones) || stones[j].Row != stones[i].Row {
		if r.in.ArcDeg < 360 {
			return 0, 0, false
		}
		for j = i; j > 0 && stones[j-1].Row == stones[i].Row; j-- {
		}
	}
	if j == i {
		return 0, 0, false
	}
	return j, wrap(stones[j].AtDeg - stones[i].AtDeg), true
}

// gap is the gap in mm between the girdles of neighbours an arc apart, at the outer face.
func (r ring) gap(a, b PlacedStone, arcDeg float64) float64 {
	return 2 * r.radius * math.Sin((arcDeg-r.halfDeg(a.LengthMM)-r.halfDeg(b.LengthMM))*math.Pi/360)
}

// judge gathers what does not work.
func (r ring) judge(out *LayoutOut) {
	for i := range out.Stones {
		s := &out.Stones[i]
		r.judgePlace(out, s)
		if j, arc, ok := r.next(out.Stones, i); ok {
			gap := r.gap(*s, out.Stones[j], arc)
			s.GapMM = &gap
			if out.LeastGapMM == nil || gap < *out.LeastGapMM {
				out.LeastGapMM = &gap
			}
			if gap < 0 {
				out.fault("stones_touch", "stones overlap by %.2f mm", -gap, s.Number, out.Stones[j].Number)
			}
		}
	}
	r.judgeGrains(out)
	r.flow(out)
	out.Count, out.Fits = len(out.Stones), len(out.Faults) == 0
}

// flow finds where stones together take most from the channel: at the middle of
// one of them.
func (r ring) flow(out *LayoutOut) {
	out.FlowLeftPct = 100
	for _, at := range out.Stones {
		taken := 0.0
		for _, s := range out.Stones {
			// those whose arcs reach this stone's middle
			if math.Abs(wrap(s.AtDeg-at.AtDeg+180)-180) < r.halfDeg(s.LengthMM) {
				taken += s.seat.FlowTakenMM2
			}
		}
		left := max(0, 100*(1-taken/r.in.Profile.At(at.AtDeg/360).Area()))
		if taken > out.FlowTakenMM2 {
			out.FlowTakenMM2, out.FlowTakenDeg = taken, at.AtDeg
		}
		out.FlowLeftPct = min(out.FlowLeftPct, left)
	}
}

func (r ring) judgePlace(out *LayoutOut, s *PlacedStone) {
	if s.SprueMM < r.in.KeepOffMM {
		out.fault("sprue", "%.1f mm from the sprue's edge", s.SprueMM, s.Number)
	}
	if s.VentMM != nil && *s.VentMM < r.in.KeepOffMM {
		out.fault("vent", "%.1f mm from a vent's edge", *s.VentMM, s.Number)
	}
	if s.ThicknessMM < s.NeedsMM-1e-9 {
		out.fault("thin", "the piece is too thin there by %.2f mm", s.NeedsMM-s.ThicknessMM, s.Number)
	}
	if s.seat.Window.Empty() {
		out.Faults = append(out.Faults, LayoutFault{"no_seat", []int{s.Number}, "no press depth holds it: " + s.seat.Window.Reason})
	}
	local := r.in.Profile.At(s.AtDeg / 360)
	if short := math.Abs(s.AcrossMM) + s.WidthMM/2 + s.seat.BesideNeededMM - local.Width()/2; short > 1e-9 {
		out.fault("narrow", "the band is too narrow there by %.2f mm on its side", short, s.Number)
	} else if fall := faceFall(local, 2*math.Abs(s.AcrossMM)); fall > s.body.CrownMM && local.Shape != section.Rectangular {
		out.fault("narrow", "the curved face has fallen %.2f mm there: cut a flat for the stone", fall, s.Number)
	}
}

func (out *LayoutOut) fault(code, format string, value float64, stones ...int) {
	out.Faults = append(out.Faults, LayoutFault{code, stones, fmt.Sprintf(format, value)})
}

func (out *LayoutOut) explain(r ring) {
	out.Step("way round the outer face", out.CircumferenceMM, "mm", "2π × %.4g mm", r.face)
	if out.LeastGapMM != nil {
		out.Step("least gap between girdles", *out.LeastGapMM, "mm", "at radius %.4g mm, the thinnest place", r.radius)
	}
	out.Step("grains", float64(out.GrainCount), "", "%d stones, shared grains counted once", out.Count)
	out.Caution(holdingCautions...)
	out.Warn("check_scale", "care", "Measure the 50 mm bar of the drawing before you use it: printers shrink pages unless told to print at true size.")
	if r.in.Rows == "middle" {
		out.Warn("stone_on_parting", "care", "Each stone lies across the parting line: press it into the first half, then bed the second half over it; a flash of metal can reach its table.")
	}
	out.Cite(srcLayout, srcParting, srcGrain, srcSeat, srcCapillary)
	out.Cite(r.alloy.Sources()...)
}
