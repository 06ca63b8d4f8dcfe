package shape

import (
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/section"
	"pourwright/internal/verdict"
)

// Wear is whether the finished piece is stout enough to be worn.
type Wear struct {
	ThinnestMM float64         `json:"thinnest_mm" doc:"Least thickness after filing and polishing"`
	At         string          `json:"at" doc:"Where that is"`
	NarrowMM   float64         `json:"narrowest_mm" doc:"Least width after filing and polishing"`
	BendsN     *float64        `json:"bends_at_n,omitempty" doc:"Squeeze across the piece at which its weakest place begins to bend for good, of a ring, bangle or cuff"`
	SpringPct  *float64        `json:"opening_strain_pct,omitempty" doc:"Strain of the skin when a cuff is opened by 10 mm"`
	Reasons    verdict.Reasons `json:"reasons" doc:"Why it is too weak, or only just stout enough; empty when it is neither"`
}

// Least thickness in mm after filing: below the first too weak for daily wear,
// below the second to be worn with care.
var stout = map[Kind][2]float64{Ring: {1.0, 1.3}, Signet: {1.1, 1.4}, Bangle: {1.0, 1.4}, Cuff: {1.0, 1.4}, Bar: {0.7, 1.0}, Pendant: {0.6, 0.8}, Disc: {0.6, 0.8}, Drop: {0.6, 0.8}, Other: {0.6, 0.8}}

// Squeeze in N likewise: a firm grip round a rail is some tens of newtons.
var stiff = map[Kind][2]float64{Ring: {15, 30}, Signet: {15, 30}, Bangle: {4, 10}, Cuff: {3, 6}}

const (
	leastBail = 0.8 // mm of wire, below which a chain saws through
	goodBail  = 1.0
	openedMM  = 10.0 // of a cuff, each time it is put on
)

var (
	srcStout = calc.Source{For: "least thickness for wear", Text: "shank 1.0 to 1.3 mm, signet 1.1 to 1.4, bangle and cuff 1.0 to 1.4, bar 0.7 to 1.0, pendant, disc and drop 0.6 to 0.8, wire of a bail 0.8 to 1.0 mm; limits of squeeze ours", Status: calc.Practice}
	srcBend  = calc.Source{For: "squeeze that bends a ring", Text: "F = π σ W/R for a thin ring loaded across its diameter, the moment under the load being F R/π; S. Timoshenko, Strength of Materials, part II", Status: calc.FromMemory}
	srcYield = calc.Source{For: "yield strength of the casting", Text: "130 MPa, annealed sterling 120 to 140; gold alloys yield later", Status: calc.FromMemory}
	srcOpen  = calc.Source{For: "strain of a cuff that is opened", Text: "the arc keeps its length and opens evenly: t/2 × |1/R - 1/R'|", Status: calc.Computed}
)

// yieldMPa of the casting where no other is given: sterling, soft as cast.
const yieldMPa = 130

// elasticPct is the strain at which sterling begins to bend for good: yield
// over a modulus of 77 GPa.
const elasticPct = 100 * yieldMPa / 77e3

