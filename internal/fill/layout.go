package fill

import (
	"math"

	"pourwright/internal/fill/network"
	"pourwright/internal/fluid"
	"pourwright/internal/section"
)

// stretch is a reach of the piece with its place on the way round.
type stretch struct {
	reach       int
	name        string
	start, span float64 // fractions of the way from the gate; a negative span runs backwards
	twin        bool    // stands for its mirror image too
}

const (
	sliceCount = 96 // of a whole band or bar, from which the network's cells are averaged
	// funnelWide: the metal in a usual funnel is three sprues wide. A wider one
	// takes more metal, which the hand adds; it does not change the filling.
	funnelWide = 3.0
	funnelDeep = 12e-3 // m
	sprueSteps = 8
)

// measure finds the profile, the length and the volume of the piece.
func (j *job) measure() {
	in := &j.in
	j.profile = in.shape()
	j.length, j.volume = in.LengthMM/1e3, in.volume()
	switch {
	case in.course != nil:
		j.length = in.course.length
	case in.isBand():
		j.length = math.Pi * (in.InsideDiameterMM + 2*j.profile.Mean(section.Section.Centroid)) / 1e3
	}
}

// lay makes the network of the mould of a piece by itself; its gates are at
// level 0.
func (j *job) lay() {
	in := &j.in
	j.floorM = in.SprueLengthMM / 1e3
	d := in.SprueDiameterMM / 1e3
	bore := math.Pi / 4 * d * d
	count := float64(in.SprueCount)
	j.net.Funnel = funnelOver(in.FunnelHeadMM, bore*count)
	switch {
	case in.isBand() && in.SprueCount == 1:
		j.sprue(1, 1)
		j.oneGate(1, 2)
	case in.isBand():
		j.twoGates()
	case in.SprueCount == 1:
		j.sprue(1, 1)
		j.oneGate(1, 2)
	default:
		j.endGates()
	}
	j.vents()
	sprues := count * bore * in.SprueLengthMM / 1e3
	j.whole = j.volume + sprues + math.Pi/4*funnelWide*funnelWide*d*d*funnelDeep
	j.poured = j.volume + sprues + in.FunnelHeadMM/1e3*j.funnelArea()
	j.mesh = network.NewMesh(&j.net)
}

func (j *job) funnelArea() float64 { return math.Pi / 4e6 * sq(j.in.FunnelDiameterMM) }

// alike says whether the way forth and the way back from a place are the same.
func (j *job) alike(about float64) bool {
	for i := range sliceCount / 2 {
		f := (float64(i) + 0.5) / sliceCount
		a, b := j.profile.At(wrap(about+f)), j.profile.At(wrap(about-f))
		if a.Shape != b.Shape || math.Abs(a.ThicknessMM-b.ThicknessMM) > 1e-6 || math.Abs(a.Width()-b.Width()) > 1e-6 {
			return false
		}
		if math.Abs(j.height(about+f)-j.height(about-f)) > 1e-9 {
			return false
		}
	}
	return true
}

func wrap(f float64) float64 { return math.Mod(math.Mod(f, 1)+1, 1) }

// oneGate runs from junction gate to the end of a straight piece, or both ways
// to half the way round a band, where a closed one meets at junction meet.
func (j *job) oneGate(gate, meet int) {
	if !j.in.isBand() {
		j.arm(stretch{name: "bar", span: 1}, gate, network.DeadEnd, false)
		return
	}
	if j.alike(0) {
		j.arm(stretch{name: "both arms alike", span: 0.5, twin: true}, gate, network.DeadEnd, !j.open())
		return
	}
	end := 0.5
	if j.open() {
		meet, end = network.DeadEnd, 0.5+pastHalf
	}
	j.arm(stretch{name: "arm", span: 0.5}, gate, meet, false)
	j.arm(stretch{name: "other arm", start: 1, span: end - 1}, gate, meet, false)
}

// open says whether a band has two ends, which do not meet: a cuff.
func (j *job) open() bool { return j.in.course != nil && j.in.course.open }

// pastHalf keeps the second arm of a cuff to its own end.
const pastHalf = 1e-9

// twoGates spreads two sprues about the place from which the profile counts.
func (j *job) twoGates() {
	half := j.in.SpreadDeg / 720
	if j.alike(0) {
		j.sprue(1, 2)
		j.arm(stretch{name: "arc between the sprues, both halves alike", start: half, span: -half, twin: true}, 1, network.DeadEnd, true)
		j.arm(stretch{name: "far arc, both halves alike", start: half, span: 0.5 - half, twin: true}, 1, network.DeadEnd, !j.open())
		return
	}
	j.sprue(1, 1)
	j.sprue(2, 1)
	j.arm(stretch{name: "arc between the sprues", start: -half, span: 2 * half}, 2, 1, false)
	if j.open() {
		j.arm(stretch{name: "arm", start: half, span: 0.5 - half}, 1, network.DeadEnd, false)
		j.arm(stretch{name: "other arm", start: 1 - half, span: half - 0.5 + pastHalf}, 2, network.DeadEnd, false)
		return
	}
	j.arm(stretch{name: "far arc", start: half, span: 1 - 2*half}, 1, 2, false)
}

// endGates feeds a level bar from both ends.
func (j *job) endGates() {
	j.sprue(1, 1)
	j.sprue(2, 1)
	j.arm(stretch{name: "bar", span: 1}, 1, 2, false)
}

