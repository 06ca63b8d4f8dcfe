package commission

import (
	"flag"
	"fmt"
	"math/rand"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/blend"
	"pourwright/internal/metal"
	"pourwright/internal/order"
	"pourwright/internal/quote"
	"pourwright/internal/verdict"
)

var (
	howMany = flag.Int("orders", 3, "sensible orders to plan")
	seed    = flag.Int64("orders-seed", 1, "seed of the sensible orders")
)

// drawer draws the parts of an order.
type drawer struct{ *rand.Rand }

func (d drawer) pick(list ...string) string { return list[d.Intn(len(list))] }

func (d drawer) between(low, high float64) float64 { return low + (high-low)*d.Float64() }

// usualAlloys of orders, those that are asked for most the more often, and alloys
// of the same precious metal as clients bring them.
var (
	usualAlloys = []string{"silver-925", "silver-925", "silver-925", "silver-925", "silver-935", "silver-958", "silver-800", "silver-935-germanium",
		"gold-750-yellow", "gold-750-yellow", "gold-585-yellow", "gold-585-yellow", "gold-585-yellow-205-210", "gold-375-yellow", "gold-417-yellow", "gold-917-yellow",
		"gold-750-rose", "gold-585-rose", "gold-750-red", "gold-750-green", "gold-585-yellow-zinc", "gold-375-red", "gold-750-white-palladium", "gold-750-white-nickel"}
	broughtSilver = []string{"silver-925", "silver-900", "silver-835", "silver-800", "silver-958", "silver-999"}
	broughtGold   = []string{"gold-750-yellow", "gold-585-yellow", "gold-375-yellow", "gold-750-rose", "gold-750-white-palladium", "gold-917-coin"}
)

// piece draws a piece of a usual section; of gold no bangle, which nobody orders.
func (d drawer) piece(gold bool) string {
	size := func(t0, t1, w0, w1 float64) string {
		return fmt.Sprintf(`"thickness_mm": %.1f, "width_mm": %.1f`, d.between(t0, t1), d.between(w0, w1))
	}
	kinds := []string{"ring", "ring", "ring", "signet", "pendant", "disc", "drop", "bar", "bangle", "bangle", "cuff"}
	if gold {
		kinds = kinds[:8]
	}
	switch d.pick(kinds...) {
	case "ring":
		return fmt.Sprintf(`"kind": "ring", "ring_system": "us", "ring_size": "%d", "profile": "%s", %s`, 5+d.Intn(7), d.pick("d", "half_round", "rectangular", "oval"), size(1.6, 2.6, 3, 6))
	case "signet":
		return fmt.Sprintf(`"kind": "signet", "inside_diameter_mm": %.1f, %s, "head": {"length_mm": %.0f, "width_mm": %.0f, "thickness_mm": %.1f}`, d.between(17, 21), size(1.8, 2.4, 4, 6), d.between(9, 13), d.between(8, 11), d.between(2.4, 3))
	case "disc":
		return fmt.Sprintf(`"kind": "disc", "length_mm": %.0f, "thickness_mm": %.1f`, d.between(12, 24), d.between(1.6, 2.6))
	case "drop":
		return fmt.Sprintf(`"kind": "drop", "length_mm": %.0f, %s, "bail": {"inside_diameter_mm": 2.4, "wire_mm": 1.5}`, d.between(16, 30), size(2.2, 3.4, 6, 11))
	case "pendant", "bar":
		return fmt.Sprintf(`"kind": "bar", "length_mm": %.0f, "profile": "%s", %s`, d.between(20, 45), d.pick("d", "rectangular", "half_round"), size(2, 3.5, 4, 8))
	case "cuff":
		return fmt.Sprintf(`"kind": "cuff", "wrist_circumference_mm": %.0f, "profile": "half_round", %s`, d.between(145, 185), size(2, 3, 4, 7))
	}
	return fmt.Sprintf(`"kind": "bangle", "inside_diameter_mm": %.0f, "profile": "%s", %s`, d.between(56, 66), d.pick("half_round", "d", "oval"), size(2.5, 3.5, 5, 7))
}

