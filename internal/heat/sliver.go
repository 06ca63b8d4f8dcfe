package heat

import (
	"context"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// A cell with too little clay has its middle in the metal, or so near to it
// that it would follow each change at once. Others stand for it. The heat of
// its wall would leave it through its faces: each neighbour over a face gets
// the part of wall and clay that the face, seen along the normal, has of all.
// Then a gradient that is even and upright on the wall is met exactly in every
// cell, however the wall lies in the grid.

// portion is what one cell takes of a sliver.
type portion struct {
	cell  int32
	share float64
}

// claySlivers are the cut cells that others stand for.
type claySlivers struct {
	*body
	*surface
	parts map[int32][]portion
}

// handOn finds who stands for each cut cell of clay that does not stand alone.
func (b *body) handOn(ctx context.Context, surface *surface) map[int32][]portion {
	s := &claySlivers{b, surface, map[int32][]portion{}}
	for i := range b.cuts {
		if gone(ctx, i) {
			break
		}
		if c := &b.cuts[i]; !standsAlone(c) && len(s.resolve(c)) == 0 && 1-c.metal > leastAlone {
			delete(s.parts, int32(c.cell)) // between two walls
		}
	}
	return s.parts
}

func standsAlone(c *cut) bool { return 1-c.metal >= leastClay(c) }

// resolve returns who stands for a sliver: none if its wall leads nowhere.
func (s *claySlivers) resolve(c *cut) []portion {
	if p, ok := s.parts[int32(c.cell)]; ok {
		return p
	}
	s.parts[int32(c.cell)] = nil // a way that comes back leads nowhere
	var normal r3.Vec
	if p := s.in(c.cell); p != nil {
		normal = p.unit
	}
	var list []portion
	all := 0.0
	for side := range 6 {
		across := component(normal, side/2) * float64(2*(side%2)-1)
		n, ok := s.neighbour(c.cell, side)
		if !ok || across <= 0 || s.metal[n] == 1 {
			continue
		}
		seen := across * (1 - c.face[side])
		to := []portion{{int32(n), 1}}
		if beyond := s.cutAt(n); beyond != nil {
			seen = across * (1 - (c.face[side]+beyond.face[side^1])/2)
			if !standsAlone(beyond) {
				to = s.resolve(beyond)
			}
		}
		if seen <= 0 || len(to) == 0 {
			continue
		}
		all += seen
		for _, p := range to {
			list = append(list, portion{p.cell, p.share * seen})
		}
	}
	s.parts[int32(c.cell)] = gather(list, all)
	return s.parts[int32(c.cell)]
}

// gather makes one portion a cell of a list, and passes over crumbs.
func gather(list []portion, all float64) []portion {
	const crumb = 1e-3
	slices.SortFunc(list, func(a, b portion) int { return int(a.cell - b.cell) })
	merged := list[:0]
	for _, p := range list {
		if last := len(merged) - 1; last >= 0 && merged[last].cell == p.cell {
			merged[last].share += p.share
		} else {
			merged = append(merged, p)
		}
	}
	merged = slices.DeleteFunc(merged, func(p portion) bool { return p.share < crumb*all })
	all = 0
	for _, p := range merged {
		all += p.share
	}
	for i := range merged {
		merged[i].share /= all
	}
	return merged
}
