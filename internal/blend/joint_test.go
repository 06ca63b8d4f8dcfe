package blend

import (
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func someMelts(t *rapid.T, most int) []Melt {
	melts := []Melt{}
	for b := range rapid.IntRange(2, most).Draw(t, "melts") {
		m := Melt{ID: string(rune('a' + b)), Metal: "Ag", ScrapShare: 1, Fineness: float64(rapid.IntRange(800, 960).Draw(t, "fineness")) / 1000}
		m.LeastG = float64(rapid.IntRange(100, 600).Draw(t, "mass")) / 10
		m.MostG = m.LeastG
		melts = append(melts, m)
	}
	return melts
}

// TestJointIsNeverWorse: all melts together cost no more than melt after
// melt, each taking what is best for it from what the earlier left.
func TestJointIsNeverWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Programme{Lots: append(someLots(t, 1, 5), somePriced(t)...), Melts: someMelts(t, 4), Objective: rapid.SampledFrom(objectives[:3]).Draw(t, "objective")}
		joint, err := p.Solve(ctx)
		require.NoError(t, err)
		one := oneByOne(t, p)
		require.LessOrEqual(t, joint.Value, one+1e-7*(1+math.Abs(one)))
	})
}

// oneByOne is the objective of melt after melt, each with what is left.
func oneByOne(t require.TestingT, p Programme) float64 {
	sum, left := 0.0, slices.Clone(p.Lots)
	for _, melt := range p.Melts {
		single := Programme{Lots: left, Melts: []Melt{melt}, Objective: p.Objective}
		plan, err := single.Solve(ctx)
		require.NoError(t, err)
		sum += plan.Value
		for k := range left {
			left[k].StockG = math.Max(left[k].StockG-plan.MassG[0][k], 0)
		}
	}
	return sum
}

// TestJointGains: by itself the first melt takes the cheaper sterling, and the
// second must buy; together the first leaves it and nothing is bought.
func TestJointGains(t *testing.T) {
	lot := func(id string, fine, price float64) Lot {
		s := graded("Ag", fine, fine)
		return Lot{ID: id, StockG: 30, Least: s.least, Most: s.most, PricePerG: price}
	}
	p := Programme{Lots: append([]Lot{lot("sterling", .925, .1), lot("poor", .7, .2)}, DefaultAdditions("silver")...),
		Melts: []Melt{{Metal: "Ag", Fineness: .7, LeastG: 30, MostG: 30, ScrapShare: 1}, {Metal: "Ag", Fineness: .925, LeastG: 30, MostG: 30, ScrapShare: 1}}}
	joint, err := p.Solve(ctx)
	require.NoError(t, err)
	require.InDelta(t, 0, joint.Value, 1e-9)
	require.Greater(t, oneByOne(t, p), 1.0)
}

// TestJointAgainstBruteForce: two lots over two melts, split in every way on a
// grid, each melt then by its corner points. The grid can miss the optimum by
// at most a step of each lot, and a gram of scrap saves less than 1 g of
// bought metal in its own place and 1 g in the other melt.
func TestJointAgainstBruteForce(t *testing.T) {
	const steps = 24
	rapid.Check(t, func(t *rapid.T) {
		p := Programme{Lots: append(someLots(t, 2, 2), DefaultAdditions("silver")...), Melts: someMelts(t, 2)}
		joint, err := p.Solve(ctx)
		require.NoError(t, err)
		best := math.Inf(1)
		for i := range steps + 1 {
			for j := range steps + 1 {
				sum := 0.0
				for b, melt := range p.Melts {
					lots := slices.Clone(p.Lots)
					for k, n := range []int{i, j} {
						if b == 1 {
							n = steps - n
						}
						lots[k].StockG *= float64(n) / steps
					}
					sum += bruteForce(lots, melt.LeastG, melt.Fineness, costOf(LeastBought))
				}
				best = math.Min(best, sum)
			}
		}
		slack := 2 * (p.Lots[0].StockG + p.Lots[1].StockG) / steps
		require.LessOrEqual(t, joint.Value, best+1e-6)
		require.GreaterOrEqual(t, joint.Value, best-slack)
	})
}

