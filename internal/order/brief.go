package order

import (
	"pourwright/internal/blend"
	"pourwright/internal/fill"
	"pourwright/internal/sizing"
)

// ChargeBrief is what to weigh out and what it is; blends has the rest.
type ChargeBrief struct {
	MassG         float64      `json:"mass_g" doc:"Mass of the charge as weighed out, g"`
	FinenessWorst float64      `json:"fineness_worst_permil" doc:"As in blends"`
	Charge        []PartBrief  `json:"charge" doc:"What to weigh out, lots first, in the order given"`
	Composition   string       `json:"composition" doc:"As in blends" example:"Ag 926.2 Cu 73.8"`
	Match         *MatchBrief  `json:"match,omitempty" doc:"As in blends"`
	Colour        *ColourBrief `json:"colour,omitempty" doc:"As in blends"`
}

// PartBrief is a part of the charge.
type PartBrief struct {
	ID     string  `json:"id" doc:"The lot or addition, or the returns of an earlier melt"`
	Owner  string  `json:"owner" doc:"Whose it is; studio for bought metal, shared for returns"`
	Bought bool    `json:"bought,omitempty" doc:"Whether it is bought for the melt"`
	WeighG float64 `json:"weigh_g" doc:"Weigh out this much, g"`
}

// MatchBrief says whether a charge is the alloy asked for.
type MatchBrief struct {
	Alloy   string   `json:"alloy" doc:"The alloy asked for"`
	IsAlloy bool     `json:"is_alloy" doc:"Whether it is that"`
	Instead []string `json:"instead" doc:"As in blends"`
	DeltaE  *float64 `json:"delta_e,omitempty" doc:"As in blends"`
}

// ColourBrief is a colour.
type ColourBrief struct {
	SRGB    string `json:"srgb" doc:"As in blends"`
	ISO8654 string `json:"iso_8654,omitempty" doc:"As in blends"`
}

// MouldBrief is the mould of a piece; mould-sizes has the rest.
type MouldBrief struct {
	Mould              sizing.Measures     `json:"mould" doc:"The cavity"`
	PatternInsideMM    float64             `json:"pattern_inside_diameter_mm,omitempty,omitzero" doc:"Of the pattern or former that presses it"`
	AsCastInsideMM     float64             `json:"as_cast_inside_diameter_mm,omitempty,omitzero" doc:"The casting, cold"`
	Finished           sizing.Measures     `json:"finished" doc:"The piece asked for"`
	ContractionPct     float64             `json:"contraction_pct" doc:"As in mould-sizes"`
	FinishedLeastMM    float64             `json:"finished_least_mm" doc:"As in mould-sizes"`
	FinishedGreatestMM float64             `json:"finished_greatest_mm" doc:"As in mould-sizes"`
	CastingMassG       float64             `json:"casting_mass_g" doc:"Mass of the casting"`
	ArcLengthMM        float64             `json:"arc_length_mm" doc:"As in mould-sizes"`
	Edit               *sizing.PatternEdit `json:"edit,omitempty" doc:"As in mould-sizes"`
	Gain               *sizing.SectionGain `json:"gain,omitempty" doc:"As in mould-sizes"`
}

// FillBrief is whether the metal fills the piece; fills has the rest.
type FillBrief struct {
	LowPct       float64            `json:"failure_low_pct" doc:"As in fills"`
	HighPct      float64            `json:"failure_high_pct" doc:"As in fills"`
	Risks        []fill.FailureMode `json:"risks" doc:"As in fills, those over 0"`
	FillTimeS    *float64           `json:"fill_time_s,omitempty" doc:"As in fills"`
	PourTimeS    float64            `json:"pour_time_s" doc:"As in fills"`
	Causes       []fill.Cause       `json:"causes" doc:"As in fills, at most three"`
	Improvements []fill.Improvement `json:"improvements,omitempty" doc:"As in fills"`
	LeadsToSprue bool               `json:"leads_to_sprue" doc:"As in fills"`
	SprueMM      float64            `json:"sprue_needed_mm" doc:"As in fills"`
	HotSpots     []fill.HotSpot     `json:"hot_spots,omitempty" doc:"As in fills"`
	HoldKg       float64            `json:"hold_kg" doc:"As in fills"`
	SpillGapMM   float64            `json:"spill_gap_mm" doc:"As in fills"`
	ClayWallMM   *float64           `json:"clay_wall_mm,omitempty" doc:"As in fills"`
}

