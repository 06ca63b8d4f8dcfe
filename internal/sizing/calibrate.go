package sizing

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// MouldCalibrationIn is a studio's own measured pours. It is flat.
type MouldCalibrationIn struct {
	MouldMM       []float64 `json:"mould_mm" minItems:"2" maxItems:"200" minimum:"1" maximum:"300" doc:"A length measured in each mould, such as the inside diameter" example:"[62.9, 65.1]"`
	CastMM        []float64 `json:"cast_mm" minItems:"2" maxItems:"200" minimum:"1" maximum:"300" doc:"The same length of each casting, cold and unfiled, in the same order" example:"[61.85, 64.05]"`
	PatternMM     []float64 `json:"pattern_mm,omitempty" maxItems:"200" minimum:"1" maximum:"300" doc:"The same length of the pattern, in the same order, for the clay's spring-back"`
	ConfidencePct float64   `json:"confidence_pct" minimum:"50" maximum:"99.9" default:"95" doc:"Confidence of the intervals"`
	Alloy         string    `json:"alloy,omitempty" maxLength:"40" doc:"Alloy of the catalogue, to compare with its figure" example:"silver-925"`
}

// MouldCalibrationOut is a studio's own contraction.
type MouldCalibrationOut struct {
	Contraction StudioFigure  `json:"contraction" doc:"Linear contraction, (mould - casting) / casting, per cent: give typical_pct as contraction_pct, next_spread_pct as contraction_spread_pct"`
	SpringBack  *StudioFigure `json:"spring_back,omitempty" doc:"(mould - pattern) / pattern, per cent: give typical_pct as spring_back_pct"`
	Each        []float64     `json:"each_pct" doc:"The contraction of each pour, per cent"`
	Suspect     []int         `json:"suspect" doc:"Pours (counted from 1) that lie outside the rest at 99 %: measure them again before leaving them out"`
	calc.Notes
}

// StudioFigure is a mean with its uncertainty.
type StudioFigure struct {
	Count        int     `json:"count" doc:"Number of pours"`
	TypicalPct   float64 `json:"typical_pct" doc:"Mean"`
	DeviationPct float64 `json:"deviation_pct" doc:"Standard deviation of one pour"`
	MeanSpread   float64 `json:"mean_spread_pct" doc:"Plus or minus on the mean, at the confidence asked for"`
	NextSpread   float64 `json:"next_spread_pct" doc:"Plus or minus on the next single pour, at the confidence asked for"`
}

var srcStudent = calc.Source{For: "intervals", Text: "Student's t with n - 1 degrees of freedom: mean ± t s/√n, next pour ± t s √(1 + 1/n); NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2", Status: calc.FromMemory}

// CalibrateMould finds the studio's own contraction, and spring-back where the
// patterns were measured, from measured pours. Model: independent pours of one
// normal distribution; with fewer than about five the interval is wide, and says so.
func CalibrateMould(ctx context.Context, in MouldCalibrationIn) (MouldCalibrationOut, error) {
	n := len(in.MouldMM)
	var c calc.Checks
	c.Bounds(in)
	if len(in.CastMM) != n {
		c.Refuse("cast_mm", len(in.CastMM), "give as many castings as moulds (%d)", n)
	}
	if in.PatternMM != nil && len(in.PatternMM) != n {
		c.Refuse("pattern_mm", len(in.PatternMM), "give as many patterns as moulds (%d), or none", n)
	}
	if err := c.Err(); err != nil {
		return MouldCalibrationOut{}, err
	}
	each := shares("cast_mm", in.MouldMM, in.CastMM, &c)
	var spring []float64
	if in.PatternMM != nil {
		spring = shares("pattern_mm", in.MouldMM, in.PatternMM, &c)
	}
	var typical, low, high float64
	if in.Alloy != "" {
		m, err := metal.Named(in.Alloy)
		c.Under("", err)
		if err == nil {
			typical, low, high = m.ContractionPct()
		}
	}
	if err := c.Err(); err != nil {
		return MouldCalibrationOut{}, err
	}
	out := MouldCalibrationOut{Contraction: studioFigure(each, in.ConfidencePct), Each: each, Suspect: suspects(each), Notes: calc.Noting(ctx)}
	f := out.Contraction
	t := student(n-1, in.ConfidencePct)
	out.Step("mean contraction", f.TypicalPct, "%", "mean of %d × (mould - casting)/casting", n)
	out.Step("on the mean", f.MeanSpread, "%", "t s/√n = %.4g × %.4g %%/√%d", t, f.DeviationPct, n)
	out.Step("on the next pour", f.NextSpread, "%", "t s √(1 + 1/n) = %.4g × %.4g %% × √(1 + 1/%d)", t, f.DeviationPct, n)
	out.Cite(srcStudent, srcPatternRule)
	if spring != nil {
		s := studioFigure(spring, in.ConfidencePct)
		out.SpringBack = &s
	}
	if n < 5 {
		out.Warn("few_pours", calc.Note, "%d pours are few: the interval is wide because nothing else is known. Every further pour narrows it.", n)
	}
	if len(out.Suspect) > 0 {
		out.Warn("suspect_pours", calc.Care, "Some pours lie apart from the rest. Measure them again; leave one out only for a reason other than its value.")
	}
	if typical != 0 && (f.TypicalPct+f.MeanSpread < low || f.TypicalPct-f.MeanSpread > high) {
		out.Warn("outside_band", calc.Care, "Your contraction lies outside the %.2g to %.2g %% to expect of %s. Was the mould measured, not the pattern, and the casting before filing?", low, high, in.Alloy)
	}
	return out, nil
}

// shares returns 100 (a - b)/b of each pair. More than 8 % is a slip, not a contraction.
func shares(field string, a, b []float64, c *calc.Checks) []float64 {
	list := make([]float64, len(a))
	for i := range a {
		list[i] = 100 * (a[i] - b[i]) / b[i]
		if !(b[i] >= 1 && a[i] >= 1 && math.Abs(list[i]) <= 8) {
			c.Refuse(at(field, i), b[i], "give a length of 1 mm or more within 8 %% of that in the mould (%g)", a[i])
		}
	}
	return list
}

func studioFigure(x []float64, confidencePct float64) StudioFigure {
	mean, s := stat.MeanStdDev(x, nil)
	n := float64(len(x))
	t := student(len(x)-1, confidencePct)
	return StudioFigure{len(x), mean, s, t * s / math.Sqrt(n), t * s * math.Sqrt(1+1/n)}
}

// student is the two-sided quantile of Student's t.
func student(freedom int, confidencePct float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(freedom)}.Quantile(0.5 + confidencePct/200)
}

// suspects lists the values, counted from 1, that lie outside the 99 % interval
// for a next value made from the others; with fewer than five none can.
func suspects(x []float64) []int {
	list := []int{}
	if len(x) < 5 {
		return list
	}
	rest := make([]float64, 0, len(x)-1)
	for i, v := range x {
		rest = append(append(rest[:0], x[:i]...), x[i+1:]...)
		if f := studioFigure(rest, 99); math.Abs(v-f.TypicalPct) > f.NextSpread+1e-9 {
			list = append(list, i+1)
		}
	}
	return list
}

func at(field string, i int) string { return fmt.Sprintf("%s[%d]", field, i) }
