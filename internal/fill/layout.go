package fill

import (
	"math"

	"pourwright/internal/fill/front"
	"pourwright/internal/section"
)

const fineness = 96 // of a whole band or bar

// lay makes the ducts of the mould from the description.
func (j *job) lay() {
	in := &j.in
	j.profile = in.shape()
	centroid := j.profile.Mean(section.Section.Centroid)
	j.length = in.LengthMM / 1e3
	if in.isBand() {
		j.length = math.Pi * (in.InsideDiameterMM + 2*centroid) / 1e3
		j.volume = j.profile.RingVolume(in.InsideDiameterMM) / 1e9
	} else {
		j.volume = j.profile.Volume(in.LengthMM) / 1e9
	}
	j.mould = front.Mould{Gates: in.SprueCount, Stem: front.Stem{
		Length: in.SprueLengthMM / 1e3, Diameter: in.SprueDiameterMM / 1e3,
		Head: in.FunnelHeadMM / 1e3, FunnelArea: math.Pi / 4e6 * in.FunnelDiameterMM * in.FunnelDiameterMM,
		Entry: entryLoss, Turn: turnLoss}}
	switch {
	case in.isBand() && in.SprueCount == 1:
		j.duct("band", 0, 1, 0, 0)
	case in.isBand():
		half := in.SpreadDeg / 720
		j.duct("arc between the sprues", -half, 2*half, 0, 1)
		j.duct("far arc", half, 1-2*half, 1, 0)
	case in.SprueCount == 1:
		j.duct("bar", 0, 1, 0, front.NoGate)
	default:
		j.duct("bar", 0, 1, 0, 1)
	}
	stem := float64(in.SprueCount)*math.Pi/4*sq(j.mould.Stem.Diameter)*j.mould.Stem.Length + j.mould.Stem.Head*j.mould.Stem.FunnelArea
	j.whole = j.volume + stem
	j.rate = j.whole / in.PourTimeS
	if in.PourRateMM3S != nil {
		j.rate = *in.PourRateMM3S / 1e9
	}
}

// Losses in velocity heads; handbook values for a sharp mouth and a sharp
// right-angled turn.
const (
	entryLoss = 0.5
	turnLoss  = 1.1
)

// duct adds the stretch of the way from fraction start over span.
func (j *job) duct(name string, start, span float64, from, to int) {
	in := &j.in
	n := max(12, int(math.Round(fineness*span)))
	d := front.Duct{From: from, To: to, Length: j.length * span, Slices: make([]front.Slice, n),
		VentArea: float64(in.VentCount) * math.Pi / 4e6 * in.VentDiameterMM * in.VentDiameterMM,
		VentBore: in.VentDiameterMM / 1e3, VentLong: j.clay.WallMM / 1e3}
	zero := j.height(start)
	for i := range d.Slices {
		a := start + span*float64(i)/float64(n)
		b := start + span*float64(i+1)/float64(n)
		s := j.profile.At(math.Mod(math.Mod((a+b)/2, 1)+1, 1))
		d.Slices[i] = front.Slice{Area: s.Area() / 1e6, Perimeter: s.Perimeter() / 1e3, Round: s.Shape == section.Round,
			Thickness: s.ThicknessMM / 1e3, Height: (j.height(a)+j.height(b))/2 - zero, HeightRise: j.height(b) - j.height(a)}
		more, less := s, s
		more.ThicknessMM *= 1.01
		less.ThicknessMM *= 0.99
		d.Slices[i].PerThick = (more.Perimeter() - less.Perimeter()) / 0.02 / 1e3
	}
	j.mould.Ducts = append(j.mould.Ducts, d)
	j.names = append(j.names, name)
	j.offset = append(j.offset, start)
	j.span = append(j.span, span)
}

// height returns how high in m the way lies at the fraction f of its length,
// over the place from which it is measured.
func (j *job) height(f float64) float64 {
	in := &j.in
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

// lowest returns the height in m of the lowest place of the piece over the gates.
func (j *job) lowest() float64 {
	low := 0.0
	for _, d := range j.mould.Ducts {
		for _, s := range d.Slices {
			low = min(low, s.Height)
		}
	}
	return low
}

func sq(x float64) float64 { return x * x }
