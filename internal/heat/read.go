package heat

import (
	"math"
	"slices"

	"pourwright/internal/mesh"
)

const regionCount = 24

func (o *outcome) regions(piece func(int32) bool) []FreezeRegion {
	first, last := make([]float64, regionCount), make([]float64, regionCount)
	for k := range first {
		first[k] = math.Inf(1)
	}
	for n, t := range o.frozen {
		if piece(int32(n)) {
			k := int(o.along(o.Centre(int(o.cell[n]))) * regionCount)
			first[k], last[k] = min(first[k], float64(t)), max(last[k], float64(t))
		}
	}
	list := []FreezeRegion{}
	for k := range first {
		if !math.IsInf(first[k], 1) {
			list = append(list, FreezeRegion{AtPct: 100 * (float64(k) + 0.5) / regionCount, FirstS: first[k], LastS: last[k]})
		}
	}
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case list[a].LastS < list[b].LastS:
			return -1
		case list[a].LastS > list[b].LastS:
			return 1
		}
		return 0
	})
	for rank, i := range order {
		list[i].Order = rank + 1
	}
	return list
}

// curve thins the share of solid down to some thirty moments.
func (o *outcome) curve() []FreezeMoment {
	list := []FreezeMoment{}
	next := 0.0
	for i, t := range o.time {
		if s := 100 * o.solid[i]; s >= next || i == len(o.time)-1 {
			list = append(list, FreezeMoment{t, s})
			next = max(next, s) + 3
		}
	}
	return list
}

func (o *outcome) readNiyama(piece func(int32) bool) *FreezeNiyama {
	var values []float32
	least := int32(none)
	for n, v := range o.niyama {
		if !piece(int32(n)) || math.IsNaN(float64(v)) {
			continue
		}
		values = append(values, v)
		if least == none || v < o.niyama[least] {
			least = int32(n)
		}
	}
	if len(values) == 0 {
		return nil
	}
	slices.Sort(values)
	return &FreezeNiyama{float64(values[0]), float64(values[len(values)/2]), mesh.PlaceOf(o.Centre(int(o.cell[least])))}
}
