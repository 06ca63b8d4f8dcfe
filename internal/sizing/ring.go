package sizing

import (
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
)

// Profile of a band's inside face.
const (
	FlatInside    = "flat"
	RoundedInside = "rounded" // comfort fit
)

// RingSizeIn asks what a ring size is in all systems.
type RingSizeIn struct {
	Size          string   `json:"size" minLength:"1" maxLength:"24" doc:"The size as it is written in its system: 7, 6 3/4, 00, N½, N 1/2, Z+3, 54, 17.3, 0.68 in" example:"7"`
	System        System   `json:"system" enum:"circumference,diameter,us,uk,japan,continental,swiss,italian,spanish,indian,hong_kong" doc:"The system that the size is in. There is no default: a bare 14 is a size in four of them" example:"us"`
	BandWidthMM   *float64 `json:"band_width_mm,omitempty" minimum:"0.5" maximum:"40" doc:"Width of the band along the finger, for the allowance that a wide band needs" example:"8"`
	KnuckleSize   string   `json:"knuckle_size,omitempty" maxLength:"24" doc:"The size that just passes the knuckle, in the same system, where size is that of the finger's base" example:"8"`
	InsideProfile string   `json:"inside_profile" enum:"flat,rounded" default:"flat" doc:"Inside face of the band; a rounded (comfort-fit) one is read at another place of the ring stick"`
}

// RingSizeOut is a ring size in all systems.
type RingSizeOut struct {
	CircumferenceMM float64     `json:"circumference_mm" doc:"Inside circumference of the ring asked for"`
	DiameterMM      float64     `json:"diameter_mm" doc:"Inside diameter of the ring asked for"`
	ISO             NearestSize `json:"iso" doc:"Nearest size by ISO 8653 and JIS S 4700"`
	US              NearestSize `json:"us" doc:"Nearest size of the USA, Canada and Mexico, in quarters"`
	UK              NearestSize `json:"uk" doc:"Nearest size of the UK, Ireland, Australia, New Zealand and South Africa, in halves"`
	Japan           NearestSize `json:"japan" doc:"Nearest Japanese number (JCS)"`
	Continental     NearestSize `json:"continental" doc:"Nearest size of Switzerland, Italy, Spain and India, circumference less 40 mm, in halves"`
	HongKong        NearestSize `json:"hong_kong" doc:"Nearest Hong Kong number"`
	Diameter        NearestSize `json:"diameter" doc:"Diameter to 0.1 mm, as German retail quotes it"`
	HalfMillimetre  NearestSize `json:"half_millimetre" doc:"Nearest diameter in steps of 0.5 mm, as sold in eastern Europe"`
	// Wide is absent unless the width of the band was given.
	Wide       *WideBand    `json:"wide,omitempty" doc:"The ring to make when the size was taken with a narrow gauge and the band is of the given width"`
	Knuckle    *Knuckle     `json:"knuckle,omitempty" doc:"The ring for a finger whose knuckle was measured too"`
	OtherTable []OtherTable `json:"other_tables" doc:"What tables that disagree would call this ring"`
	calc.Notes
}

// NearestSize is the marked size of a system nearest to a ring.
type NearestSize struct {
	Size            string  `json:"size" doc:"The nearest marked size" example:"N½"`
	Value           float64 `json:"value" doc:"Exact place on the scale (UK: A is 0)" example:"13.54"`
	CircumferenceMM float64 `json:"circumference_mm" doc:"Inside circumference of the marked size"`
	DiameterMM      float64 `json:"diameter_mm" doc:"Inside diameter of the marked size"`
	ResidualMM      float64 `json:"residual_mm" doc:"Circumference asked for less that of the marked size"`
	HalfStepMM      float64 `json:"half_step_mm" doc:"Half a step of the scale in circumference: the most that rounding to it can cost"`
	OnScale         bool    `json:"on_scale" doc:"False where the size lies outside what the standard or the trade knows"`
}

