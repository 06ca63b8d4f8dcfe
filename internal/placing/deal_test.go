package placing

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func anywhere(int, float64) string { return "" }

func band(barred ...Barred) Site {
	return Site{Name: "band", LengthMM: 200, Closed: true, Centre: 0.5, Most: 9, GapMM: 0.5, Barred: barred, Fits: anywhere}
}

func TestGraduatedFromTheCentre(t *testing.T) {
	puts, refused := Deal([]Kind{{ID: "small", Gem: "a", AlongMM: 1, Count: 2}, {ID: "large", Gem: "a", AlongMM: 3, Count: 1}, {ID: "middle", Gem: "a", AlongMM: 2, Count: 2}}, []Site{band()})
	require.Empty(t, refused)
	require.Len(t, puts, 5)
	// By hand: 3 mm at the crown reaches 1.5; a 2 mm stone then stands at
	// 1.5 + 0.5 + 1 = 3, reaching 4; a 1 mm stone at 4 + 0.5 + 0.5 = 5.
	for i, want := range []Put{{1, 0, 0.5, Centre}, {2, 0, 0.5 - 3.0/200, Left}, {2, 0, 0.5 + 3.0/200, Right}, {0, 0, 0.5 - 5.0/200, Left}, {0, 0, 0.5 + 5.0/200, Right}} {
		require.Equal(t, want.Kind, puts[i].Kind)
		require.Equal(t, want.Role, puts[i].Role)
		require.InDelta(t, want.At, puts[i].At, 1e-12)
	}
}

func TestTheStudioBalancesAnOddStone(t *testing.T) {
	kinds := []Kind{{ID: "pair and one", Gem: "ruby", AlongMM: 2, Count: 2}, {ID: "studio", Gem: "ruby", AlongMM: 1.9, Count: 5, Own: true}}
	puts, refused := Deal(kinds, []Site{band()})
	require.Empty(t, refused)
	require.Len(t, puts, 3, "one at the crown, one balanced by the studio's")
	kinds[1].AlongMM = 1.7
	_, refused = Deal(kinds, []Site{band()})
	require.Len(t, refused, 1)
	require.Contains(t, refused[0].Why, "balance")
	kinds[1].Gem, kinds[1].AlongMM = "garnet", 2
	_, refused = Deal(kinds, []Site{band()})
	require.Len(t, refused, 1)
}

func TestRefusalsSayWhy(t *testing.T) {
	kinds := []Kind{{ID: "a", Gem: "g", AlongMM: 2, Count: 1}}
	_, refused := Deal(kinds, []Site{band(Barred{0.4, 0.6, "it lies at the vents"})})
	require.Contains(t, refused[0].Why, "at the vents")
	short := Site{Name: "bar", LengthMM: 3, Centre: 0.5, Most: 3, GapMM: 0.5, Fits: anywhere}
	_, refused = Deal([]Kind{{ID: "a", Gem: "g", AlongMM: 2, Count: 3}}, []Site{short})
	require.Equal(t, 2, refused[0].Count)
	require.Contains(t, refused[0].Why, "the row is full")
	_, refused = Deal(kinds, []Site{{Name: "none", LengthMM: 30, Centre: 0.5, Fits: anywhere}})
	require.Equal(t, "No piece takes more stones.", refused[0].Why)
}

// TestNoStoneIsLostAndAllIsBalanced: each stone is placed or refused, no two
// overlap, none lies where it may not, and each left has its right.
func TestNoStoneIsLostAndAllIsBalanced(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kinds, sites := []Kind{}, []Site{}
		for i := range rapid.IntRange(1, 5).Draw(t, "kinds") {
			kinds = append(kinds, Kind{fmt.Sprint(i), rapid.SampledFrom([]string{"a", "b"}).Draw(t, "gem"),
				rapid.Float64Range(1, 4).Draw(t, "along"), rapid.IntRange(1, 6).Draw(t, "count"), rapid.Bool().Draw(t, "own")})
		}
		for range rapid.IntRange(1, 3).Draw(t, "sites") {
			s := band(Barred{-0.05, 0.05, "gate"})
			s.LengthMM = rapid.Float64Range(20, 200).Draw(t, "length")
			s.Closed = rapid.Bool().Draw(t, "closed")
			s.Most = rapid.IntRange(0, 9).Draw(t, "most")
			sites = append(sites, s)
		}
		puts, refused := Deal(kinds, sites)
		used := make([]int, len(kinds))
		for i, p := range puts {
			used[p.Kind]++
			site := sites[p.Site]
			half := kinds[p.Kind].AlongMM / 2
			away := math.Abs(math.Remainder(p.At, 1)) * site.LengthMM
			if !site.Closed {
				away = p.At * site.LengthMM
			}
			require.GreaterOrEqual(t, away+1e-9, 0.05*site.LengthMM+half)
			for j, q := range puts {
				if i == j || p.Site != q.Site {
					continue
				}
				gap := math.Abs(p.At-q.At) * site.LengthMM
				require.GreaterOrEqual(t, gap+1e-9, half+kinds[q.Kind].AlongMM/2+0.5)
			}
			if p.Role == Left {
				require.Equal(t, Right, puts[i+1].Role)
				require.InDelta(t, 2*site.Centre, p.At+puts[i+1].At, 1e-9)
				require.Equal(t, kinds[p.Kind].Gem, kinds[puts[i+1].Kind].Gem)
			}
		}
		for _, r := range refused {
			require.NotEmpty(t, r.Why)
			used[r.Kind] += r.Count
		}
		for i, k := range kinds {
			if !k.Own {
				require.Equal(t, k.Count, used[i])
			}
		}
		again, _ := Deal(kinds, sites)
		require.Equal(t, puts, again)
	})
}
