package order

import (
	"fmt"
	"slices"

	"pourwright/internal/calc"
)

// Stock is the stones at hand, and how many of each are still to be placed.
type Stock struct {
	Stones []Stone
	Left   []int
}

// Stock checks that each kind has its own name and that no more stones are
// wanted than there are.
func (in *Order) Stock() (*Stock, error) {
	b := &Stock{Stones: in.Stones, Left: make([]int, len(in.Stones))}
	var checks calc.Checks
	for i, s := range in.Stones {
		b.Left[i] = s.Quantity
		if in.findStone(s.ID) != i {
			checks.Refuse(fmt.Sprintf("stones[%d].id", i), s.ID, "give each kind of stone a name of its own")
		}
	}
	wanted := make([]int, len(in.Stones))
	for i, p := range in.Pieces {
		for j, placed := range p.Stones {
			field := fmt.Sprintf("pieces[%d].stones[%d]", i, j)
			k := in.findStone(placed.ID)
			if k < 0 {
				checks.Refuse(field+".id", placed.ID, "name stones that stand under stones")
				continue
			}
			wanted[k] += placed.Quantity
			if wanted[k] > in.Stones[k].Quantity {
				checks.Refuse(field+".quantity", placed.Quantity, "there are only %d of %s", in.Stones[k].Quantity, placed.ID)
			}
		}
	}
	return b, checks.Err()
}

func (in *Order) findStone(id string) int {
	return slices.IndexFunc(in.Stones, func(s Stone) bool { return s.ID == id })
}

// StoneNamed is the kind of stone at hand with that id; an order that has its
// [Order.Stock] names no other.
func (in *Order) StoneNamed(id string) *Stone { return &in.Stones[in.findStone(id)] }

// Take takes stones out of the stock.
func (b *Stock) Take(p PlacedStones) Stone {
	i := slices.IndexFunc(b.Stones, func(s Stone) bool { return s.ID == p.ID })
	b.Left[i] -= p.Quantity
	s := b.Stones[i]
	s.Quantity = p.Quantity
	return s
}

// Unused lists the stones that no piece wants.
func (b *Stock) Unused() []NotCast {
	var list []NotCast
	for i, s := range b.Stones {
		if b.Left[i] > 0 {
			list = append(list, NotCast{ID: s.ID, Quantity: b.Left[i], What: "not_used", Why: "No piece asks for them."})
		}
	}
	return list
}
