package melt

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

// volume is that of the casting in mm³, with what the doubt about the
// pattern's density makes of it.
type volume struct{ likely, low, high float64 }

func sure(v float64) volume { return volume{v, v, v} }

// volume finds the casting's volume from the one way that was given.
func (in In) volume(ctx context.Context, n *calc.Notes) (volume, error) {
	ways := []struct {
		field string
		given bool
		find  func(*calc.Notes) (volume, error)
	}{
		{"volume_mm3", in.VolumeMM3 != 0, func(*calc.Notes) (volume, error) { return sure(in.VolumeMM3), nil }},
		{"pattern_mass_g", in.PatternMassG != 0, in.fromPattern},
		{"displaced_water_g", in.DisplacedWaterG != 0, in.fromWater},
		{"water_rise_mm3", in.WaterRiseMM3 != 0, func(*calc.Notes) (volume, error) { return sure(in.WaterRiseMM3), nil }},
		{"shape", in.Shape != "", in.fromSection},
		{"pattern_mesh", in.PatternMesh != nil, func(n *calc.Notes) (volume, error) { return in.fromMesh(ctx, n) }},
	}
	var given []string
	find := ways[0].find
	for _, w := range ways {
		if w.given {
			given, find = append(given, w.field), w.find
		}
	}
	if len(given) != 1 {
		r := calc.Refuse("volume_mm3", nil, "give exactly one of volume_mm3, pattern_mass_g, displaced_water_g, water_rise_mm3, shape or pattern_mesh")
		if len(given) > 1 {
			r = calc.Refuse(given[1], nil, "give exactly one of volume_mm3, pattern_mass_g, displaced_water_g, water_rise_mm3, shape or pattern_mesh; %s are given", strings.Join(given, " and "))
		}
		return volume{}, r
	}
	v, err := find(n)
	if err != nil {
		return volume{}, err
	}
	if !(v.likely > 0 && v.high < 1e10) {
		return volume{}, calc.Refuse(given[0], v.likely, "give what makes a volume above 0 and below 1e10 mm³")
	}
	return v, nil
}

// fromMesh takes the volume that the pattern's surface encloses.
func (in In) fromMesh(ctx context.Context, n *calc.Notes) (volume, error) {
	solid, err := in.PatternMesh.Load(ctx)
	if err != nil {
		return volume{}, calc.Under("pattern_mesh", err)
	}
	n.Step("volume of the pattern", solid.VolumeMM3, "mm³", "enclosed by %d facets", len(solid.T))
	return sure(solid.VolumeMM3), nil
}

// density is a pattern material's density in g/cm³, with its band.
type density struct {
	likely, low, high float64
	text              string
	status            calc.Status
}

// Woods: "seasoned and dry", two public tables that agree. Metals: handbook
// values, the band for alloy and porosity.
var patterns = map[string]density{
	"wax":           {0.96, 0.90, 1.00, "modelling and injection waxes; the trade reckons with 0.95 to 1", calc.Practice},
	"printed_resin": {1.12, 1.05, 1.20, "cured photopolymer resins; 1.09 read for a castable one", calc.FromMemory},
	"pla":           {1.24, 1.24, 1.26, "polylactide, printed solid; public property pages", calc.Practice},
	"abs":           {1.04, 1.00, 1.07, "acrylonitrile butadiene styrene, printed solid", calc.FromMemory},
	"polystyrene":   {1.05, 1.03, 1.06, "solid sheet, not foam", calc.FromMemory},
	"lime_wood":     {0.56, 0.42, 0.60, "public tables of the densities of seasoned woods", calc.Practice},
	"pear_wood":     {0.67, 0.60, 0.73, "public tables of the densities of seasoned woods", calc.Practice},
	"maple_wood":    {0.68, 0.60, 0.75, "public tables of the densities of seasoned woods", calc.Practice},
	"birch_wood":    {0.67, 0.51, 0.77, "public tables of the densities of seasoned woods", calc.Practice},
	"beech_wood":    {0.75, 0.70, 0.90, "public tables of the densities of seasoned woods", calc.Practice},
	"box_wood":      {1.00, 0.95, 1.20, "public tables of the densities of seasoned woods", calc.Practice},
	"brass":         {8.45, 8.30, 8.75, "cast and wrought brasses, 30 to 37 % zinc", calc.FromMemory},
	"bronze":        {8.80, 8.60, 8.90, "tin bronze, 88-8-4: 8.80 g/cm³", calc.FromMemory},
	"copper":        {8.96, 8.90, 8.96, "handbook density of copper", calc.FromMemory},
	"silver_925":    {10.36, 10.15, 10.40, "sterling silver, ideal mixing of 10.49 and 8.96 g/cm³; a casting is up to 2 % less", calc.Computed},
	"tin":           {7.30, 7.20, 7.31, "electrical-contacts handbook tables; pewter is close", calc.Confirmed},
	"lead":          {11.34, 11.30, 11.35, "Incropera and DeWitt, table A.1", calc.Confirmed},
	"aluminium":     {2.70, 2.64, 2.80, "aluminium and its common alloys", calc.FromMemory},
	"steel":         {7.85, 7.75, 8.05, "carbon and stainless steels", calc.FromMemory},
}

// Patterns lists the pattern materials known by name.
func Patterns() []string { return slices.Sorted(maps.Keys(patterns)) }

