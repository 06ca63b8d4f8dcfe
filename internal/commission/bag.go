package commission

import (
	"fmt"

	"pourwright/internal/calc"
)

// bag is the stones at hand, and how many of each are still to be placed.
type bag struct {
	stones []Stone
	left   []int
}

// newBag checks that each kind has its own name and that no more stones are
// wanted than there are.
func newBag(in In) (*bag, error) {
	b := &bag{stones: in.Stones, left: make([]int, len(in.Stones))}
	var checks calc.Checks
	for i, s := range in.Stones {
		b.left[i] = s.Quantity
		if b.find(s.ID) != i {
			checks.Refuse(fmt.Sprintf("stones[%d].id", i), s.ID, "give each kind of stone a name of its own")
		}
	}
	wanted := make([]int, len(in.Stones))
	for i, p := range in.Pieces {
		for j, placed := range p.Stones {
			field := fmt.Sprintf("pieces[%d].stones[%d]", i, j)
			k := b.find(placed.ID)
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

func (b *bag) find(id string) int {
	for i, s := range b.stones {
		if s.ID == id {
			return i
		}
	}
	return -1
}

// take takes stones out of the bag.
func (b *bag) take(p PlacedStones) Stone {
	i := b.find(p.ID)
	b.left[i] -= p.Quantity
	s := b.stones[i]
	s.Quantity = p.Quantity
	return s
}

// unused lists the stones that no piece wants.
func (b *bag) unused() []StoneBack {
	var back []StoneBack
	for i, s := range b.stones {
		if b.left[i] > 0 {
			back = append(back, StoneBack{ID: s.ID, Quantity: b.left[i], What: "not_used", Why: "No piece asks for them."})
		}
	}
	return back
}