// Worn judges the finished piece.
// Model: least thickness by custom; a thin ring squeezed across. Error: a third,
// that of the yield strength as cast.
func (b *Body) Worn() Wear {
	w := Wear{Reasons: verdict.Reasons{}, NarrowMM: math.Inf(1)}
	var at float64
	w.ThinnestMM, at = b.Thinnest()
	w.At = b.Where(at)
	weakest, weakAt := math.Inf(1), 0.0
	for _, s := range b.Stations(wearStations) {
		if end := min(s.AtMM, b.LengthMM()-s.AtMM); !b.Closed() && end < max(s.ThicknessMM, s.WidthMM/2) {
			continue
		}
		w.NarrowMM = min(w.NarrowMM, s.WidthMM)
		if m := bendingMM3(s.Section); m < weakest {
			weakest, weakAt = m, s.AtPct
		}
	}
	limits := stout[b.Kind]
	if w.ThinnestMM < limits[1] {
		say := "worn with care it lasts"
		if w.ThinnestMM < limits[0] {
			say = "it is too thin for wear"
		}
		w.Reasons.Add(verdict.Geometry, verdict.Care, fmt.Sprintf("Leave %.1f mm or more there: press deeper or file less.", limits[1]),
			"%.1f mm thick after filing, %s: %s.", w.ThinnestMM, w.At, say)
	}
	if limit, ok := stiff[b.Kind]; ok {
		radius := b.InsideMM()/2 + w.ThinnestMM/2
		force := math.Pi * yieldMPa * weakest / radius
		w.BendsN = &force
		if force < limit[1] {
			say := "a firm grip can bend it"
			if force < limit[0] {
				say = "it bends in the hand"
			}
			w.Reasons.Add(verdict.Geometry, verdict.Care, "Make it thicker there: stiffness grows with the square of the thickness.",
				"A squeeze of %.0f N bends it for good, %s: %s.", force, b.Where(weakAt), say)
		}
	}
	if b.Kind == Cuff {
		b.opened(&w)
	}
	if b.bail != nil && b.bail.WireMM < goodBail {
		say := "worn with care it lasts"
		if b.bail.WireMM < leastBail {
			say = "a chain soon saws through it"
		}
		w.Reasons.Add(verdict.Geometry, verdict.Care, fmt.Sprintf("Make the wire of the loop %.1f mm or more.", goodBail), "The bail is %.1f mm thick after filing: %s.", b.bail.WireMM, say)
	}
	return w
}

// Sources of the judgement.
func (w *Wear) Sources() []calc.Source {
	list := []calc.Source{srcStout}
	if w.BendsN != nil {
		list = append(list, srcBend, srcYield)
	}
	if w.SpringPct != nil {
		list = append(list, srcOpen)
	}
	return list
}

// opened is what happens to a cuff that is opened to be put on.
func (b *Body) opened(w *Wear) {
	mid := b.Station(50)
	length := b.LengthMM()
	radius := b.InsideMM()/2 + mid.ThicknessMM/2
	opening := 2 * radius * math.Sin(math.Pi-length/(2*radius))
	wider, ok := Sprung(length, opening+openedMM)
	if !ok {
		return
	}
	strain := 100 * mid.ThicknessMM / 2 * math.Abs(1/radius-1/wider)
	w.SpringPct = &strain
	if strain > elasticPct {
		w.Reasons.Add(verdict.Geometry, verdict.Care, "Cast it to the size it is worn at, turn the wrist in edgeways, and keep stones off the middle.",
			"Opened by %.0f mm its skin is strained %.2f %%, over the %.2f %% that springs back: it takes a set each time, and cast metal cracks after some bends.", openedMM, strain, elasticPct)
	}
}

// Sprung returns the mid-line radius of an arc of the given length whose ends
// stand a chord apart: chord = 2 R sin(π - L/(2R)), by bisection. The arc is
// taken as round and at least half a circle.
func Sprung(length, chord float64) (radius float64, ok bool) {
	low, high := length/(2*math.Pi), length/math.Pi // closed; half a circle
	if chord >= 2*high {
		return 0, false
	}
	for range 60 {
		r := (low + high) / 2
		if 2*r*math.Sin(math.Pi-length/(2*r)) < chord {
			low = r
		} else {
			high = r
		}
	}
	return (low + high) / 2, true
}

// bendingMM3 is the modulus of bending of a section in the plane of the ring:
// its second moment about its centre over the farther face, mm³.
func bendingMM3(s section.Section) float64 {
	o := s.Outline()
	area, first, second := 0.0, 0.0, 0.0
	for i, p := range o {
		q := o[(i+1)%len(o)]
		cross := p[0]*q[1] - q[0]*p[1]
		area += cross / 2
		first += cross * (p[1] + q[1]) / 6
		second += cross * (p[1]*p[1] + p[1]*q[1] + q[1]*q[1]) / 12
	}
	centre := first / area
	return (second - area*centre*centre) / max(centre, s.ThicknessMM-centre)
}
