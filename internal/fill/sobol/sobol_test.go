package sobol

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// In every dimension each interval of length 2^-k holds exactly one of 2^k
// points, scrambled or not: the (0, k, 1)-net property.
func TestEachDimensionIsANet(t *testing.T) {
	for seed := range uint32(4) {
		for _, n := range []uint32{64, 512} {
			var seen [Dimensions][512]bool
			var p [Dimensions]float64
			for i := range n {
				Point(p[:], i, seed)
				for d, x := range p {
					require.Greater(t, x, 0.0)
					require.Less(t, x, 1.0)
					cell := int(x * float64(n))
					require.False(t, seen[d][cell], "dimension %d, seed %d, n %d", d, seed, n)
					seen[d][cell] = true
				}
			}
		}
	}
}

// The first two dimensions are a (0, m, 2)-net: every elementary box of
// area 2^-8 holds one of 256 points.
func TestFirstTwoAreANet(t *testing.T) {
	const m = 8
	for seed := range uint32(3) {
		for a := 0; a <= m; a++ {
			seen := map[[2]int]bool{}
			var p [2]float64
			for i := range uint32(1 << m) {
				Point(p[:], i, seed)
				box := [2]int{int(math.Ldexp(p[0], a)), int(math.Ldexp(p[1], m-a))}
				require.False(t, seen[box])
				seen[box] = true
			}
		}
	}
}

// A smooth function of all ten dimensions is integrated far better than the
// 1/√n of chance, over which the standard deviation of this one is 0.22.
func TestIntegral(t *testing.T) {
	const n = 512
	var p [Dimensions]float64
	got := 0.0
	for i := range uint32(n) {
		Point(p[:], i, 7)
		f := 1.0
		for _, x := range p {
			f *= 1 + 0.25*(x-0.5) // integral 1
		}
		got += f / n
	}
	const chance = 0.22 / 22.6 // standard error of 512 random points
	require.InDelta(t, 1, got, chance/10)
}

// TestShuffledSequencesAreIndependent: two seeds of Point are tied digit by
// digit at one index; two of Shuffled are not, and each is still evenly spread.
func TestShuffledSequencesAreIndependent(t *testing.T) {
	const n = 2048
	for d := range Dimensions {
		tied, both := 0, 0
		var cells [64]int
		for i := range uint32(n) {
			var a, b, c, e [Dimensions]float64
			Point(a[:], i, 50)
			Point(b[:], i, 51)
			Shuffled(c[:], i, 50)
			Shuffled(e[:], i, 51)
			if a[d] < 0.5 == (b[d] < 0.5) {
				tied++
			}
			if c[d] < 0.5 == (e[d] < 0.5) {
				both++
			}
			cells[int(64*c[d])]++
		}
		require.Contains(t, []int{0, n}, tied)
		require.InDelta(t, n/2, both, 4*math.Sqrt(n)/2, "dimension %d: four standard errors", d)
		for _, k := range cells {
			require.Equal(t, n/64, k)
		}
	}
}
