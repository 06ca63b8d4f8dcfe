package stone

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/section"
	"pourwright/internal/verdict"
)

// head is the head of metal in mm at a direction: in a standing flask it
// grows from the sprue downwards.
func (r ring) head(deg float64) float64 {
	if r.in.Flask == "lying" {
		return r.in.HeadMM
	}
	return r.in.HeadMM + r.face*(1-math.Cos((deg-r.in.SprueDeg)*math.Pi/180))
}

// seatAll finds what each stone needs where it stands, and its place across;
// it returns the metal that all displace, mm³.
func (r ring) seatAll(ctx context.Context, stones []seated) (displacedMM3 float64) {
	for i := range stones {
		if ctx.Err() != nil {
			return 0
		}
		s := &stones[i]
		local := r.in.Profile.At(s.AtDeg / 360)
		s.HeadMM, s.ThicknessMM = r.head(s.AtDeg), local.ThicknessMM
		s.AlongMM = r.along(s.AtDeg)
		c := capillary{r.alloy.SurfaceTensionNM(r.in.MetalC), r.alloy.LiquidDensityKgM3(r.in.MetalC), s.HeadMM}
		s.grains = grainsFor(s.body, c, r.in.Grains, 0, softYield(r.alloy), r.in.PullN, usualShowPct)
		s.GrainMM, s.GrainsFill = s.grains.DiameterMM, s.grains.Fills
		s.seat = seatFor(s.body, s.body.volume(), site{local, r.in.InsideDiameterMM/2 + local.ThicknessMM, s.WidthMM}, c, s.grains, usualShowPct, 0)
		displacedMM3 += s.seat.DisplacedMM3
		s.NeedsMM, s.PressMM = s.seat.ThicknessMinMM, s.seat.PressMM
		s.SprueMM = r.clear(s.AtDeg, s.LengthMM, r.in.SprueDeg, r.in.SprueWidthMM)
		for _, v := range r.in.VentsDeg {
			if d := r.clear(s.AtDeg, s.LengthMM, v, r.in.VentWidthMM); s.VentMM == nil || d < *s.VentMM {
				s.VentMM = &d
			}
		}
		if r.in.Rows != "middle" {
			// a grain beside it must clear the parting line too
			reach := s.WidthMM / 2
			for _, p := range s.grains.Places {
				reach = max(reach, math.Abs(p.AcrossMM)+s.GrainMM/2)
			}
			s.AcrossMM = reach + partingMM
			if s.Row == 2 {
				s.AcrossMM = -s.AcrossMM
			}
		}
	}
	// a row runs straight: the widest stone decides
	for row := 1; row <= 2; row++ {
		widest := 0.0
		for _, s := range stones {
			if s.Row == row {
				widest = max(widest, math.Abs(s.AcrossMM))
			}
		}
		for i := range stones {
			if s := &stones[i]; s.Row == row {
				s.AcrossMM = math.Copysign(widest, s.AcrossMM)
			}
		}
	}
	return displacedMM3
}

func (r ring) along(deg float64) float64 { return r.face * deg * math.Pi / 180 }

