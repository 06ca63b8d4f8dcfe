package options

import (
	"context"
	"math"
	"slices"
	"sync/atomic"

	"github.com/sourcegraph/conc"

	"pourwright/internal/calc"
)

// objectives are what a way costs in each respect; less is better.
type objectives []float64

// dominates says whether a is nowhere worse than b and somewhere better.
func (a objectives) dominates(b objectives) bool {
	better := false
	for i := range a {
		if a[i] > b[i] {
			return false
		}
		better = better || a[i] < b[i]
	}
	return better
}

// front returns the indices of the ways that no other beats, in their order;
// of ways equal in every respect the first.
func front(ways []objectives) []int {
	front := []int{}
	for i, a := range ways {
		if !slices.ContainsFunc(ways, func(b objectives) bool { return b.dominates(a) }) && !slices.ContainsFunc(front, func(j int) bool { return slices.Equal(ways[j], a) }) {
			front = append(front, i)
		}
	}
	return front
}

// layers returns at least most indices where there are as many: the front,
// then the front of what it leaves, and so on, the last layer thinned by
// [spread]. Coarse figures err; a way just behind the front is kept in sight.
func layers(ways []objectives, most int) []int {
	left := make([]int, len(ways))
	for i := range left {
		left[i] = i
	}
	kept := []int{}
	for len(left) > 0 && len(kept) < most {
		now := make([]objectives, len(left))
		for k, i := range left {
			now[k] = ways[i]
		}
		layer := front(now)
		if room := most - len(kept); len(layer) > room {
			picked := make([]objectives, len(layer))
			for k, l := range layer {
				picked[k] = now[l]
			}
			spread := spread(picked, room)
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

// spread returns at most n indices that show the whole: the best in each
// respect, then again and again the way farthest from those taken, each
// respect measured against its own range. Of equals the first.
func spread(ways []objectives, n int) []int {
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

func project(ways []objectives, k int) []float64 {
	v := make([]float64, len(ways))
	for i, w := range ways {
		v[i] = w[k]
	}
	return v
}

// combination is one way for each part, and what they come to together.
type combination struct {
	Ways       []int
	objectives objectives
}

// combine returns the combinations, one way a part, that no other beats. The
// costs of the parts add up, so a way that is beaten within its part is in no
// such combination and can be left out as it goes. Beyond most combinations at
// a part, those that [spread] shows are kept; exact reports that none were lost.
func combine(ctx context.Context, parts [][]objectives, most int) (list []combination, exact bool, err error) {
	list, exact = []combination{{}}, true
	for _, ways := range parts {
		var grown []combination
		best := front(ways)
		for _, c := range list {
			for _, i := range best {
				grown = append(grown, c.with(i, ways[i]))
			}
		}
		if ctx.Err() != nil {
			return nil, false, ctx.Err()
		}
		costs := costsOf(grown)
		keep := front(costs)
		if len(keep) > most {
			exact = false
			kept := make([]objectives, len(keep))
			for k, i := range keep {
				kept[k] = costs[i]
			}
			spread := spread(kept, most)
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

func (c combination) with(way int, g objectives) combination {
	sum := slices.Clone(g)
	for k, v := range c.objectives {
		sum[k] += v
	}
	return combination{append(slices.Clone(c.Ways), way), sum}
}

func costsOf(list []combination) []objectives {
	g := make([]objectives, len(list))
	for i, c := range list {
		g[i] = c.objectives
	}
	return g
}

// forEach calls f for 0 to n−1 on so many workers at once and returns the first
// error by index, or that of the context. What f writes by index does not
// depend on their number.
func forEach(ctx context.Context, n int, f func(ctx context.Context, i int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var wait conc.WaitGroup // a panic becomes the caller's
	cores := calc.Cores(ctx)
	workers := min(cores, n)
	one := calc.WithCores(ctx, cores/max(workers, 1))
	for range workers {
		wait.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= n || ctx.Err() != nil {
					return
				}
				errs[i] = f(one, i)
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
