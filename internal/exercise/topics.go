package exercise

import (
	"context"
	"fmt"
	"strconv"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/melt"
	"pourwright/internal/quote"
	"pourwright/internal/section"
	"pourwright/internal/sizing"
	"pourwright/internal/stone"
)

// topics pose the cases. Each draws its figures and asks the calculation; the
// tolerance is what a careful student loses by rounding on the way.
var topics = map[string]func(context.Context, dice) (posed, error){
	"ring_size": ringSize, "bangle_size": bangleSize, "mould_size": mouldSize,
	"casting_from_wax": castingFromWax, "metal_to_melt": metalToMelt, "raise_fineness": raiseFineness,
	"torch_time": torchTime, "stone_mass": stoneMass, "price_by_margin": priceByMargin,
}

func ringSize(ctx context.Context, d dice) (posed, error) {
	in := calc.Default[sizing.RingSizeIn]()
	in.System = pick(d, sizing.US, sizing.UK, sizing.Japan, sizing.Circumference)
	name := map[sizing.System]string{sizing.US: "US and Canada", sizing.UK: "UK and Ireland", sizing.Japan: "Japan", sizing.Circumference: "circumference, ISO 8653"}[in.System]
	switch in.System {
	case sizing.US:
		in.Size = fmt.Sprint(d.between(3, 12, 0.25))
	case sizing.UK:
		in.Size = string(rune('F'+d.IntN(15))) + pick(d, "", "½")
	case sizing.Japan:
		in.Size = fmt.Sprint(d.between(4, 24, 1))
	default:
		in.Size = fmt.Sprint(d.between(44, 68, 1))
	}
	out, err := sizing.RingSizes(ctx, in)
	return posed{
		question: "A client orders a ring by its size. What inside diameter must the finished ring have?",
		given:    []Given{text("System", name), text("Size", in.Size)},
		answer:   out.DiameterMM, unit: "mm", tolerance: 0.05, endpoint: "ring-sizes", notes: out.Notes,
		hint: "Find the inside circumference on the scale of that system, then divide by π.",
	}, err
}

func bangleSize(ctx context.Context, d dice) (posed, error) {
	in := calc.Default[sizing.BangleIn]()
	hand, ease := d.between(180, 230, 1), d.between(0, 6, 1)
	in.HandCircumferenceMM, in.EaseMM = &hand, &ease
	out, err := sizing.BangleFits(ctx, in)
	return posed{
		question: "A closed round bangle is made for a hand measured round the knuckles with the thumb folded. What inside diameter must it have?",
		given:    []Given{given("Round the hand", hand, "mm"), given("Ease in circumference", ease, "mm")},
		answer:   out.InsideDiameterMM, unit: "mm", tolerance: 0.1, endpoint: "bangle-fits", notes: out.Notes,
		hint: "The inside circumference is the hand and the ease.",
	}, err
}

func mouldSize(ctx context.Context, d dice) (posed, error) {
	in := calc.Default[sizing.MouldIn]()
	inside, contraction := d.between(54, 70, 0.5), d.between(1.2, 2.2, 0.1)
	in.InsideDiameterMM, in.ContractionPct = &inside, &contraction
	in.Shape, in.ThicknessMM, in.WidthMM, in.Alloy = section.HalfRound, 2.4, 6, "silver-925"
	in.BenchInsideMM = d.between(0.05, 0.3, 0.05)
	out, err := sizing.PlanMould(ctx, in)
	return posed{
		question: "A silver bangle is filed and polished on its inside after casting, and the casting contracts as it cools. What inside diameter must the cavity in the clay have?",
		given:    []Given{given("Finished inside diameter", inside, "mm"), given("To be taken off the inside face", in.BenchInsideMM, "mm"), given("Linear contraction, reckoned on the cold casting", contraction, "%")},
		answer:   out.Mould.InsideDiameterMM, unit: "mm", tolerance: 0.03, endpoint: "mould-sizes", notes: out.Notes,
		hint: "Filing the inside face makes the diameter larger by twice what is taken off; so the casting must be smaller. Then it is scaled up by the contraction.",
	}, err
}

func castingFromWax(ctx context.Context, d dice) (posed, error) {
	in := calc.Default[melt.In]()
	in.Alloy = pick(d, "silver-925", "silver-999", "gold-750-yellow", "gold-585-yellow")
	in.PatternMassG, in.PatternDensityGCm3 = d.between(0.8, 6, 0.05), d.between(0.92, 1.02, 0.01)
	out, err := melt.Plan(ctx, in)
	return posed{
		question: "A wax pattern is weighed. How heavy is its casting, without sprue?",
		given:    []Given{given("Wax", in.PatternMassG, "g"), given("Density of the wax", in.PatternDensityGCm3, "g/cm³"), text("Metal", in.Alloy), given("Density of the metal", rounded(out.DensityGCm3, 2), "g/cm³")},
		answer:   out.CastingMassG, unit: "g", tolerance: 0.005 * out.CastingMassG, endpoint: "melts", notes: out.Notes,
		hint: "The volume is the same.",
	}, err
}