// lot draws a lot of the alloy of the order, or of another of its metal, mostly
// known by mark and colour or by alloy, now and then untested or in need of work.
func (d drawer) lot(i int, alloy string, gold bool) string {
	symbol, others := "Ag", broughtSilver
	if gold {
		symbol, others = "Au", broughtGold
	}
	of := alloy
	if d.Intn(3) == 0 {
		of = d.pick(others...)
	}
	colour := ""
	for name, word := range map[string]string{"yellow": "yellow", "rose": "rose", "red": "red", "green": "green", "white-palladium": "white_palladium", "white-nickel": "white_nickel"} {
		if strings.Contains(of, name) {
			colour = fmt.Sprintf(`, "colour": "%s"`, word)
		}
	}
	m, _ := metal.Named(of)
	fine := 1000 * m.Composition[symbol]
	head := fmt.Sprintf(`{"id": "lot %d", "mass_g": %.1f`, i+1, d.between(5, 60))
	switch d.Intn(12) {
	case 0, 1, 2, 3, 4:
		return head + fmt.Sprintf(`, "alloy": "%s"}`, of)
	case 5, 6, 7, 8:
		return head + fmt.Sprintf(`, "fineness_permil": %.0f, "evidence": "marked"%s}`, fine, colour)
	case 9:
		return head + fmt.Sprintf(`, "fineness_permil": %.0f, "evidence": "xray"%s}`, fine, colour)
	case 10:
		return head + fmt.Sprintf(`, "fineness_permil": %.0f, "evidence": "marked", "solder_pct": %d%s}`, fine, 1+d.Intn(6), colour)
	}
	return head + d.pick(`, "kind": "unmarked"}`, `, "evidence": "none"}`, fmt.Sprintf(`, "alloy": "%s", "observations": ["steel_pins"]}`, of), fmt.Sprintf(`, "alloy": "%s", "observations": ["wet"]}`, of))
}

// sensible draws an order as clients bring them: one piece of any kind, of a usual
// alloy of any colour, and lots. The scenarios are invented.
func sensible(r *rand.Rand) string {
	d := drawer{r}
	alloy := d.pick(usualAlloys...)
	gold := strings.HasPrefix(alloy, "gold")
	var lots []string
	for i := range 1 + d.Intn(3) {
		lots = append(lots, d.lot(i, alloy, gold))
	}
	more := ""
	if d.Intn(12) == 0 {
		more = `"composition": "free", `
	}
	return fmt.Sprintf(`{"alloy": "%s", %s"margin_permil": %d, "pieces": [{"name": "piece", %s}], "lots": [%s], "prices": {"currency": "EUR", "metal_price_per_gram": %g, "hourly_rate": 40}}`,
		alloy, more, d.Intn(2)*2, d.piece(gold), strings.Join(lots, ", "), map[bool]float64{false: 0.9, true: 60}[gold])
}

// TestSensibleOrders: of sensible orders at least two in five are a go, and no
// plan, go or not, pours below its own liquidus, is called an alloy that it is
// not, buys finer metal than its alloy asks without saying so or fine metal that
// another charge would have saved, or bills what it buys otherwise than it says.
// Run with -orders 500 for the whole check; the seed is free.
func TestSensibleOrders(t *testing.T) {
	r := rand.New(rand.NewSource(*seed))
	levels, parts := map[verdict.Level]int{}, map[string]int{}
	for i := range *howMany {
		body := sensible(r)
		in := read(t, body)
		out, err := Plan(ctx, in)
		require.NoError(t, err, body)
		levels[out.Verdict]++
		p := out.Pieces[0]
		pouredAsItIs(t, body, &in, &out, &p)
		leastFine(t, body, &in, &p)
		billed(t, body, &out)
		for _, reason := range append(slices.Clone(out.Reasons), p.Reasons...) {
			require.NotEmpty(t, reason.Do, "%s: %s", reason.Part, reason.Why)
			parts[fmt.Sprintf("%s %s", reason.Level, reason.Part)]++
			if testing.Verbose() {
				t.Logf("order %d: %s %s: %s", i, reason.Level, reason.Part, reason.Why)
			}
		}
		if i%25 == 24 {
			t.Logf("%d orders: %v", i+1, levels)
		}
	}
	t.Logf("%d orders, seed %d: %v, by reason %v", *howMany, *seed, levels, parts)
	if *howMany >= 50 {
		require.GreaterOrEqual(t, 5*levels[verdict.Go], 2**howMany)
	}
}

// said is how far, in parts per thousand, a charge may be finer without a word:
// the step of the scale.
const said = 2.0

