package sizing

import (
	"fmt"
	"math"

	"pourwright/internal/calc"
)

// BenchOption is a way to come from the pattern at hand to the finished size.
type BenchOption struct {
	Method      string  `json:"method" enum:"use_as_it_is,stretch,compress,cut_and_solder,edit_impression,mould_anew" doc:"What to do"`
	Verdict     string  `json:"verdict" enum:"good,with_care,no" doc:"Whether to"`
	ChangeMM    float64 `json:"change_mm" doc:"Change in inside circumference, casting to finished piece"`
	ChangeUS    float64 `json:"change_us_sizes" doc:"The same in US ring sizes"`
	StrainPct   float64 `json:"strain_pct" doc:"Strain along the middle of the section; 0 where nothing is strained"`
	ThicknessMM float64 `json:"finished_thickness_mm" doc:"Finished thickness after it"`
	PieceMM     float64 `json:"piece_mm" doc:"Length along the middle of the section to saw out (negative) or let in, saw cut included; 0 where none"`
	Because     string  `json:"because" doc:"Why"`
}

var srcBenchStrain = calc.Source{For: "stretching a casting", Text: "up to 2 % of the middle line without fuss, to 5 % with annealing between passes, no more in a sand- or clay-cast section, which holds pores; with stones in place 0.5 % at most", Status: calc.Choice}

// Strains of a cast band along its middle, per cent.
const (
	easyStrain, mostStrain = 2.0, 5.0
	stoneStrain            = 0.5
	kerfMM                 = 0.3 // a common saw blade
)

// bench compares correcting a casting of the uncorrected pattern with moulding anew.
func (in *MouldIn) bench(out *MouldOut) []BenchOption {
	cast := out.Edit.ImpressionInsideMM / (1 + out.ContractionPct/100)
	asIs := cast + 2*in.BenchInsideMM
	change := math.Pi * (out.Finished.InsideDiameterMM - asIs)
	t := out.Finished.Section.ThicknessMM
	middle := math.Pi * (asIs + t)
	strain := 100 * change / middle
	us := change / scales[2].step
	out.Step("finished inside if cast as it is", asIs, "mm", "%.6g mm / (1 + %.3g %%) + 2 × %.3g mm", out.Edit.ImpressionInsideMM, out.ContractionPct, in.BenchInsideMM)
	if math.Abs(change) <= fileMM {
		return []BenchOption{{"use_as_it_is", "good", change, us, 0, t, 0, "the difference is within the file"}}
	}
	out.Cite(srcBenchStrain)
	way, limit := "stretch", "a hammer and mandrel, or rolls for a plain band"
	if change < 0 {
		way, limit = "compress", "a ring press; only a plain band takes it evenly"
	}
	// Width and thickness share the change of section: volume is kept.
	after := t / math.Sqrt(1+strain/100)
	bend := BenchOption{way, "good", change, us, strain, after, 0, limit}
	switch {
	case in.StonesInPlace && math.Abs(strain) > stoneStrain:
		bend.Verdict, bend.Because = "no", fmt.Sprintf("%.1f %% under stones loosens or cracks them", math.Abs(strain))
	case in.Piece == CuffPiece:
		bend.Verdict, bend.StrainPct, bend.ThicknessMM, bend.Because = "with_care", 0, t, "a cuff is bent, not stretched: its opening takes the difference"
	case math.Abs(strain) > mostStrain:
		bend.Verdict, bend.Because = "no", fmt.Sprintf("%.1f %% is more than a cast section takes", math.Abs(strain))
	case math.Abs(strain) > easyStrain || in.Repeats > 0 || in.StonesInPlace:
		bend.Verdict, bend.Because = "with_care", "anneal between passes and watch for pores opening, ornament flattening and stones loosening"
	}
	piece := change + math.Copysign(kerfMM, change)
	cut := BenchOption{"cut_and_solder", "with_care", change, us, 0, t, piece, "one or two solder seams; repeats and stones must not fall on them"}
	if in.StonesInPlace {
		cut.Verdict, cut.Because = "no", "soldering heat reaches the stones"
	}
	edit := BenchOption{"edit_impression", "good", 0, 0, 0, t, 0, "no strain and no seam; see edit"}
	switch share := 100 * out.Edit.ArcMM / (math.Pi * out.Edit.ImpressionInsideMM); {
	case share > 25:
		edit.Verdict, edit.Because = "no", fmt.Sprintf("%.0f %% of the impression is another ring", share)
	case share > 10:
		edit.Verdict, edit.Because = "with_care", fmt.Sprintf("%.0f %% of the impression is a long way to close without distortion", share)
	case in.Piece == RingPiece:
		edit.Verdict, edit.Because = "with_care", "two joints within so small a round are hard to close true"
	}
	if out.Edit.Action == "use_as_it_is" {
		edit.Because = "the impression already fits"
	}
	anew := BenchOption{"mould_anew", "good", 0, 0, 0, t, 0, fmt.Sprintf("a pattern or former of %.2f mm inside", out.PatternWanted.InsideDiameterMM)}
	return []BenchOption{bend, cut, edit, anew}
}

// advice is the first good way, or else the first to take with care.
func advice(options []BenchOption) string {
	for _, verdict := range []string{"good", "with_care"} {
		for _, o := range options {
			if o.Verdict == verdict {
				return o.Method
			}
		}
	}
	return "mould_anew"
}
