// Package commission plans a whole order: sizes, moulds, stones, the pour, the
// melt, the client's metal shared over the pieces, the price and the steps at
// the bench. It asks the rooms below and holds no physics of its own.
package commission

import (
	"context"
	"fmt"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/melt"
	"pourwright/internal/mesh"
	"pourwright/internal/quote"
	"pourwright/internal/safety"
	"pourwright/internal/section"
	"pourwright/internal/sizing"
	"pourwright/internal/stone"
)

// In is a whole order: what the client brings, what is wanted of
// it, and how the studio works.
type In struct {
	Job
	Lots   []blend.SourceLot `json:"lots" minItems:"1" maxItems:"60" doc:"Scrap at hand, the client's and the studio's"`
	Prices quote.Terms       `json:"prices" doc:"The studio's prices and terms"`
	Ways   *PourWays         `json:"ways,omitempty" doc:"Search the ways to pour and take the best, or the one chosen; without it the pieces are poured as given"`
	Paper  string            `json:"paper" enum:"a4,letter" default:"a4" doc:"Paper of the bench sheet, where the answer is asked for as PDF"`
}

// Job is the part of an order that says what is to be made, and how.
type Job struct {
	Title     string           `json:"title,omitempty" maxLength:"120" doc:"What the order is called" example:"Two bangles from old spoons"`
	Alloy     string           `json:"alloy" maxLength:"60" default:"silver-925" doc:"What is to be cast, an id of /v1/alloys; its fineness is reached in the worst case" example:"silver-925"`
	Margin    float64          `json:"margin_permil" minimum:"0" maximum:"60" default:"0" doc:"Fineness to add for safety, parts per thousand: 2 to 5 for scrap that is known, 10 or more for scrap that is not (common practice)"`
	Additions []blend.Addition `json:"additions,omitempty" maxItems:"20" doc:"What can be bought; fine metal and copper without end when left out"`
	Objective blend.Objective  `json:"objective" enum:"least_bought,least_cost,most_client,least_change" default:"least_bought" doc:"What to favour when the lots are shared out"`
	KeepApart bool             `json:"keep_owners_apart" default:"false" doc:"Use the metal of one client only in a piece, besides the studio's: for_owner of each piece says whose"`
	Returns   bool             `json:"reuse_returns" default:"false" doc:"Melt the button and the sprue of each pour again in the next; they keep their fineness, but sand, oxide and gas gather: half new metal is a usual rule"`
	PourOrder string           `json:"pour_order" enum:"as_given,best" default:"as_given" doc:"best tries every order of up to 5 pieces, which matters where returns are used again"`
	Apportion blend.Apportion  `json:"apportion" enum:"as_it_comes,even,first_piece" default:"even" doc:"How the client's metal is shared where the objective leaves a choice: as it comes, evenly, or the first piece first"`
	Stones    []Stone          `json:"stones,omitempty" maxItems:"60" doc:"Stones at hand, the client's and the studio's"`
	Pieces    []Piece          `json:"pieces" minItems:"1" maxItems:"12" doc:"The pieces wanted, each cast in a pour of its own"`
	Studio    Studio           `json:"studio,omitempty" doc:"The studio's clay, crucible and torch"`
	Work      OrderWork        `json:"work,omitempty" doc:"Work and fees for the order as a whole"`
}

// Stone is stones of one kind at hand.
type Stone struct {
	ID        string  `json:"id" minLength:"1" maxLength:"60" doc:"What you call them" example:"blue sapphires"`
	PriceEach float64 `json:"price_each" minimum:"0" maximum:"10000000" default:"0" doc:"Price of one of the studio's; 0 for the client's"`
	stone.In
}

