package sizing

import (
	"math"

	"pourwright/internal/calc"
)

// CuffFit is the metal and the opening of a cuff.
type CuffFit struct {
	MetalMM       float64 `json:"metal_mm" doc:"Length of metal along the inside"`
	BlankLengthMM float64 `json:"blank_length_mm" doc:"Length of the strip at mid-thickness"`
	GapMM         float64 `json:"gap_mm" doc:"Opening along the inside"`
	OpeningMM     float64 `json:"opening_mm" doc:"Opening straight across, taken as round"`
	FlexStrainPct float64 `json:"flex_strain_pct" doc:"Strain of the skin of the metal when the opening is sprung to the thickness of the wrist; 0 where it slips in or no thickness was given"`
}

// HingeFit is the opening of a hinged bangle of two equal halves.
type HingeFit struct {
	OpenAngleDeg   float64 `json:"open_angle_deg" doc:"Angle that the hinge must open for the wrist to enter edgeways"`
	WristThickness float64 `json:"wrist_thickness_mm" doc:"Thickness of the wrist reckoned with"`
}

// cuff works out the metal: L = girth - gap at the inside, + π t (1 - gap/C)
// at mid-thickness.
func (in *BangleIn) cuff(out *BangleOut, b oval, wrist float64) {
	arc := 1 - in.GapMM/b.perimeter
	radius := b.perimeter / (2 * math.Pi)
	f := CuffFit{MetalMM: b.perimeter - in.GapMM, GapMM: in.GapMM, OpeningMM: 2 * radius * math.Sin(math.Pi*(1-arc))}
	f.BlankLengthMM = f.MetalMM + math.Pi*in.ThicknessMM*arc
	out.BlankLengthMM = f.BlankLengthMM
	out.Step("metal along the inside", f.MetalMM, "mm", "%.5g mm - gap %.4g mm", b.perimeter, in.GapMM)
	out.Cite(srcCuff, srcCuffs, srcStrips)
	if in.WristThicknessMM != nil && *in.WristThicknessMM > f.OpeningMM {
		if sprung, ok := spring(f.MetalMM+math.Pi*in.ThicknessMM*arc, *in.WristThicknessMM+in.ThicknessMM); ok {
			middle := radius + in.ThicknessMM/2
			f.FlexStrainPct = 100 * in.ThicknessMM / 2 * math.Abs(1/middle-1/sprung)
			out.Step("strain when sprung open", f.FlexStrainPct, "%", "t/2 × |1/R - 1/R'|, R %.4g mm, R' %.4g mm", middle, sprung)
		}
		out.Warn("cuff_flexed", calc.Care, "The wrist, %.0f mm thick, is put through an opening of %.0f mm: turn the wrist edgeways, or the cuff is bent every time it is worn.", *in.WristThicknessMM, f.OpeningMM)
	}
	if in.GapMM < 25 || in.GapMM > 32 {
		out.Warn("gap_unusual", calc.Note, "An opening of 25 to 32 mm is usual; %.0f mm was given.", in.GapMM)
	}
	out.Warn("cuff_cast", calc.Care, "Cuffs are flexed in wear and cast metal is coarse and porous: cast it curved to size, keep stones away from the bend, and do not plan on bending it.")
	out.Cuff = &f
}

// spring returns the mid-line radius of an arc of the given length whose ends
// stand a chord apart: chord = 2 R sin(π - L/(2R)), by bisection. The arc is
// taken as round and at least half a circle.
func spring(length, chord float64) (radius float64, ok bool) {
	least, most := length/(2*math.Pi), length/math.Pi // closed; half a circle
	if chord >= 2*most {
		return 0, false
	}
	for range 60 {
		r := (least + most) / 2
		if 2*r*math.Sin(math.Pi-length/(2*r)) < chord {
			least = r
		} else {
			most = r
		}
	}
	return (least + most) / 2, true
}

// hinge opens two equal halves about the end of the long axis: the free ends
// then stand 2 w sin(φ/2) apart.
func (in *BangleIn) hinge(out *BangleOut, b oval) {
	h := HingeFit{WristThickness: b.height - 15/math.Pi}
	if in.WristThicknessMM != nil {
		h.WristThickness = *in.WristThicknessMM
	}
	h.OpenAngleDeg = 2 * 180 / math.Pi * math.Asin(min(1, h.WristThickness/(2*b.width)))
	out.Step("hinge opens", h.OpenAngleDeg, "°", "2 asin(%.4g mm / (2 × %.4g mm))", h.WristThickness, b.width)
	out.Warn("hinge_metal", calc.Note, "Two saw cuts take two kerfs from the circumference (about 0.3 mm each) and the hinge and catch stand inside or outside the line: settle them before the pattern is made. Cast metal makes a poor spring: make tongue and pin of wrought metal.")
	out.Hinge = &h
}
