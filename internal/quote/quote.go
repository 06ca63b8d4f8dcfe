package quote

import (
	"context"
	"fmt"

	"pourwright/internal/calc"
)

// In is the flat question: one kind of piece. Money is before tax;
// minutes and fees are for one piece unless said otherwise.
type In struct {
	Piece                     string   `json:"piece" default:"piece" maxLength:"80" doc:"What it is, for the words to the client" example:"half-round bangle"`
	Pieces                    int      `json:"pieces" minimum:"1" maximum:"1000" default:"1" doc:"How many alike"`
	Metal                     string   `json:"metal" enum:"silver,gold,platinum,palladium,copper_alloy" default:"silver" doc:"The metal that metal_price_per_gram is for, for the words to the client; a copper alloy is priced whole, at fineness_permil 1000"`
	PieceG                    float64  `json:"piece_g" minimum:"0" maximum:"100000" doc:"Finished mass of one piece without stones" example:"38"`
	FinenessPermil            float64  `json:"fineness_permil" minimum:"1" maximum:"1000" doc:"Fineness of the piece, parts per thousand by mass" example:"925"`
	CastG                     float64  `json:"cast_g,omitempty" minimum:"0" maximum:"100000" doc:"Mass poured for one piece with sprue and button (casting_mass_g and feed_mass_g of melts); the melt loss is taken of it. If absent, the piece and its bench loss" example:"62"`
	MeltLossPct               float64  `json:"melt_loss_pct" minimum:"0" maximum:"50" default:"1" doc:"Metal lost in the melt, percent of cast_g"`
	BenchLossPct              float64  `json:"bench_loss_pct" minimum:"0" maximum:"100" default:"5" doc:"Metal filed and polished away, percent of piece_g"`
	ClientMetalG              float64  `json:"client_metal_g" minimum:"0" maximum:"100000" default:"0" doc:"Metal that the client brings, for the whole order"`
	ClientMetalFinenessPermil float64  `json:"client_metal_fineness_permil,omitempty" minimum:"0" maximum:"1000" doc:"Its fineness, parts per thousand: the least it can be" example:"900"`
	DesignMin                 float64  `json:"design_min" minimum:"0" maximum:"100000" default:"0" doc:"Talk, drawing and pattern, minutes for the whole order"`
	MouldMin                  float64  `json:"mould_min" minimum:"0" maximum:"100000" default:"0" doc:"Ramming the flask and cutting the sprue, minutes a piece"`
	PourMin                   float64  `json:"pour_min" minimum:"0" maximum:"100000" default:"0" doc:"Melting and pouring, minutes a piece"`
	SettingMin                float64  `json:"setting_min" minimum:"0" maximum:"100000" default:"0" doc:"Placing stones in the mould, or setting them afterwards, minutes a piece"`
	CleaningMin               float64  `json:"cleaning_min" minimum:"0" maximum:"100000" default:"0" doc:"Sawing off, filing, repairs, minutes a piece"`
	PolishingMin              float64  `json:"polishing_min" minimum:"0" maximum:"100000" default:"0" doc:"Sanding and polishing, minutes a piece"`
	PaperworkMin              float64  `json:"paperwork_min" minimum:"0" maximum:"100000" default:"0" doc:"Letters, hallmark, packing, minutes for the whole order"`
	Stones                    int      `json:"stones" minimum:"0" maximum:"10000" default:"0" doc:"Stones that you supply, in one piece"`
	StonePrice                float64  `json:"stone_price" minimum:"0" maximum:"1000000000" default:"0" doc:"Price of one of them"`
	ClientStones              int      `json:"client_stones" minimum:"0" maximum:"10000" default:"0" doc:"Stones that the client brings, in one piece"`
	StonesInsurance           float64  `json:"stones_insurance" minimum:"0" maximum:"1000000000" default:"0" doc:"Insurance of the client's stones while you keep them, for the whole order"`
	SettingPrice              float64  `json:"setting_price" minimum:"0" maximum:"1000000000" default:"0" doc:"Price of setting one stone, yours or the client's, where it is not in setting_min"`
	SetInMould                bool     `json:"set_in_mould" default:"true" doc:"Stones are cast in place, so a failed pour costs their setting too"`
	StonesLostPct             float64  `json:"stones_lost_pct" minimum:"0" maximum:"100" default:"100" doc:"Share of your stones lost with a failed pour when set in the mould, percent"`
	Consumables               float64  `json:"consumables" minimum:"0" maximum:"1000000000" default:"0" doc:"Clay, flux, crucible wear, abrasives, for one piece"`
	GasG                      float64  `json:"gas_g" minimum:"0" maximum:"1000000" default:"0" doc:"Torch gas for one pour (fuel_g of melts)"`
	HallmarkFee               float64  `json:"hallmark_fee" minimum:"0" maximum:"1000000000" default:"0" doc:"Hallmarking, for one piece"`
	AssayFee                  float64  `json:"assay_fee" minimum:"0" maximum:"1000000000" default:"0" doc:"Assay of the metal, for the whole order"`
	Delivery                  float64  `json:"delivery" minimum:"0" maximum:"1000000000" default:"0" doc:"Packing, carriage and its insurance, for the whole order"`
	FailurePct                float64  `json:"failure_pct" minimum:"0" maximum:"95" default:"0" doc:"Chance that a pour fails (failure_pct of fills), percent"`
	FailureLowPct             *float64 `json:"failure_low_pct,omitempty" minimum:"0" maximum:"95" doc:"Low end of its band, with failure_high_pct: the band prices the remake, and the low and the high total" example:"5"`
	FailureHighPct            *float64 `json:"failure_high_pct,omitempty" minimum:"0" maximum:"100" doc:"High end of its band, 90 in 100 within it" example:"30"`
	BoughtG                   *float64 `json:"bought_g,omitempty" minimum:"0" maximum:"100000" doc:"Metal that you buy for the whole order, as blends says, where it is more or less than what is needed: it is billed whole, and what stays with you is credited" example:"20"`
	BoughtFinenessPermil      *float64 `json:"bought_fineness_permil,omitempty" minimum:"0" maximum:"1000" doc:"Its fineness; that of the piece if absent" example:"999"`
	Terms
}