// Piece is a piece wanted.
type Piece struct {
	Name  string `json:"name" minLength:"1" maxLength:"60" doc:"What you call it" example:"large bangle"`
	Piece string `json:"piece" enum:"bangle,ring,pendant,bar" default:"bangle" doc:"A closed round bangle or ring, or a flat pendant or a bar that is fed from one end"`
	Alloy string `json:"alloy,omitempty" maxLength:"60" doc:"What this piece is cast of, where it is not the alloy of the order; of the same precious metal" example:"silver-935"`
	Owner string `json:"for_owner,omitempty" maxLength:"80" doc:"Which client's piece it is, by the owner_name of their lots; needed with keep_owners_apart where there are several clients"`

	InsideDiameterMM    *float64      `json:"inside_diameter_mm,omitempty" minimum:"9" maximum:"110" doc:"Finished inside diameter; or give hand_circumference_mm or ring_size" example:"62"`
	HandCircumferenceMM *float64      `json:"hand_circumference_mm,omitempty" minimum:"80" maximum:"350" doc:"Tape around the knuckles with the thumb folded, for a bangle" example:"205"`
	LengthMM            *float64      `json:"length_mm,omitempty" minimum:"2" maximum:"390" doc:"Finished length of a pendant or bar, from the gate to its far end" example:"38"`
	RingSystem          sizing.System `json:"ring_system,omitempty" enum:"circumference,diameter,us,uk,japan,minus40" doc:"System of ring_size"`
	RingSize            string        `json:"ring_size,omitempty" maxLength:"24" doc:"Finished ring size, for a ring"`

	Section  section.Section `json:"section" doc:"Finished section"`
	ThinSpot *fill.Thin      `json:"thin_spot,omitempty" doc:"A place to which the section thins evenly from both sides"`
	Pattern  *PatternAtHand  `json:"pattern,omitempty" doc:"The pattern that will be moulded, where it differs from what is wanted"`
	Stones   []PlacedStones  `json:"stones,omitempty" maxItems:"40" doc:"Stones wanted in this piece"`
	Placing  *PiecePlacing   `json:"placing,omitempty" doc:"Let the stones at hand be placed on this piece by rule: the largest to the crown, pairs of like ones falling away left and right, clear of sprue, vents, thin places and the parting line"`
	Mould    Mould           `json:"mould,omitempty" doc:"How it is moulded and poured"`
	Work     PieceWork       `json:"work,omitempty" doc:"Work and fees for this piece"`
}

// PatternAtHand is an existing pattern.
type PatternAtHand struct {
	InsideDiameterMM *float64      `json:"inside_diameter_mm,omitempty" minimum:"9" maximum:"120" doc:"Its inside diameter; needed without mesh" example:"66"`
	Mesh             *mesh.Pattern `json:"mesh,omitempty" doc:"Its surface as an STL file in base64, in place of its measures"`
	ThicknessMM      *float64      `json:"thickness_mm,omitempty" minimum:"0.3" maximum:"20" doc:"Its thickness" example:"1.8"`
	WidthMM          *float64      `json:"width_mm,omitempty" minimum:"0.5" maximum:"80" doc:"Its width"`
	Repeats          int           `json:"repeats" minimum:"0" maximum:"200" default:"0" doc:"How often its ornament repeats around; 0 for plain"`
}

// PlacedStones are stones of one kind in a piece.
type PlacedStones struct {
	ID       string  `json:"id" maxLength:"60" doc:"Which, by the id under stones" example:"blue sapphires"`
	Quantity int     `json:"quantity" minimum:"1" maximum:"100" default:"1" doc:"How many, side by side"`
	AtPct    float64 `json:"at_pct" minimum:"0" maximum:"100" default:"25" doc:"Middle of the group, percent of the way round from the gate; 50 is opposite the gate"`
}

// Studio is what the studio has.
type Studio struct {
	ClayC                float64         `json:"clay_c" minimum:"-20" maximum:"300" default:"25" doc:"Temperature of the clay at the pour"`
	Clay                 *fill.Clay      `json:"clay,omitempty" doc:"Your own clay, where measured"`
	Calibration          *fill.Posterior `json:"calibration,omitempty" doc:"What your past pours say, as calibrations gave it"`
	ContractionPct       *float64        `json:"contraction_pct,omitempty" minimum:"0" maximum:"5" doc:"Your own linear contraction, as mould-calibrations gives it" example:"1.7"`
	ContractionSpreadPct *float64        `json:"contraction_spread_pct,omitempty" minimum:"0" maximum:"2" doc:"Plus or minus on it"`
	CrucibleCapacityG    float64         `json:"crucible_capacity_g,omitempty" minimum:"1" maximum:"50000" doc:"Mass of this metal that the crucible is made to hold" example:"250"`
	TorchKW              float64         `json:"torch_kw,omitempty" minimum:"0.05" maximum:"200" doc:"Heat that the torch gives out; needed for the time" example:"6"`
	EfficiencyPct        float64         `json:"efficiency_pct" minimum:"0.5" maximum:"100" default:"10" doc:"Share of it that ends up in the metal"`
	ReserveG             float64         `json:"reserve_g" minimum:"0" maximum:"5000" default:"10" doc:"Metal beyond what should be needed, each pour"`
	MeltLossPct          float64         `json:"melt_loss_pct" minimum:"0" maximum:"50" default:"1" doc:"Lost in the melt, percent"`
	ScaleStepG           float64         `json:"scale_step_g" minimum:"0.0001" maximum:"10" default:"0.01" doc:"Step of the scale"`
	FileBackMinG         float64         `json:"file_back_min_per_g" minimum:"0" maximum:"120" default:"4" doc:"Minutes at the bench to file off a gram that was cast too thick on purpose; our guess, weigh the filings of ten minutes"`
	SecondSprueMin       float64         `json:"second_sprue_min" minimum:"0" maximum:"600" default:"12" doc:"Minutes to cut a second sprue and to saw and file it off; our guess"`
	RunnerMin            float64         `json:"runner_min" minimum:"0" maximum:"600" default:"8" doc:"Minutes to lead the sprue down to a gate at the side or below; our guess"`
	ScrapeMin            float64         `json:"scrape_min" minimum:"0" maximum:"600" default:"10" doc:"Minutes to scrape an impression thicker; our guess"`
	RiskLimitPct         float64         `json:"risk_limit_pct" minimum:"0.5" maximum:"60" default:"10" doc:"Risk of a failed pour that you accept"`
}

