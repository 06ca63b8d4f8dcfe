package plan

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// someGoods draws small whole numbers, so that ties and equals are common and
// sums are exact.
func someGoods(t *rapid.T, most int) []Goods {
	ways := make([]Goods, rapid.IntRange(1, most).Draw(t, "ways"))
	for i := range ways {
		ways[i] = Goods{}
		for range 3 {
			ways[i] = append(ways[i], float64(rapid.IntRange(0, 6).Draw(t, "good")))
		}
	}
	return ways
}

func TestFrontIsWhatNothingBeats(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ways := someGoods(t, 20)
		front := Front(ways)
		for i, a := range ways {
			beaten := slices.ContainsFunc(ways, func(b Goods) bool { return b.Beats(a) })
			stands := slices.ContainsFunc(front, func(j int) bool { return slices.Equal(ways[j], a) })
			require.Equal(t, !beaten, stands, "way %d", i)
		}
	})
}

// TestCombineAgainstEveryCombination compares with all products of the parts.
func TestCombineAgainstEveryCombination(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := [][]Goods{someGoods(t, 6), someGoods(t, 6), someGoods(t, 6)}
		all := []Combination{{}}
		for _, ways := range parts {
			var grown []Combination
			for _, c := range all {
				for i, g := range ways {
					grown = append(grown, c.with(i, g))
				}
			}
			all = grown
		}
		want := []Goods{}
		for _, i := range Front(goodsOf(all)) {
			want = append(want, all[i].Goods)
		}
		got, exact, err := Combine(context.Background(), parts, 1000)
		require.NoError(t, err)
		require.True(t, exact)
		require.ElementsMatch(t, want, goodsOf(got))
		for _, c := range got {
			sum := Goods{0, 0, 0}
			for p, i := range c.Ways {
				for k, v := range parts[p][i] {
					sum[k] += v
				}
			}
			require.Equal(t, sum, c.Goods)
		}
	})
}

func TestSpreadShowsTheBestInEachRespect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ways := someGoods(t, 20)
		n := rapid.IntRange(3, 8).Draw(t, "n")
		spread := Spread(ways, n)
		require.Len(t, spread, min(n, len(ways)))
		for k := range ways[0] {
			least := slices.Min(project(ways, k))
			require.True(t, slices.ContainsFunc(spread, func(i int) bool { return ways[i][k] == least }))
		}
	})
}

func TestLayersKeepTheFrontFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ways := someGoods(t, 20)
		front := Front(ways)
		kept := Layers(ways, len(front))
		require.Equal(t, front, kept)
		require.Len(t, Layers(ways, 1000), len(ways))
	})
}

func TestEachStopsWhenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	ran := 0
	require.ErrorIs(t, Each(ctx, 10, 1, func(int) error { ran++; return nil }), context.Canceled)
	require.Zero(t, ran)
}