// sprue leads from the funnel to junction gate.
func (j *job) sprue(gate, copies int) {
	d, l := j.in.SprueDiameterMM/1e3, j.in.SprueLengthMM/1e3
	j.net.Reaches = append(j.net.Reaches, network.Reach{From: Funnel, To: gate, Loss: fluid.EntryLoss, Piece: network.NoPiece, Copies: copies, Sections: roundChannel(d, l, l, 0)})
}

// roundChannel is the sections of a channel of diameter d and length l that
// leads from one height to another, m.
func roundChannel(d, l, from, to float64) (list []network.Section) {
	for i := range sprueSteps {
		f := (float64(i) + 0.5) / sprueSteps
		list = append(list, network.Section{Length: l / sprueSteps, Area: math.Pi / 4 * d * d, Perimeter: math.Pi * d,
			Thickness: d, Round: true, Height: from*(1-f) + to*f, Rise: (to - from) / sprueSteps})
	}
	return list
}

// funnelOver is a funnel of that head over sprues whose mouths have that area, m².
func funnelOver(headMM, mouths float64) network.Funnel {
	return network.Funnel{Junction: Funnel, Depth: max(headMM/1e3, 1e-4), Area: funnelWide * funnelWide * mouths, Sprue: mouths}
}

// arm adds a stretch of the piece between two junctions.
func (j *job) arm(s stretch, from, to int, mirror bool) {
	n := max(12, int(math.Round(sliceCount*math.Abs(s.span))))
	r := network.Reach{From: from, To: to, Loss: fluid.TurnLoss, Piece: j.part, Mirror: mirror}
	if s.twin {
		r.Copies = 2
	}
	zero := j.gateHeight() - j.gateM
	for i := range n {
		a := s.start + s.span*float64(i)/float64(n)
		b := s.start + s.span*float64(i+1)/float64(n)
		sec := j.profile.At(wrap((a + b) / 2))
		if !j.in.isBand() {
			sec = j.profile.At((a + b) / 2)
		}
		more, less := sec, sec
		more.ThicknessMM *= 1.01
		less.ThicknessMM *= 0.99
		r.Sections = append(r.Sections, network.Section{Length: j.length * math.Abs(s.span) / float64(n),
			Area: sec.Area() / 1e6, Perimeter: sec.Perimeter() / 1e3, Thickness: sec.ThicknessMM / 1e3, Round: sec.Shape == section.Round,
			PerThick: (more.Perimeter() - less.Perimeter()) / 0.02 / 1e3,
			Height:   (j.height(a)+j.height(b))/2 - zero, Rise: j.height(b) - j.height(a)})
	}
	s.reach = len(j.net.Reaches)
	j.net.Reaches = append(j.net.Reaches, r)
	j.stretches = append(j.stretches, s)
}

// vents stand where the request says, or where the metal comes last.
func (j *job) vents() {
	in := &j.in
	if in.VentCount == 0 {
		return
	}
	v := network.Vent{Reach: network.LastPlace, Diameter: in.VentDiameterMM / 1e3, Length: j.clay.WallMM / 1e3, Count: in.VentCount}
	if in.VentAtPct != nil {
		v.Reach, v.At = j.placeAt(*in.VentAtPct / 100)
	}
	j.net.Vents = append(j.net.Vents, v)
}

// placeAt is the reach, and how far along it, of a fraction of the way from the gate.
func (j *job) placeAt(f float64) (reach int, at float64) {
	for i := range j.stretches {
		s := &j.stretches[i]
		places := []float64{f, f - 1} // the gate is at 0 and at 1
		if s.twin {
			places = append(places, 1-f)
		}
		for _, f := range places {
			if at := (f - s.start) / s.span; at >= 0 && at <= 1 {
				return s.reach, at
			}
		}
	}
	return j.stretches[0].reach, 0
}

// gateHeight is the height of the gates.
func (j *job) gateHeight() float64 {
	if j.in.isBand() && j.in.SprueCount == 2 {
		return j.height(j.in.SpreadDeg / 720)
	}
	return 0
}

// height returns how high in m the way lies at the fraction f of its length,
// over the place from which it is measured.
func (j *job) height(f float64) float64 {
	if in := &j.in; j.mirrored && in.Posture == "standing" && in.Gate == "side" {
		return -j.onOneSide(f)
	}
	return j.onOneSide(f)
}

// onOneSide is the height where the piece is not mirrored.
func (j *job) onOneSide(f float64) float64 {
	in := &j.in
	if in.course != nil {
		return in.course.height(f, in.Stance)
	}
	if in.Posture == "lying" {
		return 0
	}
	if !in.isBand() {
		return map[string]float64{"top": -1, "side": 0, "bottom": 1}[in.Gate] * f * j.length
	}
	r := j.length / (2 * math.Pi)
	gate := map[string]float64{"top": 0, "side": math.Pi / 2, "bottom": math.Pi}[in.Gate]
	return r * (math.Cos(gate+2*math.Pi*f) - math.Cos(gate))
}

// bounds returns the heights in m of the lowest and highest places of the
// piece over the network's level, its thickness with it.
func (j *job) bounds() (low, high float64) {
	low, high = j.gateM, j.gateM
	for i := range j.stretches {
		for _, s := range j.net.Reaches[j.stretches[i].reach].Sections {
			low = min(low, s.Height-math.Abs(s.Rise)/2)
			high = max(high, s.Height+math.Abs(s.Rise)/2)
		}
	}
	return low, high
}

func (j *job) lowest() float64 {
	low, _ := j.bounds()
	return low
}

func sq(x float64) float64 { return x * x }