// OrderWork is work and fees once an order.
type OrderWork struct {
	DesignMin    float64 `json:"design_min" minimum:"0" maximum:"100000" default:"0" doc:"Talk and drawing, minutes"`
	PaperworkMin float64 `json:"paperwork_min" minimum:"0" maximum:"100000" default:"0" doc:"Letters, hallmark, packing, minutes"`
	AssayFee     float64 `json:"assay_fee" minimum:"0" maximum:"100000000" default:"0" doc:"Assay of the metal"`
	Delivery     float64 `json:"delivery" minimum:"0" maximum:"100000000" default:"0" doc:"Packing, carriage and insurance"`
}

// PieceWork is work and fees for one piece.
type PieceWork struct {
	MouldMin     float64 `json:"mould_min" minimum:"0" maximum:"100000" default:"45" doc:"Moulding and cutting the sprue, minutes"`
	SettingMin   float64 `json:"setting_min" minimum:"0" maximum:"100000" default:"0" doc:"Placing stones in the clay, minutes"`
	PourMin      float64 `json:"pour_min" minimum:"0" maximum:"100000" default:"30" doc:"Melting and pouring, minutes"`
	CleaningMin  float64 `json:"cleaning_min" minimum:"0" maximum:"100000" default:"45" doc:"Sawing off and filing, minutes"`
	PolishingMin float64 `json:"polishing_min" minimum:"0" maximum:"100000" default:"40" doc:"Sanding and polishing, minutes"`
	AfterSetting float64 `json:"bench_setting_price" minimum:"0" maximum:"10000000" default:"0" doc:"Price of setting one stone at the bench, for those that must not be cast in place"`
	Consumables  float64 `json:"consumables" minimum:"0" maximum:"100000000" default:"0" doc:"Clay, flux, abrasives"`
	HallmarkFee  float64 `json:"hallmark_fee" minimum:"0" maximum:"100000000" default:"0" doc:"Hallmarking"`
	BenchLossPct float64 `json:"bench_loss_pct" minimum:"0" maximum:"100" default:"5" doc:"Metal filed and polished away, percent of the piece"`
}

// Out is the plan of the order.
type Out struct {
	Verdict      Verdict            `json:"verdict" enum:"go,go_with_care,do_not_pour" doc:"The worst of the pieces"`
	Summary      string             `json:"summary" doc:"The plan in a few sentences"`
	PourPlan     *PourPlan          `json:"pour_plan,omitempty" doc:"The way to pour that was taken, where ways were searched"`
	Pieces       []PiecePlan        `json:"pieces" doc:"A plan for each piece, in the order given"`
	MeltMassG    float64            `json:"melt_mass_g" doc:"Metal to melt for all pieces"`
	ClientMetalG float64            `json:"client_metal_g" doc:"Of it, the client's"`
	BoughtMetalG float64            `json:"bought_metal_g" doc:"Of it, bought"`
	ReturnsG     float64            `json:"returns_g" doc:"Of it, button and sprue of an earlier pour, so melted twice"`
	PourOrder    []string           `json:"pour_order" doc:"The pieces in the order to pour them"`
	LotsLeft     []blend.Left       `json:"lots_left" doc:"What is left of each lot"`
	RefusedLots  []blend.Refused    `json:"refused_lots" doc:"Lots that must not be melted, and why"`
	WhatIf       []blend.WhatIf     `json:"what_if" doc:"What a small change of the lots or the fineness would cost or save"`
	Verification blend.Verification `json:"verification" doc:"Proof that the lots could not be shared out better"`
	Placing      *StonePlan         `json:"placing,omitempty" doc:"Where the stones went, where they were placed by rule"`
	StonesBack   []StoneBack        `json:"stones_back" doc:"Stones that are not cast in place: set afterwards or given back"`
	Price        quote.Out          `json:"price" doc:"The price of the order, for the client"`
	Steps        []BenchStep        `json:"steps" doc:"What to do, in order"`
	calc.Notes
	poured []Piece
}

// Poured is the pieces as the plan pours them: the way that was taken and the
// stones that were placed by rule stand in them.
func (out Out) Poured() []Piece { return out.poured }

