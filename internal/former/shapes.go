package former

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// disc is a drafted disc of the inside of the mould, with a grip to press and
// draw it by; the label stands on the front of the grip.
func (p *plan) disc() *solid {
	s := &solid{}
	a, b := p.WidthMM/2, p.HeightMM/2
	lean := math.Tan(p.in.DraftDeg * math.Pi / 180)
	bottom := s.ring(oval(a, b, -p.below()*lean, 0)...)
	top := s.ring(oval(a, b, (p.in.DepthMM-p.below())*lean, p.in.DepthMM)...)
	s.wall(bottom, top)
	s.face(downward, bottom)
	if p.in.GripHeightMM == 0 {
		holes := s.label(lift(p.in.DepthMM), p.setLabel(1.3*a, 0.9*b, vec2{}), p.relief)
		s.face(lift(p.in.DepthMM), top, holes...)
		return s
	}
	w, t := min(p.in.GripWidthMM, 1.5*a)/2, min(p.in.GripThicknessMM, 0.8*b)/2
	h := p.in.DepthMM
	foot := s.ring(rectangle(-w, -t, w, t, h)...)
	head := s.ring(rectangle(-w, -t, w, t, h+p.in.GripHeightMM)...)
	s.face(lift(h), top, foot)
	s.face(lift(h), head)
	for i := 1; i < 4; i++ { // right, back and left; the front carries the label
		j := (i + 1) % 4
		s.t = append(s.t, [3]int{foot[i], foot[j], head[j]}, [3]int{foot[i], head[j], head[i]})
	}
	front := plane{origin: r3.Vec{Y: -t, Z: h}, u: x, v: z}
	p.relief = max(p.relief, -t) // no deeper than the middle of the grip
	holes := s.label(front, p.setLabel(2*w-1, p.in.GripHeightMM-1, vec2{0, p.in.GripHeightMM / 2}), p.relief)
	s.face(front, []int{foot[0], foot[1], head[1], head[0]}, holes...)
	return s
}

func lift(height float64) plane { return plane{origin: r3.Scale(height, z), u: x, v: y} }

// cutter is a tube that leaves a plug of clay of the inside of the mould: its
// inside is upright, its outside bevelled to an edge, with a flange to press on
// that carries the label.
func (p *plan) cutter() *solid {
	const edge, flangeThick = 0.3, 2.5
	s := &solid{}
	a, b := p.WidthMM/2, p.HeightMM/2
	wall, height := p.in.WallMM, p.in.DepthMM+flangeThick
	bevel := min(p.in.DepthMM/2, 3*wall)
	in0, in1 := s.ring(oval(a, b, 0, 0)...), s.ring(oval(a, b, 0, height)...)
	tip := s.ring(oval(a, b, edge, 0)...)
	shoulder := s.ring(oval(a, b, wall, bevel)...)
	neck := s.ring(oval(a, b, wall, p.in.DepthMM)...)
	under := s.ring(oval(a, b, wall+p.in.FlangeMM, p.in.DepthMM)...)
	rim := s.ring(oval(a, b, wall+p.in.FlangeMM, height)...)
	s.face(downward, tip, in0)
	s.wall(tip, shoulder)
	s.wall(shoulder, neck)
	s.face(plane{origin: r3.Scale(p.in.DepthMM, z), u: downward.u, v: downward.v}, under, neck)
	s.wall(under, rim)
	s.wall(in1, in0)
	p.relief = max(p.relief, -flangeThick/2)
	// The label stands across the flange at the front; its lower corners are the
	// first to reach the rim, its upper middle the first to reach the inside.
	broad := wall + p.in.FlangeMM
	middle := vec2{0, -b - broad/2}
	bars := p.setLabel(1.6*a, broad-1.2, middle)
	for shrink := 0; shrink < 40 && !onFlange(bars, a, b, broad); shrink++ {
		p.labelMM *= 0.93
		bars = write(p.LabelText, middle, p.labelMM)
	}
	holes := s.label(lift(height), bars, p.relief)
	s.face(lift(height), rim, append(holes, in1)...)
	return s
}

// onFlange says whether bars keep 0.4 mm away from both edges of a flange
// around an ellipse.
func onFlange(bars []bar, a, b, broad float64) bool {
	const clear = 0.4
	outer := func(p vec2, out float64) float64 {
		return p.x*p.x/((a+out)*(a+out)) + p.y*p.y/((b+out)*(b+out))
	}
	for _, bar := range bars {
		for _, c := range bar {
			// The parallel curve lies outside the ellipse of lengthened axes, so the
			// outer test is on the safe side; the inner one is made on the ellipse of
			// the inside itself, well inside of the clearance for moderate ovals.
			if outer(c, broad-clear) > 1 || outer(c, 0) <= 1+2*clear/min(a, b) {
				return false
			}
		}
	}
	return true
}

// strip is the flat strip that bends to the inside of the mould.
func (p *plan) strip() *solid {
	s := &solid{}
	l, h, t := p.StripInsideMM, p.in.DepthMM, p.in.StripThicknessMM
	bottom := s.ring(rectangle(0, 0, l, h, 0)...)
	top := s.ring(rectangle(0, 0, l, h, t)...)
	s.wall(bottom, top)
	s.face(downward, bottom)
	p.relief = max(p.relief, -t/2)
	s.face(lift(t), top, s.label(lift(t), p.setLabel(l-2, h-1, vec2{l / 2, h / 2}), p.relief)...)
	return s
}

// wedge is a tapered strip: foot at x = 0, thin end at the far end; it lies in
// one half of the mould with its flat face, which carries the label sunk, in
// the parting plane.
func (p *plan) wedge() *solid {
	s := &solid{}
	l, half := p.in.WedgeLengthMM, p.in.WedgeWidthMM/2
	lean := math.Tan(p.in.DraftDeg * math.Pi / 180)
	foot, tip := p.in.WedgeFootMM, p.in.WedgeTipMM
	base := s.ring(rectangle(0, -half, l, half, 0)...)
	in := func(t float64) float64 { return half - min(t*lean, half/2) }
	back := s.ring(r3.Vec{Y: -in(foot), Z: foot}, r3.Vec{X: l, Y: -in(tip), Z: tip}, r3.Vec{X: l, Y: in(tip), Z: tip}, r3.Vec{Y: in(foot), Z: foot})
	s.wall(base, back)
	// The back is one plane: its four corners rise evenly along x.
	slope := r3.Unit(r3.Vec{X: l, Z: tip - foot})
	s.face(plane{origin: r3.Vec{Z: foot}, u: slope, v: y}, back)
	p.relief = max(-math.Abs(p.relief), -foot/3) // always sunk: a raised one would hold the halves apart
	label := plane{origin: r3.Vec{X: l / 4}, u: x, v: r3.Scale(-1, y)}
	s.face(downward, base, s.label(label, p.setLabel(l/3, 2*half-2, vec2{}), p.relief)...)
	return s
}