// Price prices an order of one kind of piece; see [Total] for the rules.
func Price(ctx context.Context, in In) (Out, error) {
	if in.ClientMetalG > 0 && in.ClientMetalFinenessPermil == 0 {
		return Out{}, calc.Refuse("client_metal_fineness_permil", nil, "give the fineness of the client's metal, 1 to 1000 (sterling is 925), or client_metal_g 0")
	}
	if (in.FailureLowPct == nil) != (in.FailureHighPct == nil) {
		return Out{}, calc.Refuse("failure_low_pct", nil, "give failure_low_pct and failure_high_pct together, or neither")
	}
	out, err := Total(ctx, in.order())
	if err == nil && in.Stones+in.ClientStones > 0 && in.SettingMin == 0 && in.SettingPrice == 0 {
		out.Warn("setting_unpriced", calc.Care, "%d stones a piece are to be set or placed, and nothing is charged for it: give setting_min or setting_price.", in.Stones+in.ClientStones)
	}
	return out, err
}

func (in In) order() Order {
	var stonesLost, settingLost float64
	var inMould int // of the client's stones
	if in.SetInMould {
		stonesLost, settingLost, inMould = in.StonesLostPct, 100, in.ClientStones
	}
	o := Order{
		Terms: in.Terms,
		Metal: in.Metal,
		Pieces: []OrderPiece{{
			Name: in.Piece, Count: in.Pieces, PieceG: in.PieceG, FinenessPermil: in.FinenessPermil,
			CastG: in.CastG, MeltLossPct: in.MeltLossPct, BenchLossPct: in.BenchLossPct,
			Tasks: []Task{
				{Step: "mould", Minutes: in.MouldMin, AtRisk: true, field: "mould_min"},
				{Step: "melt and pour", Minutes: in.PourMin, AtRisk: true, field: "pour_min"},
				{Step: "setting", Minutes: in.SettingMin, AtRisk: in.SetInMould, field: "setting_min"},
				{Step: "cleaning up", Minutes: in.CleaningMin, field: "cleaning_min"},
				{Step: "polishing", Minutes: in.PolishingMin, field: "polishing_min"},
			},
			Goods: []Good{
				{CodeStones, "stones", in.Stones, in.StonePrice, stonesLost, "stone_price"},
				{CodeSetting, "setting by the stone", in.Stones + in.ClientStones, in.SettingPrice, settingLost, "setting_price"},
				{CodeConsumables, "consumables", 1, in.Consumables, 100, "consumables"},
				{CodeFees, "hallmark", 1, in.HallmarkFee, 0, "hallmark_fee"},
			},
			GasG: in.GasG, FailurePct: in.FailurePct, ClientStones: inMould, flat: true,
		}},
		Tasks: []Task{{Step: "design", Minutes: in.DesignMin, field: "design_min"}, {Step: "paperwork", Minutes: in.PaperworkMin, field: "paperwork_min"}},
		Goods: []Good{{CodeFees, "assay", 1, in.AssayFee, 0, "assay_fee"}, {CodeFees, "delivery", 1, in.Delivery, 0, "delivery"}},
	}
	if in.StonesInsurance > 0 {
		o.Goods = append(o.Goods, Good{CodeFees, "insurance of the client's stones", 1, in.StonesInsurance, 0, "stones_insurance"})
	}
	if in.FailureLowPct != nil {
		o.Pieces[0].FailureBand = &Band{*in.FailureLowPct, *in.FailureHighPct}
	}
	if in.BoughtG != nil {
		fineness := in.FinenessPermil
		if in.BoughtFinenessPermil != nil {
			fineness = *in.BoughtFinenessPermil
		}
		o.Bought = []BoughtLot{{What: fmt.Sprintf("%s of %g", o.metalWord(), fineness), G: *in.BoughtG, FinenessPermil: fineness}}
	}
	if in.ClientMetalG > 0 {
		o.ClientMetal = []ClientLot{{in.ClientMetalG, in.ClientMetalFinenessPermil}}
	}
	return o
}