func metalToMelt(ctx context.Context, d dice) (posed, error) {
	in := calc.Default[melt.In]()
	in.Alloy, in.VolumeMM3 = "silver-925", d.between(1500, 6000, 50)
	feed := d.between(40, 120, 5)
	in.FeedPct, in.ReserveG, in.MeltLossPct = &feed, d.between(5, 20, 1), d.between(0.5, 3, 0.5)
	out, err := melt.Plan(ctx, in)
	return posed{
		question: "How much sterling silver must be melted for a casting?",
		given: []Given{given("Volume of the casting", in.VolumeMM3, "mm³"), given("Density of the metal", rounded(out.DensityGCm3, 2), "g/cm³"), given("Sprue, funnel and vents, of the casting", feed, "%"),
			given("Reserve", in.ReserveG, "g"), given("Lost, of what is melted", in.MeltLossPct, "%")},
		answer: out.MeltMassG, unit: "g", tolerance: 0.005 * out.MeltMassG, endpoint: "melts", notes: out.Notes,
		hint: "The loss is a share of what is melted, not of what is left: divide.",
	}, err
}

func raiseFineness(ctx context.Context, d dice) (posed, error) {
	in := calc.Default[blend.CorrectionIn]()
	fine := 999.0
	in.MeltG, in.AssayPermil, in.FinenessPermil = d.between(20, 120, 1), d.between(800, 915, 5), 925
	in.Add, in.AdditionPermil, in.ResolutionG = "fine", &fine, 0.0001
	out, err := blend.Correct(ctx, in)
	return posed{
		question: "A client's silver is to be raised to sterling. How much fine silver must be added?",
		given:    []Given{given("The client's silver", in.MeltG, "g"), given("Its fineness by assay", in.AssayPermil, "‰"), given("Fineness wanted", in.FinenessPermil, "‰"), given("Fineness of the fine silver", fine, "‰")},
		answer:   out.ExactG, unit: "g", tolerance: max(0.01, 0.003*out.ExactG), endpoint: "corrections", notes: out.Notes,
		hint: "What the one lacks, the other must bring: w (t − f) = x (h − t).",
	}, err
}

func torchTime(ctx context.Context, d dice) (posed, error) {
	in := calc.Default[melt.In]()
	in.Alloy, in.VolumeMM3 = "silver-925", d.between(2000, 8000, 100)
	share := d.between(8, 20, 1)
	in.TorchKW, in.EfficiencyPct = d.between(4, 8, 0.5), &share
	out, err := melt.Plan(ctx, in)
	return posed{
		question: "How many minutes does the torch need to bring the melt to the pour, once it is burning?",
		given:    []Given{given("Heat that the metal takes up", rounded(out.HeatKJ, 2), "kJ"), given("Heat that the dish takes up", rounded(out.CrucibleHeatKJ, 2), "kJ"), given("Heat that both lose to the room", rounded(out.LostHeatKJ, 2), "kJ"), given("Heat that the torch gives out", in.TorchKW, "kW"), given("Share of it that enters metal and dish", share, "%")},
		answer:   out.TimeS / 60, unit: "min", tolerance: 0.01 * out.TimeS / 60, endpoint: "melts", notes: out.Notes,
		hint: "A kilowatt is a kilojoule a second.",
	}, err
}

func stoneMass(ctx context.Context, d dice) (posed, error) {
	in := calc.Default[stone.SizeIn]()
	length := d.between(1.5, 7, 0.1)
	in.Gem, in.LengthMM = pick(d, "diamond", "sapphire", "almandine", "spinel"), &length
	out, err := stone.Size(ctx, in)
	return posed{
		question: "Estimate the mass of a round brilliant from its measures.",
		given:    []Given{text("Material", in.Gem), given("Diameter", length, "mm"), given("Total depth", rounded(out.Measures.DepthMM, 3), "mm")},
		answer:   out.MassCt, unit: "ct", tolerance: 0.04 * out.MassCt, endpoint: "stone-sizes", notes: out.Notes,
		hint: "Diameter² × depth × density × the constant of the cut.",
	}, err
}

func priceByMargin(ctx context.Context, d dice) (posed, error) {
	in := calc.Default[quote.In]()
	metal := 1.0 // of which nothing is needed
	in.PieceG, in.FinenessPermil, in.Currency, in.MetalPricePerG = 0, 925, "EUR", &metal
	in.CleaningMin, in.HourlyRate = d.between(120, 480, 15), d.between(30, 60, 1)
	in.MarginPct, in.TaxPct = d.between(15, 50, 5), pick(d, 0.0, 19, 20, 21)
	out, err := quote.Price(ctx, in)
	if err != nil {
		return posed{}, err
	}
	total, err := strconv.ParseFloat(out.Total, 64)
	return posed{
		question: "A repair is priced by its work alone, with a margin: profit as a share of the price before tax. What does the client pay, tax included?",
		given:    []Given{given("Work", in.CleaningMin, "minutes"), given("An hour of it costs", in.HourlyRate, "EUR"), given("Margin", in.MarginPct, "%"), given("Tax", in.TaxPct, "%")},
		answer:   total, unit: "EUR", tolerance: 0.02, endpoint: "quotes", notes: out.Notes,
		hint: "A margin is a share of the price, not of the cost: divide the cost by what the margin leaves.",
	}, err
}

func rounded(v float64, digits int) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'f', digits, 64), 64)
	return r
}