// WideBand is the allowance for the width of a band.
type WideBand struct {
	AllowanceUS     float64 `json:"allowance_us_sizes" doc:"Usual allowance in US sizes"`
	AllowanceLowUS  float64 `json:"allowance_low_us_sizes" doc:"Least usual allowance in US sizes"`
	AllowanceHighUS float64 `json:"allowance_high_us_sizes" doc:"Greatest usual allowance in US sizes"`
	AllowanceMM     float64 `json:"allowance_mm" doc:"Usual allowance in circumference"`
	CircumferenceMM float64 `json:"circumference_mm" doc:"Inside circumference to make"`
	DiameterMM      float64 `json:"diameter_mm" doc:"Inside diameter to make"`
	ISO             string  `json:"iso" doc:"Nearest ISO size of the ring to make"`
	US              string  `json:"us" doc:"Nearest US size of the ring to make"`
	UK              string  `json:"uk" doc:"Nearest UK size of the ring to make"`
	Japan           string  `json:"japan" doc:"Nearest Japanese number of the ring to make"`
}

// OtherTable is a table in use that disagrees with the one used here.
type OtherTable struct {
	System       System  `json:"system" doc:"The system it is of"`
	Table        string  `json:"table" doc:"Which table"`
	Size         string  `json:"size" doc:"What it would call this ring"`
	DifferenceMM float64 `json:"difference_mm" doc:"Circumference that it gives to our nearest size, less ours"`
}

// RingSizes converts a ring size into all systems.
// Models: the linear scales of this package. Error: none beyond the standards'
// own; real US ring sticks differ by up to a quarter size.
func RingSizes(ctx context.Context, in RingSizeIn) (RingSizeOut, error) {
	c, err := Size(in.System, in.Size)
	if err != nil {
		return RingSizeOut{}, err
	}
	var checks calc.Checks
	checks.Bounds(in)
	if err := checks.Err(); err != nil {
		return RingSizeOut{}, err
	}
	given, _ := scaleOf(in.System)
	out := RingSizeOut{CircumferenceMM: c, DiameterMM: c / math.Pi, OtherTable: otherTables(c), Notes: calc.Noting(ctx)}
	out.Step("inside circumference", c, "mm", "%.7g mm + %.7g mm × %.6g (%s)", given.zero, given.step, given.value(c), given.name)
	out.Step("inside diameter", c/math.Pi, "mm", "C/π = %.6g mm/π", c)
	for i, to := range []*NearestSize{&out.ISO, &out.Diameter, &out.US, &out.UK, &out.Japan, &out.Continental, &out.HongKong} {
		*to = nearest(scales[i], c)
		out.Cite(scales[i].source)
	}
	out.HalfMillimetre = nearest(halfMillimetres, c)
	out.Cite(srcNoTolerance)
	if !out.ISO.OnScale {
		out.Warn("outside_iso", calc.Note, "ISO 8653 knows sizes 41 to 76; %.1f mm is computed, not standardised.", c)
	}
	if in.System == US {
		out.Warn("us_no_standard", calc.Note, "%s", usNoStandard)
	}
	switch in.System {
	case Continental:
		out.Warn("french_sizes", calc.Note, "Older French charts are quoted both as circumference and as circumference less 40. Ask, never guess.")
	case HongKong, "indian":
		out.Warn("charts_differ", calc.Care, "Charts of this system differ by up to %s. Ask for the inside diameter in mm as well.", map[bool]string{true: "0.5 mm of diameter", false: "2 mm of circumference"}[in.System == HongKong])
	}
	if in.InsideProfile == RoundedInside {
		out.Warn("comfort_fit", calc.Note, "A rounded inside is read on the stick at the middle of the band, a flat one at its lower edge (ISO 8653:2016, clause 4.2); comfort-fit bands are often marked a quarter to a half US size apart from flat ones.")
		out.Cite(srcReading)
	}
	if in.BandWidthMM != nil {
		out.wide(c, *in.BandWidthMM)
	}
	if c < childRing {
		out.Caution(safety.SmallChildren)
	}
	if in.KnuckleSize != "" {
		knuckle, err := Size(in.System, in.KnuckleSize)
		if err != nil {
			return RingSizeOut{}, calc.Refuse("knuckle_size", in.KnuckleSize, "give a size of the same system as size: %v", err)
		}
		out.knuckle(c, knuckle)
	}
	return out, nil
}

