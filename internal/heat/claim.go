package heat

import "context"

// chamfer is a step to a neighbour and the share of distance that it takes.
type chamfer struct {
	i, j, k, on int
	d           float32
}

// claim marks the clay that counts: reach falls off from the metal by chamfer
// steps (G. Borgefors, CVGIP 34 (1986) 344: 1, 1.314, 1.628 for a cube's
// neighbours, within 10 % of the distance).
func (b *body) claim(ctx context.Context, reach reachOf) {
	left := make([]float32, b.Cells())
	for c, m := range b.metal {
		if m > 0 {
			left[c] = float32(reach(b.Centre(c)) / b.D)
		}
	}
	var behind []chamfer
	for k := -1; k <= 0; k++ {
		for j := -1; j <= 1; j++ {
			for i := -1; i <= 1; i++ {
				if k == 0 && (j > 0 || j == 0 && i >= 0) {
					continue
				}
				behind = append(behind, chamfer{i, j, k, b.index(i, j, k), [4]float32{0, 1, 1.314, 1.628}[i*i+j*j+k*k]})
			}
		}
	}
	rows := b.N[1] * b.N[2]
	for row := 0; row < rows && ctx.Err() == nil; row++ {
		b.spreadRow(left, row, behind, 1)
	}
	for row := rows - 1; row >= 0 && ctx.Err() == nil; row-- {
		b.spreadRow(left, row, behind, -1)
	}
	b.kind = make([]byte, len(left))
	for c, l := range left {
		if l > 0 && b.metal[c] < 1 {
			b.kind[c] = plain
		}
	}
}

// spreadRow carries what is left from the cells behind to those of a row, in
// the sense of the sweep.
func (g Grid) spreadRow(left []float32, row int, behind []chamfer, sense int) {
	last := [3]int{g.N[0] - 1, g.N[1] - 1, g.N[2] - 1}
	j, k := row%g.N[1], row/g.N[1]
	within := j > 0 && k > 0 && j < last[1] && k < last[2]
	for i := range g.N[0] {
		if sense < 0 {
			i = last[0] - i
		}
		c := row*g.N[0] + i
		most := left[c]
		for n := range behind {
			h := &behind[n]
			if !within || i == 0 || i == last[0] {
				x, y, z := i+sense*h.i, j+sense*h.j, k+sense*h.k
				if x < 0 || y < 0 || z < 0 || x > last[0] || y > last[1] || z > last[2] {
					continue
				}
			}
			most = max(most, left[c+sense*h.on]-h.d)
		}
		left[c] = most
	}
}