// next returns the index of the stone after i in its row, and the arc in
// degrees to it; false for the last of an arc or a lone stone.
func (r ring) next(stones []seated, i int) (int, float64, bool) {
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
func (r ring) gap(a, b seated, arcDeg float64) float64 {
	return 2 * r.radius * math.Sin((arcDeg-r.halfDeg(a.LengthMM)-r.halfDeg(b.LengthMM))*math.Pi/360)
}

// judge gathers what does not work.
func (r ring) judge(out *LayoutOut, stones []seated) {
	for i := range stones {
		s := &stones[i]
		r.judgePlace(out, s)
		if j, arc, ok := r.next(stones, i); ok {
			gap := r.gap(*s, stones[j], arc)
			s.GapMM = &gap
			if out.LeastGapMM == nil || gap < *out.LeastGapMM {
				out.LeastGapMM = &gap
			}
			if gap < 0 {
				out.fault("stones_touch", "stones overlap by %.2f mm", -gap, s.Number, stones[j].Number)
			}
		}
	}
	r.judgeGrains(out, stones)
	r.flow(out, stones)
	out.Count = len(stones)
	out.Fits = !slices.ContainsFunc(out.Faults, func(f LayoutFault) bool { return f.Verdict == verdict.DoNotPour })
}

// flow finds where stones together take most from the channel: at the middle of
// one of them.
func (r ring) flow(out *LayoutOut, stones []seated) {
	out.FlowLeftPct = 100
	for _, at := range stones {
		taken := 0.0
		for _, s := range stones {
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

// judgePlace holds a stone where it stands to the rules that stone-settings
// has for its size, its cut, its seat and its grains, and to those of a layout.
func (r ring) judgePlace(out *LayoutOut, s *seated) {
	say := func(code string, v verdict.Level, format string, args ...any) {
		if code != "section" && v != verdict.Go { // section: thin and narrow below, which know the row
			out.Faults = append(out.Faults, LayoutFault{code, v, []int{s.Number}, fmt.Sprintf(format, args...)})
		}
	}
	bySize(say, s.body.Measures, s.Cut)
	byCut(say, Gem{}, s.Cut)
	bySeat(say, s.seat, s.grains)
	if s.SprueMM < r.in.KeepOffMM {
		out.fault("sprue", "%.1f mm from the sprue's edge", s.SprueMM, s.Number)
	}
	if s.VentMM != nil && *s.VentMM < r.in.KeepOffMM {
		out.fault("vent", "%.1f mm from a vent's edge", *s.VentMM, s.Number)
	}
	if s.ThicknessMM < s.NeedsMM-1e-9 {
		out.fault("thin", "the piece is too thin there by %.2f mm", s.NeedsMM-s.ThicknessMM, s.Number)
	}
	local := r.in.Profile.At(s.AtDeg / 360)
	if short := math.Abs(s.AcrossMM) + s.WidthMM/2 + s.seat.BesideNeededMM - local.Width()/2; short > 1e-9 {
		out.fault("narrow", "the band is too narrow there by %.2f mm on its side", short, s.Number)
	} else if fall := faceFall(local, 2*math.Abs(s.AcrossMM)); fall > s.body.CrownMM && local.Shape != section.Rectangular {
		out.fault("narrow", "the curved face has fallen %.2f mm there: cut a flat for the stone", fall, s.Number)
	}
}

func (out *LayoutOut) fault(code, format string, value float64, stones ...int) {
	out.Faults = append(out.Faults, LayoutFault{code, verdict.DoNotPour, stones, fmt.Sprintf(format, value)})
}

func (out *LayoutOut) explain(r ring) {
	out.Step("way round the outer face", out.CircumferenceMM, "mm", "2π × %.4g mm", r.face)
	if out.LeastGapMM != nil {
		out.Step("least gap between girdles", *out.LeastGapMM, "mm", "at radius %.4g mm, the thinnest place", r.radius)
	}
	out.Step("grains", float64(out.GrainCount), "", "%d stones, shared grains counted once", out.Count)
	out.Caution(holdingCautions...)
	out.Warn("check_scale", "care", "Measure the 50 mm bar of the drawing before you use it: printers shrink pages unless told to print at true size.")
	if out.LeastGapMM != nil && *out.LeastGapMM < ribLeastMM {
		out.Warn("thin_rib", calc.Care, "The rib of clay between two stones is %.2f mm at the least; under %.1f mm it crumbles, and its crumbs stop the metal: press them with care, or leave more.", *out.LeastGapMM, ribLeastMM)
	}
	if r.in.Rows == "middle" {
		out.Warn("stone_on_parting", "care", "Each stone lies across the parting line: press it into the first half, then bed the second half over it; a flash of metal can reach its table.")
	}
	out.Cite(srcLayout, srcParting, srcShared, srcGrain, srcSmallest, srcOutline, srcSeat, srcCapillary)
	out.Cite(r.alloy.Sources()...)
}