const usNoStandard = "There is no US standard: real ring sticks and finger gauges differ by up to about a quarter size (0.6 mm of circumference). Measure with the stick that the ring will be checked on."

var (
	srcNoTolerance = calc.Source{For: "tolerance", Text: "half a step of each scale is the rounding of the size. ISO 8653:2016 table 1 sets tolerances for the diameters of the ring stick; that table was not seen and is not guessed here. Stick scale 160 ± 0.5 mm for sizes 41 to 76 (clause 3): 0.11 mm of circumference", Status: calc.Computed}
	srcReading     = calc.Source{For: "reading point", Text: "ISO 8653:2016 (text of EN ISO 8653:2014), clause 4.2", Status: calc.Confirmed}
	srcWide        = calc.Source{For: "allowance for a wide band", Text: "up to 4 mm none; to 6 mm a quarter, to 8 mm a half, wider a half to one US size. Retail texts agree on the direction, not on the numbers", Status: calc.Practice}
)

// WidthAllowance returns the usual allowance, and its least and greatest, in
// US sizes for a band of the given width in mm. Common practice.
func WidthAllowance(widthMM float64) (usual, low, high float64) {
	switch {
	case widthMM <= 4:
		return 0, 0, 0
	case widthMM <= 6:
		return 0.25, 0, 0.5
	case widthMM <= 8:
		return 0.5, 0.25, 0.5
	}
	return 0.75, 0.5, 1
}

func (out *RingSizeOut) wide(c, width float64) {
	usual, low, high := WidthAllowance(width)
	extra := usual * scales[2].step
	w := &WideBand{AllowanceUS: usual, AllowanceLowUS: low, AllowanceHighUS: high, AllowanceMM: extra,
		CircumferenceMM: c + extra, DiameterMM: (c + extra) / math.Pi}
	w.ISO, _ = Label(Circumference, c+extra)
	w.US, _ = Label(US, c+extra)
	w.UK, _ = Label(UK, c+extra)
	w.Japan, _ = Label(Japan, c+extra)
	out.Wide = w
	out.Step("circumference for a wide band", c+extra, "mm", "%.6g mm + %g US size × %.6g mm", c, usual, scales[2].step)
	out.Cite(srcWide)
	if usual > 0 {
		out.Warn("wide_band", calc.Note, "A wide band sits tighter. The allowance holds when the finger was measured with a narrow gauge; measure with a gauge of the band's width where you can, and then add nothing.")
	}
}

func nearest(s scale, c float64) NearestSize {
	n := s.value(c)
	m := s.nearest(n)
	marked := s.circumference(m)
	residual := c - marked
	if math.Abs(residual) < 1e-9 { // a conversion there and back
		residual = 0
	}
	return NearestSize{Size: s.label(m), Value: n, CircumferenceMM: marked, DiameterMM: marked / math.Pi,
		ResidualMM: residual, HalfStepMM: s.quantum * s.step / 2, OnScale: m >= s.lo && m <= s.hi}
}

// tablesInUse are linear tables met in the trade that disagree with scales.
var tablesInUse = []struct {
	of         System
	zero, step float64
	table      string
}{
	{US, 1.43 * inch, 0.102 * inch, "Rowlett, How Many?: C = 1.43 in + 0.102 in × n"},
	{UK, math.Pi * 12.04, math.Pi * 0.3935, "older trade charts: A = 12.04 mm of diameter, 0.3935 mm a letter"},
	{Japan, 40, 1, "rule of thumb: circumference = number + 40, true for 1 to 14 only"},
}

func otherTables(c float64) []OtherTable {
	list := []OtherTable{}
	for _, t := range tablesInUse {
		s, _ := scaleOf(t.of)
		ours := s.nearest(s.value(c))
		theirs := s.nearest((c - t.zero) / t.step)
		list = append(list, OtherTable{t.of, t.table, s.label(theirs), t.zero + t.step*ours - s.circumference(ours)})
	}
	return list
}
