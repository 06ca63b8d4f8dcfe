package options

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// someGoods draws small whole numbers, so that ties and equals are common and
// sums are exact.
func someGoods(t *rapid.T, most int) []objectives {
	ways := make([]objectives, rapid.IntRange(1, most).Draw(t, "ways"))
	for i := range ways {
		ways[i] = objectives{}
		for range 3 {
			ways[i] = append(ways[i], float64(rapid.IntRange(0, 6).Draw(t, "good")))
		}
	}
	return ways
}

func TestFrontIsWhatNothingBeats(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ways := someGoods(t, 20)
		front := front(ways)
		for i, a := range ways {
			beaten := slices.ContainsFunc(ways, func(b objectives) bool { return b.dominates(a) })
			stands := slices.ContainsFunc(front, func(j int) bool { return slices.Equal(ways[j], a) })
			require.Equal(t, !beaten, stands, "way %d", i)
		}
	})
}

// TestCombineAgainstEveryCombination compares with all products of the parts.
func TestCombineAgainstEveryCombination(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := [][]objectives{someGoods(t, 6), someGoods(t, 6), someGoods(t, 6)}
		all := []combination{{}}
		for _, ways := range parts {
			var grown []combination
			for _, c := range all {
				for i, g := range ways {
					grown = append(grown, c.with(i, g))
				}
			}
			all = grown
		}
		want := []objectives{}
		for _, i := range front(costsOf(all)) {
			want = append(want, all[i].objectives)
		}
		got, exact, err := combine(context.Background(), parts, 1000)
		require.NoError(t, err)
		require.True(t, exact)
		require.ElementsMatch(t, want, costsOf(got))
		for _, c := range got {
			sum := objectives{0, 0, 0}
			for p, i := range c.Ways {
				for k, v := range parts[p][i] {
					sum[k] += v
				}
			}
			require.Equal(t, sum, c.objectives)
		}
	})
}

func TestSpreadShowsTheBestInEachRespect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ways := someGoods(t, 20)
		n := rapid.IntRange(3, 8).Draw(t, "n")
		spread := spread(ways, n)
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
		front := front(ways)
		kept := layers(ways, len(front))
		require.Equal(t, front, kept)
		require.Len(t, layers(ways, 1000), len(ways))
	})
}

func TestEachStopsWhenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	ran := 0
	require.ErrorIs(t, forEach(ctx, 10, func(context.Context, int) error { ran++; return nil }), context.Canceled)
	require.Zero(t, ran)
}
