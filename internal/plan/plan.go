// Package plan chooses among ways to do a job that trade several goods against
// each other: which are beaten by none, how the choices of several parts
// combine, and which few show the whole.
package plan

import (
	"context"
	"math"
	"slices"
	"sync/atomic"

	"github.com/sourcegraph/conc"
)

// Goods are what a way costs in each respect; less is better.
type Goods []float64

// Beats says whether a is nowhere worse than b and somewhere better.
func (a Goods) Beats(b Goods) bool {
	better := false
	for i := range a {
		if a[i] > b[i] {
			return false
		}
		better = better || a[i] < b[i]
	}
	return better
}

// Front returns the indices of the ways that no other beats, in their order;
// of ways equal in every respect the first.
func Front(ways []Goods) []int {
	front := []int{}
	for i, a := range ways {
		if !slices.ContainsFunc(ways, func(b Goods) bool { return b.Beats(a) }) && !slices.ContainsFunc(front, func(j int) bool { return slices.Equal(ways[j], a) }) {
			front = append(front, i)
		}
	}
	return front
}

// Layers returns at least most indices where there are as many: the front,
// then the front of what it leaves, and so on, the last layer thinned by
// [Spread]. Coarse figures err; a way just behind the front is kept in sight.
func Layers(ways []Goods, most int) []int {
	left := make([]int, len(ways))
	for i := range left {
		left[i] = i
	}
	kept := []int{}
	for len(left) > 0 && len(kept) < most {
		now := make([]Goods, len(left))
		for k, i := range left {
			now[k] = ways[i]
		}
		layer := Front(now)
		if room := most - len(kept); len(layer) > room {
			picked := make([]Goods, len(layer))
			for k, l := range layer {
				picked[k] = now[l]
			}
			spread := Spread(picked, room)
			for k, s := range spread {
				spread[k] = layer[s]
			}
			layer = spread
		}
		for _, l := range layer {
			kept = append(kept, left[l])
		}
		for _, l := range slices.Backward(slices.Sorted(slices.Values(layer))) {
			left = slices.Delete(left, l, l+1)
		}
	}
	slices.Sort(kept)
	return kept
}

// Spread returns at most n indices that show the whole: the best in each
// respect, then again and again the way farthest from those taken, each
// respect measured against its own range. Of equals the first.
func Spread(ways []Goods, n int) []int {
	if len(ways) == 0 || n <= 0 {
		return []int{}
	}
	lo, hi := slices.Clone(ways[0]), slices.Clone(ways[0])
	for _, w := range ways {
		for k, v := range w {
			lo[k], hi[k] = math.Min(lo[k], v), math.Max(hi[k], v)
		}
	}
	taken := []int{}
	for k := range lo {
		best := slices.Index(project(ways, k), lo[k])
		if len(taken) < n && !slices.Contains(taken, best) {
			taken = append(taken, best)
		}
	}
	for len(taken) < min(n, len(ways)) {
		far, at := -1.0, 0
		for i, w := range ways {
			near := math.Inf(1)
			for _, t := range taken {
				sum := 0.0
				for k := range w {
					if hi[k] > lo[k] {
						d := (w[k] - ways[t][k]) / (hi[k] - lo[k])
						sum += float64(d * d)
					}
				}
				near = math.Min(near, sum)
			}
			if near > far && !slices.Contains(taken, i) {
				far, at = near, i
			}
		}
		taken = append(taken, at)
	}
	slices.Sort(taken)
	return taken
}

func project(ways []Goods, k int) []float64 {
	v := make([]float64, len(ways))
	for i, w := range ways {
		v[i] = w[k]
	}
	return v
}

// Combination is one way for each part, and what they come to together.
type Combination struct {
	Ways  []int
	Goods Goods
}

// Combine returns the combinations, one way a part, that no other beats. The
// goods of the parts add up, so a way that is beaten within its part is in no
// such combination and can be left out as it goes. Beyond most combinations at
// a part, those that [Spread] shows are kept; exact reports that none were lost.
func Combine(ctx context.Context, parts [][]Goods, most int) (list []Combination, exact bool, err error) {
	list, exact = []Combination{{}}, true
	for _, ways := range parts {
		var grown []Combination
		front := Front(ways)
		for _, c := range list {
			for _, i := range front {
				grown = append(grown, c.with(i, ways[i]))
			}
		}
		if ctx.Err() != nil {
			return nil, false, ctx.Err()
		}
		goods := goodsOf(grown)
		keep := Front(goods)
		if len(keep) > most {
			exact = false
			kept := make([]Goods, len(keep))
			for k, i := range keep {
				kept[k] = goods[i]
			}
			spread := Spread(kept, most)
			for k, s := range spread {
				spread[k] = keep[s]
			}
			keep = spread
		}
		list = list[:0]
		for _, i := range keep {
			list = append(list, grown[i])
		}
	}
	return list, exact, nil
}

func (c Combination) with(way int, g Goods) Combination {
	sum := slices.Clone(g)
	for k, v := range c.Goods {
		sum[k] += v
	}
	return Combination{append(slices.Clone(c.Ways), way), sum}
}

func goodsOf(list []Combination) []Goods {
	g := make([]Goods, len(list))
	for i, c := range list {
		g[i] = c.Goods
	}
	return g
}

// Each calls f for 0 to n−1 on so many workers at once and returns the first
// error by index, or that of the context. What f writes by index does not
// depend on their number.
func Each(ctx context.Context, n, workers int, f func(i int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var wait conc.WaitGroup // a panic becomes the caller's
	for range min(workers, n) {
		wait.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= n || ctx.Err() != nil {
					return
				}
				errs[i] = f(i)
			}
		})
	}
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
