package sprue

import (
	"fmt"
	"math"
	"slices"

	"pourwright/internal/fluid"
	"pourwright/internal/verdict"
)

// room compares the flask with what the layout needs.
func (out *Out) room(in *In, l *Layout) {
	side := max(-l.Low.X, l.High.X, l.System.Funnel.Diameter/2)
	out.WidthMM = 2 * (side + in.WallMM)
	if l.System.Lying {
		out.HeightMM = l.High.Y - l.Low.Y + 2*in.WallMM
	} else {
		out.HeightMM = in.FunnelHeadMM - l.Low.Y + in.WallMM
	}
	for _, f := range []struct {
		name  string
		has   *float64
		needs float64
	}{{"width", in.FlaskWidthMM, out.WidthMM}, {"height", in.FlaskHeightMM, out.HeightMM}} {
		if f.has == nil || *f.has >= f.needs {
			continue
		}
		left := in.WallMM - (f.needs-*f.has)/2
		if f.name == "height" && !l.System.Lying {
			left = in.WallMM - (f.needs - *f.has)
		}
		level := verdict.Care
		if left < leastClay {
			level = verdict.DoNotPour
		}
		out.Reasons.Add(verdict.Flask, level, "Take a larger flask, or fewer pieces in it.", "The flask is %.0f mm in %s and the layout asks for %.0f: %.0f mm of clay would be left at the wall.", *f.has, f.name, f.needs, max(left, 0))
	}
	if in.BetweenMM < goodClay && len(l.Placed) > 1 {
		level := verdict.Care
		if in.BetweenMM < leastClay {
			level = verdict.NotYet
		}
		out.Reasons.Add(verdict.Flask, level, fmt.Sprintf("Leave %.0f mm between pieces.", goodClay), "%.1f mm of clay between pieces is thin: it warms through and can wash away.", in.BetweenMM)
	}
}

// pieces of channel in the parting plane: middle and area.
func flat(p *planner, l *Layout) (list []struct{ y, area float64 }) {
	add := func(y, area float64) { list = append(list, struct{ y, area float64 }{y, area}) }
	const n = 72
	for _, placed := range l.Placed {
		b := p.bodies[placed.Piece]
		step := b.LengthMM() / n
		stations := b.Stations(2 * n)
		for i := range n {
			s := &stations[2*i+1]
			across := s.ThicknessMM
			if !b.Kind.Curved() {
				across = s.WidthMM
			}
			add(placed.At(s.Centre).Y, across*step)
		}
		if loop, ok := b.Loop(); ok {
			add(placed.At(loop.Centre).Y, loop.LengthMM()*loop.WireMM)
		}
	}
	for _, r := range l.Runs {
		add((r.From.Y+r.To.Y)/2, r.Diameter*r.LengthMM())
	}
	if !l.System.Lying {
		add(l.System.Funnel.Length/2, l.System.Funnel.Diameter*l.System.Funnel.Length)
	}
	return list
}

// force sums the metal's pressure over the parting plane.
func (out *Out) force(p *planner, l *Layout) {
	s := &l.System
	at := (p.alloy.LiquidusC() + 100)
	rho := p.alloy.LiquidDensityKgM3(at)
	brim := s.Funnel.Length
	if s.Lying {
		brim += s.Sprue.Length
	}
	for _, a := range flat(p, l) {
		head := brim - a.y
		if s.Lying {
			head = brim
		}
		out.PartingMM2 += a.area
		out.OpeningN += fluid.OpeningForce(rho, max(head, 0)/1e3, a.area/1e6)
	}
	deepest := brim - l.Low.Y
	if s.Lying {
		deepest = brim
		for _, b := range p.bodies {
			deepest = max(deepest, brim+b.Extent().Z/2)
		}
	}
	out.PressureKPa = fluid.Pressure(rho, deepest/1e3) / 1e3
	out.HoldKg = holdBy * out.OpeningN / fluid.Gravity
	out.Step("opening force", out.OpeningN, "N", "pressure of the full mould over %.4g mm² of metal in the parting plane", out.PartingMM2)
}

// places tells where each piece lies and whether its gate feeds it.
func (out *Out) places(p *planner, l *Layout) {
	s := &l.System
	gate := s.Gate.Diameter / 4
	var starved []string
	for i, placed := range l.Placed {
		b := p.bodies[placed.Piece]
		most := 0.0
		for _, st := range b.Stations(96) {
			most = max(most, st.ModulusMM())
		}
		place := Place{Name: p.names[placed.Piece], GateXMM: placed.Gate.X, GateYMM: placed.Gate.Y, WayMM: placed.WayMM,
			HeadMM: s.Funnel.Length - placed.Low.Y, ClayMM: clay(l, i), CastG: p.metal[placed.Piece] / 1000 * p.alloy.DensityGCm3(), FeedsPct: 100 * gate / most}
		if s.Lying {
			place.HeadMM = s.Funnel.Length + s.Sprue.Length
		}
		if place.FeedsPct < 95 {
			starved = append(starved, place.Name)
		}
		out.Places = append(out.Places, place)
	}
	slices.SortStableFunc(out.Places, func(a, b Place) int {
		switch {
		case a.WayMM < b.WayMM-1e-9:
			return -1
		case a.WayMM > b.WayMM+1e-9:
			return 1
		}
		return 0
	})
	if len(starved) > 0 {
		out.Reasons.Add(verdict.Feeding, verdict.Care, "Make the gate as wide as the section allows, or feed the piece at its thickest place.",
			"The gate of %s, %.1f mm, freezes before its thickest place: it may shrink there.", list(starved), s.Gate.Diameter)
	}
	if s.Kind != Direct && s.Runner < s.Gate.Diameter {
		out.Reasons.Add(verdict.Feeding, verdict.Care, "Make the runner at least as thick as the gates.", "The runner, %.1f mm, is thinner than the gates.", s.Runner)
	}
}

// clay is the least gap in mm between a piece's box and those of the others.
func clay(l *Layout, i int) float64 {
	least := math.Inf(1)
	a := &l.Placed[i]
	for k := range l.Placed {
		if k == i {
			continue
		}
		b := &l.Placed[k]
		dx := max(a.Low.X-b.High.X, b.Low.X-a.High.X, 0)
		dy := max(a.Low.Y-b.High.Y, b.Low.Y-a.High.Y, 0)
		least = min(least, math.Hypot(dx, dy))
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}
