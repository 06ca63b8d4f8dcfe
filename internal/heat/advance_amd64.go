package heat

import "golang.org/x/sys/cpu"

// wide tells whether rows are advanced eight cells at a time.
var wide = cpu.X86.HasAVX2

// advance8 does what the loop of [row.advance] does, in the same order of
// rounding. It reads, and passes over, up to overread cells behind each stretch.
//
//go:noescape
func advance8(te, here, south, north, down, up, tl *float32, n int, a, b, c, e, dust float32)