// PiecePlan is the plan of one piece.
type PiecePlan struct {
	Name       string            `json:"name" doc:"As given"`
	Verdict    Verdict           `json:"verdict" enum:"go,go_with_care,do_not_pour" doc:"Whether to pour it as planned"`
	Reasons    []VerdictReason   `json:"reasons" doc:"Why, weightiest first; empty for a plain go"`
	Alloy      string            `json:"alloy" doc:"What it is cast of"`
	InsideMM   float64           `json:"inside_diameter_mm" doc:"Finished inside diameter; 0 for a pendant or bar"`
	LengthMM   float64           `json:"length_mm,omitempty,omitzero" doc:"Finished length of a pendant or bar"`
	PourTurn   int               `json:"pour_turn" doc:"Which pour it is, from 1, in the order recommended"`
	ReturnsG   float64           `json:"returns_g" doc:"Button and sprue of the pour before that go into it"`
	FailurePct float64           `json:"failure_pct" doc:"Probability that the pour fails"`
	FinishedG  float64           `json:"finished_g" doc:"Finished mass without stones"`
	PourC      float64           `json:"pour_c" doc:"Temperature to pour at"`
	Charge     blend.ChargePlan  `json:"charge" doc:"What to weigh out"`
	Mould      sizing.MouldOut   `json:"mould" doc:"The mould"`
	Stones     *stone.SettingOut `json:"stones,omitempty" doc:"Its stones, where it has any"`
	Fill       fill.Out          `json:"fill" doc:"Whether the metal fills it, and what helps"`
	Melt       melt.Out          `json:"melt" doc:"How much to melt, and the heat"`
	way        wayMin
}

// StoneBack is stones that are not cast in place.
type StoneBack struct {
	ID       string `json:"id" doc:"Which stones"`
	Piece    string `json:"piece,omitempty" doc:"The piece they were wanted in; empty for those not placed"`
	Quantity int    `json:"quantity" doc:"How many"`
	What     string `json:"what" enum:"set_after_casting,ask_first,give_back,not_used" doc:"What becomes of them"`
	Why      string `json:"why" doc:"The weightiest ground"`
}

// Plan plans the order. Errors are refusals, with the fields of the piece,
// lot or stone that cannot be planned.
func Plan(ctx context.Context, in In) (Out, error) {
	out := Out{Notes: calc.Noting(ctx), Pieces: []PiecePlan{}, StonesBack: []StoneBack{}}
	alloys, err := in.alloys()
	if err != nil {
		return Out{}, err
	}
	if in.Ways != nil {
		if in, out.PourPlan, err = pouredBest(ctx, in); err != nil {
			return Out{}, err
		}
	}
	if in, out.Placing, err = placed(ctx, in); err != nil {
		return Out{}, err
	}
	out.poured = in.Pieces
	bag, err := newBag(in)
	if err != nil {
		return Out{}, err
	}
	var checks calc.Checks
	for i, piece := range in.Pieces {
		p := pieceRoom{in: &in, piece: piece, alloy: alloys[i], bag: bag}
		plan, err := p.plan(ctx)
		if checks.Under(fmt.Sprintf("pieces[%d]", i), err) {
			out.Pieces = append(out.Pieces, plan)
		}
		out.StonesBack = append(out.StonesBack, p.back...)
		if ctx.Err() != nil {
			return Out{}, ctx.Err()
		}
	}
	if err := checks.Err(); err != nil {
		return Out{}, err
	}
	out.StonesBack = append(out.StonesBack, out.Placing.settle(bag)...)
	if err := out.charge(ctx, in, alloys); err != nil {
		return Out{}, err
	}
	if err := out.price(ctx, in, alloys); err != nil {
		return Out{}, err
	}
	out.judge(in)
	out.Steps = out.benchSteps(in)
	out.gather()
	out.Caution(safety.MoltenMetal, safety.DampMould, safety.TorchGas, safety.HotMould, safety.OilSmoke, safety.HallmarkLaw, safety.ConsumerLaw)
	return out, nil
}

// gather moves the notes of the rooms to the order's own, under the names of
// the pieces, so that they are told once.
func (out *Out) gather() {
	for i := range out.Pieces {
		p := &out.Pieces[i]
		rooms := []struct {
			name  string
			notes *calc.Notes
		}{{"mould", &p.Mould.Notes}, {"fill", &p.Fill.Notes}, {"melt", &p.Melt.Notes}}
		if p.Stones != nil {
			rooms = append(rooms, struct {
				name  string
				notes *calc.Notes
			}{"stones", &p.Stones.Notes})
		}
		for _, r := range rooms {
			out.take(p.Name+", "+r.name, r.notes)
		}
	}
	out.take("price", &out.Price.Notes)
}

func (out *Out) take(heading string, n *calc.Notes) {
	out.Adopt(heading, *n)
	*n = calc.Notes{Cautions: []calc.Caution{}, Sources: []calc.Source{}}
}