// TestReturns: mass and fine metal balance over the whole order, and the
// second melt, returns included, has its mass and its fineness.
func TestReturns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Programme{Lots: append(someLots(t, 1, 5), DefaultAdditions("silver")...), Melts: someMelts(t, 4)}
		for b := 1; b < len(p.Melts); b++ {
			share := rapid.Float64Range(0, 0.5).Draw(t, "share") * math.Min(1, p.Melts[b].LeastG/p.Melts[b-1].LeastG)
			p.Melts[b].Returns = []Return{{b - 1, share}}
		}
		plan, w, err := p.Weigh(ctx, DefaultResolutionG)
		var c *Conflict
		if errors.As(err, &c) { // poor returns in a melt they nearly fill
			return
		}
		require.NoError(t, err)
		before := Content{}
		for b, melt := range p.Melts {
			now := p.Content(plan.MassG, b)
			require.InDelta(t, melt.LeastG, now.MassG, balance*melt.LeastG)
			require.GreaterOrEqual(t, now.Least["Ag"], melt.Fineness-balance)
			// By hand: what is put in, and the share of the melt before.
			mass, fine := 0.0, 0.0
			for k, x := range plan.MassG[b] {
				mass += x
				fine += x * p.Lots[k].Least["Ag"]
			}
			if b > 0 {
				back := melt.Returns[0].Share * before.MassG
				mass += back
				fine += back * before.Least["Ag"]
			}
			require.InDelta(t, mass, now.MassG, balance*mass)
			require.InDelta(t, fine, now.MassG*now.Least["Ag"], balance*mass)
			before = now
			if w.Rounded {
				require.GreaterOrEqual(t, p.Content(w.MassG, b).Least["Ag"], melt.Fineness-fineTol)
			}
		}
		for k, lot := range p.Lots {
			used := 0.0
			for b := range p.Melts {
				used += w.MassG[b][k]
			}
			require.LessOrEqual(t, used, lot.StockG*(1+balance)+1e-12)
		}
	})
}

// TestSharingRules: 60 g of a client's sterling for two melts of 50 g. Even
// gives each 30 g, first_piece 50 and 10, and both buy the same 40 g.
func TestSharingRules(t *testing.T) {
	lot := Lot{ID: "spoons", StockG: 60, Owner: "A", Least: graded("Ag", .925, .925).least, Most: graded("Ag", .925, .925).most}
	melt := Melt{Metal: "Ag", Fineness: .925, LeastG: 50, MostG: 50, ScrapShare: 1}
	for rule, want := range map[Apportion][2]float64{EvenShare: {30, 30}, FirstShare: {50, 10}} {
		p := Programme{Lots: append([]Lot{lot}, DefaultAdditions("silver")...), Melts: []Melt{melt, melt}, Apportion: rule}
		plan, err := p.Solve(ctx)
		require.NoError(t, err)
		require.InDelta(t, want[0], plan.MassG[0][0], 1e-9, rule)
		require.InDelta(t, want[1], plan.MassG[1][0], 1e-9, rule)
		require.InDelta(t, 40, plan.Value, 1e-9)
	}
}

// TestOwnersApart: each client's metal stays in that client's melt.
func TestOwnersApart(t *testing.T) {
	fineness := 925.0
	in := JointBlendIn{
		Melts: []MeltTarget{{ID: "a", Target: Target{FinenessPermil: 925, MassG: at(40.), ForOwner: "A"}}, {ID: "b", Target: Target{FinenessPermil: 925, MassG: at(40.), ForOwner: "B"}}},
		Stock: Stock{KeepOwnersApart: true, Lots: []SourceLot{
			{ID: "A's", MassG: 60, OwnerName: "A", FinenessPermil: &fineness}, {ID: "B's", MassG: 10, OwnerName: "B", FinenessPermil: &fineness}}}}
	out, err := SolveJoint(ctx, in)
	require.NoError(t, err)
	require.Equal(t, 40.0, out.Melts[0].ClientG)
	require.Equal(t, 10.0, out.Melts[1].ClientG)
	require.Len(t, out.Melts[1].Owners, 2)
	require.Equal(t, "B", out.Melts[1].Owners[0].Owner)
	require.Equal(t, []Left{{"A's", 20}, {"B's", 0}}, out.Left)
}

// TestBestOrder: no order of the pours is better than the one answered.
func TestBestOrder(t *testing.T) {
	lots := []SourceLot{{ID: "spoons", MassG: 40, FinenessPermil: at(925.)}, {ID: "coins", MassG: 50, FinenessPermil: at(800.)}}
	melts := []MeltTarget{
		{ID: "ring", ReturnsPct: 40, Target: Target{FinenessPermil: 925, MassG: at(20.)}},
		{ID: "bangle", ReturnsPct: 40, Target: Target{FinenessPermil: 800, MassG: at(60.)}},
		{ID: "brooch", ReturnsPct: 40, Target: Target{FinenessPermil: 900, MassG: at(30.)}}}
	solve := func(order []int, how string) JointBlendOut {
		in := JointBlendIn{ReuseReturns: true, PourOrder: how, Stock: Stock{Lots: lots, Objective: LeastBought}}
		for _, a := range order {
			in.Melts = append(in.Melts, melts[a])
		}
		out, err := SolveJoint(ctx, in)
		require.NoError(t, err)
		return out
	}
	best := math.Inf(1)
	for order := range permutations(nil, 3) {
		best = math.Min(best, solve(order, "as_given").BoughtG)
	}
	require.InDelta(t, best, solve([]int{1, 2, 0}, "best").BoughtG, 0.03) // a step of the scale each
}
