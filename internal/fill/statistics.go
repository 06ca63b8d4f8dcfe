package fill

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/stat"
)

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
