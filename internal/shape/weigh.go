package shape

import (
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

// Densities of patterns in g/cm³. Waxes are 0.92 to 1.0, cured resins 1.1 to
// 1.2, brasses 8.4 to 8.7; weigh a block of your own in air and water.
var patternDensity = map[string]float64{"wax": 0.96, "resin": 1.15, "brass": 8.5, "silver": 10.36}

// SrcPattern is the source of the densities of patterns.
var SrcPattern = calc.Source{For: "densities of patterns", Text: "wax 0.96, resin 1.15, brass 8.5, sterling silver 10.36 g/cm³; from memory, confirm with a block of your own", Status: calc.FromMemory}

// density returns the density of the weighed pattern.
func (w *Weighed) density() (float64, error) {
	if w.DensityGCm3 != nil {
		return *w.DensityGCm3, nil
	}
	if d, ok := patternDensity[w.Material]; ok {
		return d, nil
	}
	return 0, calc.Refuse("weighed.density_g_cm3", nil, "give the density of the pattern, or name its material: wax, resin, brass or silver")
}

// weighed makes the sections so much thicker or thinner that the piece has the
// volume of the pattern on the scale. Length, inside and width stay as given:
// they are measured well, while an ornamented thickness is not.
func (s *Shape) weighed(b *Body) (*Body, error) {
	density, err := s.Weighed.density()
	if err != nil {
		return nil, err
	}
	goal := 1000 * s.Weighed.MassG / density
	low, high := 0.2, 5.0
	volume := func(k float64) float64 {
		v := b.thickened(k)
		if s.Weighed.WithoutBail && b.bail != nil {
			return v.VolumeMM3() - v.loopVolume()
		}
		return v.VolumeMM3()
	}
	if least, most := volume(low), volume(high); goal < least || goal > most {
		return nil, calc.Refuse("weighed.mass_g", s.Weighed.MassG, "give a mass that agrees with the measures: they hold %.3g g of this material, and a fifth to five times the thickness %.3g to %.3g g",
			b.VolumeMM3()*density/1000, least*density/1000, most*density/1000)
	}
	for range 34 {
		k := math.Sqrt(low * high)
		if volume(k) < goal {
			low = k
		} else {
			high = k
		}
	}
	return b.thickened(math.Sqrt(low * high)), nil
}

// thickened multiplies every thickness; of round wire the diameter's square.
func (b *Body) thickened(k float64) *Body {
	g := *b
	g.sections = make(section.Profile, len(b.sections))
	copy(g.sections, b.sections)
	for i := range g.sections {
		if g.sections[i].Shape == section.Round {
			g.sections[i].ThicknessMM *= math.Sqrt(k)
			continue
		}
		g.sections[i].ThicknessMM *= k
	}
	g.thins = make([]Place, len(b.thins))
	copy(g.thins, b.thins)
	for i := range g.thins {
		g.thins[i].ThicknessMM *= k
	}
	if b.head != nil {
		h := *b.head
		h.thickness *= k
		g.head = &h
	}
	g.settle()
	return &g
}
