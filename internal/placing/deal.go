// Package placing places the stones of an order on its pieces by the bench's
// rule: the largest in the middle of a row, then pairs of like stones left and
// right of it, falling in size outwards, clear of sprue, vents, thin places and
// the parting line. [Deal] knows places along a piece and not metal; [Place]
// tells it what bars a place.
package placing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Kind is like stones at hand.
type Kind struct {
	ID      string
	Gem     string
	AlongMM float64 // along the piece
	Count   int
	Own     bool // the studio's: only to balance a client's
}

// Barred is a stretch of the way, in fractions of it, and why nothing may lie there.
type Barred struct {
	From, To float64
	Why      string
}

// Site is a piece that takes stones.
type Site struct {
	Name     string
	LengthMM float64 // of the way
	Closed   bool    // a band: the way comes round again
	Centre   float64 // fraction of the way
	Most     int
	GapMM    float64
	Barred   []Barred
	// Fits says why a stone of the kind may not lie at a fraction of the way;
	// "" if it may.
	Fits func(kind int, at float64) string
}

// Role of a stone in its piece.
type Role string

// The roles: left and right are towards the gate and away from it.
const (
	Centre Role = "centre"
	Left   Role = "left"
	Right  Role = "right"
)

// Put is a stone in its place.
type Put struct {
	Kind, Site int
	At         float64
	Role       Role
}

// Refused is stones that found no place.
type Refused struct {
	Kind, Count int
	Why         string
}

// alike is how far two stones of one gem may differ in size and still balance
// each other: a tenth. Our choice.
const alike = 0.10

// stepMM is how finely places are tried, outwards.
const stepMM = 0.25

// table is the state of a deal.
type table struct {
	kinds []Kind
	sites []Site
	left  []int     // of each kind
	edge  []float64 // of each site: how far from its centre the row reaches, mm
	most  []int     // of each site: stones it still takes
	puts  []Put
	why   []string // of each kind: what last stood in the way
}

// Deal deals the stones. The same kinds and sites give the same places.
func Deal(kinds []Kind, sites []Site) ([]Put, []Refused) {
	t := &table{kinds: kinds, sites: sites, edge: make([]float64, len(sites)), why: make([]string, len(kinds))}
	for _, k := range kinds {
		t.left = append(t.left, k.Count)
	}
	for _, s := range sites {
		t.most = append(t.most, s.Most)
	}
	order := make([]int, len(kinds))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(kinds[b].AlongMM, kinds[a].AlongMM) })
	t.centres(order)
	t.pairs(order)
	refused := []Refused{}
	for i, k := range kinds {
		if t.left[i] > 0 && !k.Own {
			refused = append(refused, Refused{i, t.left[i], cmp.Or(t.why[i], "No piece takes more stones.")})
		}
	}
	return t.puts, refused
}

// centres gives each piece in turn the largest stone left that may lie at its centre.
func (t *table) centres(order []int) {
	for s := range t.sites {
		if t.most[s] == 0 {
			continue
		}
		for _, k := range order {
			if t.kinds[k].Own || t.left[k] == 0 {
				continue
			}
			if why := t.bars(k, s, t.sites[s].Centre); why != "" {
				t.why[k] = fmt.Sprintf("In the middle of %s: %s.", t.sites[s].Name, why)
				continue
			}
			t.put(k, s, t.sites[s].Centre, Centre)
			t.edge[s] = t.kinds[k].AlongMM / 2
			break
		}
	}
}

// pairs deals like stones two by two, the larger first, round the pieces.
func (t *table) pairs(order []int) {
	turn := 0
	for _, k := range order {
		for !t.kinds[k].Own && t.left[k] > 0 {
			mate := t.mate(k)
			if !slices.ContainsFunc(t.most, func(n int) bool { return n > 0 }) {
				break
			}
			if mate < 0 {
				if t.why[k] != "" {
					t.why[k] += " "
				}
				t.why[k] += "No stone like it, of the same gem and within a tenth of its size, is left to balance it on the other side."
				break
			}
			placed := false
			for try := range t.sites {
				s := (turn + try) % len(t.sites)
				if t.pair(k, mate, s) {
					turn, placed = s+1, true
					break
				}
			}
			if !placed {
				break
			}
		}
	}
}

// mate finds a stone to balance one of kind k: of its own kind, else of the
// client's, else of the studio's; −1 if there is none.
func (t *table) mate(k int) int {
	if t.left[k] >= 2 {
		return k
	}
	for _, own := range []bool{false, true} {
		for j, m := range t.kinds {
			if j != k && m.Own == own && t.left[j] > 0 && m.Gem == t.kinds[k].Gem && math.Abs(m.AlongMM-t.kinds[k].AlongMM) <= alike*t.kinds[k].AlongMM {
				return j
			}
		}
	}
	return -1
}

// pair lays one stone on each side of the centre of s, as near to it as both
// may lie.
func (t *table) pair(k, mate, s int) bool {
	site := &t.sites[s]
	if t.most[s] < 2 {
		if t.why[k] == "" {
			t.why[k] = fmt.Sprintf("%s takes no more stones.", site.Name)
		}
		return false
	}
	long := math.Max(t.kinds[k].AlongMM, t.kinds[mate].AlongMM)
	off := t.edge[s] + site.GapMM + long/2
	if t.edge[s] == 0 { // no stone at the centre: the pair stands about it
		off = site.GapMM/2 + long/2
	}
	room := site.LengthMM * math.Min(site.Centre, 1-site.Centre)
	if site.Closed {
		room = site.LengthMM / 2
	}
	first := ""
	for ; off+long/2 <= room; off += stepMM {
		l, r := site.Centre-off/site.LengthMM, site.Centre+off/site.LengthMM
		why := cmp.Or(t.bars(k, s, l), t.bars(mate, s, r))
		if why == "" {
			t.put(k, s, l, Left)
			t.put(mate, s, r, Right)
			t.edge[s] = off + long/2
			return true
		}
		first = cmp.Or(first, why)
	}
	t.why[k] = fmt.Sprintf("No two places of %s, left and right of its centre, are free for it: %s.", site.Name, cmp.Or(first, "the row is full"))
	return false
}

// bars says why kind k may not lie at a place of s; "" if it may.
func (t *table) bars(k, s int, at float64) string {
	site := &t.sites[s]
	half := t.kinds[k].AlongMM / 2 / site.LengthMM
	if !site.Closed && (at-half < 0 || at+half > 1) {
		return "it would hang over the end"
	}
	for _, b := range site.Barred {
		for _, turn := range []float64{-1, 0, 1} {
			if turn != 0 && !site.Closed {
				continue
			}
			if at+half+turn > b.From && at-half+turn < b.To {
				return b.Why
			}
		}
	}
	return site.Fits(k, at)
}

func (t *table) put(k, s int, at float64, role Role) {
	if t.sites[s].Closed {
		at -= math.Floor(at)
	}
	t.puts = append(t.puts, Put{k, s, at, role})
	t.left[k]--
	t.most[s]--
}
