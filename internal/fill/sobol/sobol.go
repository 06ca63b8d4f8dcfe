// Package sobol gives scrambled Sobol points: few samples, evenly spread, with
// an honest error from independent scramblings. Same seed, same points.
package sobol

import "math/bits"

// Dimensions that are offered.
const Dimensions = 10

// directions after S. Joe, F. Y. Kuo, Constructing Sobol sequences with better
// two-dimensional projections, SIAM J. Sci. Comput. 30 (2008) 2635, table
// new-joe-kuo-6 (from memory; TestProperty proves what matters of it): degree s
// of the primitive polynomial, its inner coefficients a, initial numbers m.
var directions = [Dimensions - 1]struct {
	s, a int
	m    []uint32
}{
	{1, 0, []uint32{1}},
	{2, 1, []uint32{1, 3}},
	{3, 1, []uint32{1, 3, 1}},
	{3, 2, []uint32{1, 1, 1}},
	{4, 1, []uint32{1, 1, 3, 3}},
	{4, 4, []uint32{1, 3, 5, 13}},
	{5, 2, []uint32{1, 1, 5, 5, 17}},
	{5, 4, []uint32{1, 1, 5, 5, 5}},
	{5, 7, []uint32{1, 1, 7, 11, 19}},
}

var table = func() (v [Dimensions][32]uint32) {
	for i := range 32 {
		v[0][i] = 1 << (31 - i)
	}
	for d, p := range directions {
		row := &v[d+1]
		for i := range 32 {
			if i < p.s {
				row[i] = p.m[i] << (31 - i)
				continue
			}
			row[i] = row[i-p.s] ^ row[i-p.s]>>p.s
			for k := 1; k < p.s; k++ {
				if p.a>>(p.s-1-k)&1 == 1 {
					row[i] ^= row[i-k]
				}
			}
		}
	}
	return v
}()

// Point fills dst (at most Dimensions long) with the point of that index under
// the scrambling of that seed; every coordinate lies strictly inside (0, 1).
func Point(dst []float64, index, seed uint32) {
	for d := range dst {
		var x uint32
		for i, rest := 0, index; rest != 0; i, rest = i+1, rest>>1 {
			if rest&1 == 1 {
				x ^= table[d][i]
			}
		}
		x = scramble(x, hash(seed*Dimensions+uint32(d)+1))
		dst[d] = (float64(x) + 0.5) / (1 << 32)
	}
}

// Shuffled gives the points in an order that depends on the seed (B. Burley,
// see scramble). Points of one index under two seeds of Point share their first
// digits up to a flip; those of Shuffled are independent of each other.
func Shuffled(dst []float64, index, seed uint32) {
	Point(dst, scramble(index, hash(^seed)), seed)
}

// scramble permutes the binary tree of x at random (nested uniform scrambling,
// A. B. Owen 1995) by a hash of the reversed bits whose every step lets a bit
// depend on lower ones only: the form of S. Laine, T. Karras 2011, as used by
// B. Burley, Practical hash-based Owen scrambling, JCGT 9 (2020) no. 4 (from memory).
func scramble(x, seed uint32) uint32 {
	x = bits.Reverse32(x)
	x += seed
	x ^= x * 0x6c50b47c
	x ^= x * 0xb82f1e52
	x ^= x * 0xc7afe638
	x ^= x * 0x8d22f6e6
	return bits.Reverse32(x)
}

// hash spreads a seed over 32 bits.
func hash(x uint32) uint32 {
	x ^= x >> 16
	x *= 0x7feb352d
	x ^= x >> 15
	x *= 0x846ca68b
	x ^= x >> 16
	return x
}