// MeltBrief is how much to melt; melts has the rest.
type MeltBrief struct {
	MeltMassG    float64 `json:"melt_mass_g" doc:"Metal to weigh out and melt"`
	CastingMassG float64 `json:"casting_mass_g" doc:"Of it, all castings of the pour"`
	SprueMassG   float64 `json:"sprue_mass_g" doc:"Of it, sprue, runners, gates"`
	ButtonMassG  float64 `json:"button_mass_g" doc:"Of it, the button"`
	VentsMassG   float64 `json:"vents_mass_g" doc:"Of it, the vents"`
	ReserveG     float64 `json:"reserve_g,omitempty,omitzero" doc:"As in melts"`
	LossG        float64 `json:"loss_g" doc:"As in melts"`
	LeastMeltG   float64 `json:"least_melt_g,omitempty,omitzero" doc:"The least metal that a careful hand may dare; melts says what it risks"`
	LiquidusC    float64 `json:"liquidus_c" doc:"As in melts"`
	Tip          string  `json:"tip,omitempty" doc:"As in melts"`
	TimeLowS     float64 `json:"time_low_s,omitempty,omitzero" doc:"As in melts"`
	TimeHighS    float64 `json:"time_high_s,omitempty,omitzero" doc:"As in melts"`
}

// Brief tells the parts of the plan in short, once they are final.
func (p *PiecePlan) Brief() {
	p.ChargeTold, p.MouldTold, p.FillTold, p.MeltTold = chargeBrief(&p.Charge), p.mouldBrief(), p.fillBrief(), p.meltBrief()
}

func chargeBrief(c *blend.ChargePlan) ChargeBrief {
	b := ChargeBrief{MassG: c.MassG, FinenessWorst: c.FinenessWorst, Charge: []PartBrief{}, Composition: c.Composition}
	for _, part := range c.Charge {
		if part.WeighG > 0 {
			b.Charge = append(b.Charge, PartBrief{part.ID, part.Owner, part.Bought, part.WeighG})
		}
	}
	if m := c.Match; m != nil {
		b.Match = &MatchBrief{m.Alloy, m.IsAlloy, m.Instead, m.DeltaE}
	}
	if k := c.Colour; k != nil {
		b.Colour = &ColourBrief{k.SRGB, k.ISO8654}
	}
	return b
}

func (p *PiecePlan) mouldBrief() MouldBrief {
	m := &p.Mould
	return MouldBrief{Mould: m.Mould, PatternInsideMM: m.PatternWanted.InsideDiameterMM, AsCastInsideMM: m.AsCast.InsideDiameterMM, Finished: m.Finished,
		ContractionPct: m.ContractionPct, FinishedLeastMM: m.FinishedLeastMM, FinishedGreatestMM: m.FinishedGreatestMM,
		CastingMassG: m.CastingMassG, ArcLengthMM: m.ArcLengthMM, Edit: m.Edit, Gain: m.Gain}
}

func (p *PiecePlan) fillBrief() FillBrief {
	f := &p.Fill
	b := FillBrief{LowPct: f.LowPct, HighPct: f.HighPct, Risks: []fill.FailureMode{},
		FillTimeS: f.Nominal.FillTimeS, PourTimeS: f.Nominal.PourTimeS,
		Causes: f.Causes, Improvements: f.Improvements, LeadsToSprue: f.Feeding.LeadsToSprue, SprueMM: f.Feeding.SprueMM, HotSpots: f.Feeding.HotSpots,
		HoldKg: f.Flask.HoldKg, SpillGapMM: f.Flask.SpillGapMM, ClayWallMM: f.Flask.ClayWallMM}
	const most = 3
	b.Causes = b.Causes[:min(len(b.Causes), most)]
	for _, r := range f.Risks {
		if r.Pct > 0 {
			b.Risks = append(b.Risks, r)
		}
	}
	return b
}

func (p *PiecePlan) meltBrief() MeltBrief {
	m := &p.Melt
	b := MeltBrief{MeltMassG: m.MeltMassG, CastingMassG: m.CastingMassG, SprueMassG: m.SprueMassG, ButtonMassG: m.ButtonMassG, VentsMassG: m.VentsMassG,
		ReserveG: m.ReserveG, LossG: m.LossG, LiquidusC: m.LiquidusC, Tip: m.Tip, TimeLowS: m.TimeLowS, TimeHighS: m.TimeHighS}
	if l := m.LeastMetal; l != nil {
		b.LeastMeltG = l.MeltMassG
	}
	return b
}