// pouredAsItIs: what is poured is hot enough for its charge, and is what the plan
// calls it.
func pouredAsItIs(t *testing.T, body string, in *In, out *Out, p *order.PiecePlan) {
	c := p.Charge
	if c.Properties.Known {
		require.Greater(t, p.PourC, c.Properties.LiquidusC.High, body)
	} else {
		require.NotEqual(t, verdict.Go, out.Verdict, body)
	}
	w, _ := metal.WindowOf(in.Alloy)
	middle := metal.Composition{}
	for _, e := range c.Elements {
		middle[e.Element] = e.MiddlePermil / 1000
	}
	const rounding = 0.004 // of the charge: two hundredths of a gram in 5 g
	inside := len(w.Breaches(middle, rounding)) == 0
	if strings.Contains(out.Summary, " g of "+in.Alloy+" in all") {
		require.True(t, inside && c.Match.IsAlloy, "%s\n%s", body, out.Summary)
	} else {
		require.NotEqual(t, verdict.Go, out.Verdict, body)
	}
	if over := c.FinenessWorst - target(in); over > said {
		require.NotEqual(t, verdict.Go, out.Verdict, body)
	}
}

// target is the fineness that the charge must have, parts per thousand.
func target(in *In) float64 {
	m, _ := metal.Named(in.Alloy)
	w, _ := metal.WindowOf(in.Alloy)
	return 1000*m.Composition[w.Metal] + in.Margin
}

// leastFine: what is bought is no finer than what the clients' metal lacks, and no
// other charge with as much of it buys less fine metal, found with the price of
// fine metal alone to be made least.
func leastFine(t *testing.T, body string, in *In, p *order.PiecePlan) {
	c := p.Charge
	lacks := (target(in) + said) / 1000 * c.MassG
	for _, part := range c.Charge {
		if !part.Bought {
			lacks -= part.FineLeastG
		}
	}
	const steps = 0.05 // g: a few steps of the scale
	require.LessOrEqual(t, c.FineBoughtG, max(lacks, 0)+steps, body)
	if c.FineBoughtG < steps {
		return
	}
	ask := blend.In{Target: blend.Target{Alloy: in.Alloy, Composition: in.Composed, MarginPermil: in.Margin, MassG: &c.MassG}, Stock: blend.Stock{Lots: in.Lots, Objective: blend.LeastCost}}
	w, _ := metal.WindowOf(in.Alloy)
	price := func(m metal.Composition) *float64 {
		x := 100*m[w.Metal] + 1e-3 // all but fine metal is next to nothing
		return &x
	}
	grain, _ := metal.Named(in.Alloy)
	fine := map[string]float64{w.Metal: 999}
	ask.Additions = []blend.Addition{{ID: "grain", Alloy: in.Alloy, PricePerG: price(grain.Composition)}, {ID: "fine", CompositionPermil: fine, PricePerG: price(metal.Composition{w.Metal: .999})}}
	for _, symbol := range []string{"Ag", "Cu", "Zn", "Pd"} {
		if w.Of(symbol).Most > metal.Stray && symbol != w.Metal {
			ask.Additions = append(ask.Additions, blend.Addition{ID: symbol, CompositionPermil: map[string]float64{symbol: 1000}, PricePerG: price(nil)})
		}
	}
	other, err := blend.Solve(ctx, ask)
	if err != nil || len(other.Match.Outside) > len(c.Match.Outside) { // not the same limits
		return
	}
	if other.ClientG >= c.ClientG-steps {
		require.GreaterOrEqual(t, other.FineBoughtG, c.FineBoughtG-steps, "%s\nours %+v\nother %+v", body, c.Charge, other.Charge)
	}
}

// billed: the bill has a line for each metal that the charge buys, of its grams at
// its price, and their sum is what the plan says that the purchase costs.
func billed(t *testing.T, body string, out *Out) {
	bought, fine := map[string]float64{}, map[string]float64{}
	for _, part := range out.Pieces[0].Charge.Charge {
		if part.Bought && part.WeighG > 0 {
			bought["bought: "+part.ID] = part.WeighG
			fine["bought: "+part.ID] = part.FineLeastG
		}
	}
	sum := 0.0
	for _, line := range out.Price.Lines {
		if line.Code != quote.CodeBought {
			continue
		}
		require.InDelta(t, bought[line.Text], line.Quantity, 1e-9, body)
		delete(bought, line.Text)
		each, err := strconv.ParseFloat(line.UnitPrice, 64)
		require.NoError(t, err)
		amount, err := strconv.ParseFloat(line.Amount, 64)
		require.NoError(t, err)
		require.InDelta(t, line.Quantity*each, amount, 0.006, body) // money is rounded to cents
		sum += amount
	}
	for what := range bought {
		require.Zero(t, fine[what], "only base metal has no line of its own: %s", what)
	}
	if out.BoughtMetalG > 0 {
		cost, err := strconv.ParseFloat(out.Purchase.Cost, 64)
		require.NoError(t, err)
		require.InDelta(t, sum, cost, 1e-9, body)
	}
}