// fromPattern: V = m/ρ of the pattern.
func (in In) fromPattern(n *calc.Notes) (volume, error) {
	own, named := in.PatternDensityGCm3, in.PatternMaterial
	var d density
	switch {
	case own != 0 && named != "":
		return volume{}, calc.Refuse("pattern_density_g_cm3", own, "give it or pattern_material, not both")
	case own != 0:
		d = density{own, own, own, "the request", calc.YourInput}
	case named != "":
		d = patterns[named]
	default:
		return volume{}, calc.Refuse("pattern_material", nil, "give what the pattern is made of, or pattern_density_g_cm3")
	}
	n.Cite(calc.Source{For: "density of the pattern, " + strings.ReplaceAll(named, "_", " "), Text: d.text, Status: d.status})
	v := volume{in.PatternMassG / d.likely * 1000, in.PatternMassG / d.high * 1000, in.PatternMassG / d.low * 1000}
	n.Step("volume of the pattern", v.likely, "mm³", "m / ρ = %g g / %g g/cm³ (%g to %g)", in.PatternMassG, d.likely, d.low, d.high)
	return v, nil
}

var srcWater = calc.Source{For: "density of water, 0 to 40 °C", Text: "M. Tanaka, G. Girard, R. Davis, A. Peuto, N. Bignell, Recommended table for the density of water, Metrologia 38 (2001) 301-309, p. 305; coefficients read in copies of the formula", Status: calc.Confirmed}

// WaterDensityKgM3 returns the density in kg/m³ of air-free water at
// atmospheric pressure, 0 to 40 °C (Tanaka et al. 2001, formula of p. 305,
// ±0.001 kg/m³; air in tap water takes off at most 0.005). Outside the range
// it is NaN.
func WaterDensityKgM3(tC float64) float64 {
	if !(tC >= 0 && tC <= 40) {
		return math.NaN()
	}
	const a1, a2, a3, a4, a5 = -3.983035, 301.797, 522528.9, 69.34881, 999.974950
	return a5 * (1 - (tC+a1)*(tC+a1)*(tC+a2)/(a3*(tC+a4)))
}

// fromWater: Archimedes, V = m/ρ of the water. The buoyancy of the air, one
// part in a thousand, is left out.
func (in In) fromWater(n *calc.Notes) (volume, error) {
	rho := WaterDensityKgM3(in.WaterTemperatureC)
	n.Cite(srcWater)
	v := in.DisplacedWaterG / rho * 1e6
	n.Step("volume displaced", v, "mm³", "m / ρ = %g g / %.6g g/cm³ at %g °C", in.DisplacedWaterG, rho/1000, in.WaterTemperatureC)
	return sure(v), nil
}

// fromSection: a bar or a band of one section or of several.
func (in In) fromSection(n *calc.Notes) (volume, error) {
	p, err := in.profile()
	if err != nil {
		return volume{}, err
	}
	n.Cite(srcSections)
	l, d := in.LengthMM, in.InsideDiameterMM
	switch {
	case (l != 0) == (d != 0):
		return volume{}, calc.Refuse("length_mm", nil, "give either length_mm of a bar or inside_diameter_mm of a closed band")
	case l != 0:
		v := p.Volume(l)
		n.Step("volume of the bar", v, "mm³", "mean area × length = %.5g mm² × %g mm", v/l, l)
		return sure(v), nil
	}
	v := p.RingVolume(d)
	n.Step("volume of the band", v, "mm³", "mean of area × π × (inside diameter + 2 × centroid), mean area %.5g mm², %g mm inside", p.Mean(section.Section.Area), d)
	return sure(v), nil
}

// profile reads the section, constant or by stations.
func (in In) profile() (section.Profile, error) {
	at := in.ProfileAtPct
	if len(at) == 0 {
		if len(in.ProfileThicknessMM)+len(in.ProfileWidthMM) > 0 {
			return nil, calc.Refuse("profile_at_pct", nil, "give the places along the length that the profile's measures belong to")
		}
		s := section.Section{Shape: in.Shape, ThicknessMM: in.ThicknessMM, WidthMM: in.WidthMM}
		return section.Uniform(s), s.Check()
	}
	measure := func(field string, list []float64, single float64) ([]float64, error) {
		switch {
		case len(list) == len(at):
			return list, nil
		case len(list) == 0:
			return slices.Repeat([]float64{single}, len(at)), nil
		}
		return nil, calc.Refuse(field, len(list), "give %d values, one for each place of profile_at_pct", len(at))
	}
	thick, err := measure("profile_thickness_mm", in.ProfileThicknessMM, in.ThicknessMM)
	if err != nil {
		return nil, err
	}
	width, err := measure("profile_width_mm", in.ProfileWidthMM, in.WidthMM)
	if err != nil {
		return nil, err
	}
	var c calc.Checks
	p := make(section.Profile, len(at))
	for i := range at {
		p[i] = section.Station{AtPct: at[i], Section: section.Section{Shape: in.Shape, ThicknessMM: thick[i], WidthMM: width[i]}}
		if i > 0 && !(at[i] > at[i-1]) {
			c.Refuse(fmt.Sprintf("profile_at_pct[%d]", i), at[i], "give places in rising order, each after the one before (%g)", at[i-1])
		}
	}
	c.Under("", p[0].Check()) // the tags bound the lists; what single values lack, all places lack
	return p, c.Err()
}

// thickest is the greatest thickness in mm of the section given.
func (in In) thickest() float64 {
	if len(in.ProfileThicknessMM) > 0 {
		return slices.Max(in.ProfileThicknessMM)
	}
	return in.ThicknessMM
}
