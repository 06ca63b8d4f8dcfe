package mesh

import (
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

// bandStations is how many places round a band its thickness is taken at.
const bandStations = 24

// Band reads a closed ring, band or bangle as a profile once round from its
// thickest place: the true thickness, averaged over each 1/24 of the way, and
// one width for all of it, such that rectangular sections make the volume.
// insideMM is the diameter of the largest round bar that passes.
func (c *Checked) Band() (insideMM float64, profile section.Profile, err error) {
	o, ok := c.Opening()
	if !ok {
		return 0, nil, calc.Refuse("", nil, "give the surface of a ring, band or bangle; this body has no hole to be worn by")
	}
	if o.GapDeg > 0 {
		return 0, nil, calc.Refuse("", o.GapDeg, "give a closed band; this one is open by %.0f degrees", o.GapDeg)
	}
	const per = bins / bandStations
	thickness := make([]float64, bandStations)
	thickest := 0
	for k := range bins {
		thickness[k/per] += (o.outwards[k] - o.inside[k]) / per
	}
	sum := 0.0
	for i, t := range thickness {
		sum += t * (o.DiameterMM + t) / bandStations
		if t > thickness[thickest] {
			thickest = i
		}
	}
	width := c.VolumeMM3 / (math.Pi * sum)
	for i := range bandStations + 1 {
		t := thickness[(thickest+i)%bandStations]
		profile = append(profile, section.Station{AtPct: 100 * float64(i) / bandStations,
			Section: section.Section{Shape: section.Rectangular, ThicknessMM: t, WidthMM: width}})
	}
	return o.DiameterMM, profile, calc.Under("", profile.Check())
}
