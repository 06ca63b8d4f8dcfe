package fill

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

var pourNames = [pourDims]string{ofTemperature: "pour temperature of the day", ofRate: "hand of the day", ofThickness: "thickness of the impression",
	ofGas: "gas of the day", ofFall: "height of the fall", ofBreak: "", ofWall: "clay of the day"}

// mostCauses are told; what chance alone would show is left out.
const mostCauses = 5

// causes ranks the uncertain quantities by their share in the scatter of the
// margin: squared rank correlations, which are shares of the variance where
// the quantities are independent and act one way. What is left is interplay.
func (r *risk) causes() []Cause {
	n := len(r.outcomes)
	margins := make([]float64, n)
	for i := range margins {
		margins[i] = r.outcomes[i].margin()
	}
	ranked := ranks(margins)
	out := []Cause{}
	add := func(name string, column []float64) {
		rho := correlation(ranks(column), ranked)
		c := Cause{Cause: name, SharePct: math.Round(100 * rho * rho), Helps: "neither"}
		if math.Abs(rho) > 2/math.Sqrt(float64(r.studios)) { // twice what chance alone would show
			c.Helps = "more"
			if rho < 0 {
				c.Helps = "less"
			}
		}
		out = append(out, c)
	}
	column := make([]float64, n)
	values := make([]studio, r.studios)
	for i := range values {
		values[i] = r.job.studio(i)
	}
	for k := range unknowns {
		for i := range column {
			column[i] = values[i/r.pours].v[k]
		}
		add(unknownTable[k].Name, column)
	}
	for i := range column {
		column[i] = values[i/r.pours].effusivity
	}
	add("heat diffusivity of the clay", column)
	for k, name := range pourNames {
		if name == "" {
			continue
		}
		for i := range column {
			column[i] = points.pour[i/r.pours*each+i%r.pours][k]
		}
		add(name, column)
	}
	slices.SortStableFunc(out, func(a, b Cause) int { return cmp.Compare(b.SharePct, a.SharePct) })
	told := slices.DeleteFunc(slices.Clone(out), func(c Cause) bool { return c.Helps == "neither" })
	if len(told) == 0 {
		told = out[:1]
	}
	return told[:min(mostCauses, len(told))]
}

// ranks returns the rank of every value, equal ones sharing the mean of theirs.
func ranks(v []float64) []float64 {
	order := make([]int, len(v))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(v[a], v[b]) })
	out := make([]float64, len(v))
	for i := 0; i < len(order); {
		k := i
		for k < len(order) && v[order[k]] == v[order[i]] {
			k++
		}
		for _, o := range order[i:k] {
			out[o] = float64(i+k-1) / 2
		}
		i = k
	}
	return out
}

// correlation is 0 where one of the two does not vary.
func correlation(a, b []float64) float64 {
	if stat.Variance(a, nil) == 0 || stat.Variance(b, nil) == 0 {
		return 0
	}
	return stat.Correlation(a, b, nil)
}
