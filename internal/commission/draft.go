package commission

import (
	"context"
	"errors"
	"fmt"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/melt"
	"pourwright/internal/metal"
	"pourwright/internal/order"
	"pourwright/internal/pricing"
	"pourwright/internal/quote"
	"pourwright/internal/safety"
	"pourwright/internal/shape"
	"pourwright/internal/sizing"
	"pourwright/internal/stone"
)

// DraftIn is an order as far as it is known: lots and prices may be missing.
type DraftIn struct {
	order.Job
	Lots   []blend.SourceLot `json:"lots,omitempty" maxItems:"60" doc:"Scrap at hand; without any, the metal is not shared out"`
	Prices *quote.Terms      `json:"prices,omitempty" doc:"The studio's prices and terms; without them there is no price"`

	Picture      string `json:"picture" enum:"piece,mould,metal,diagram" default:"piece" doc:"What to draw as SVG; metal: where it comes from and goes; diagram: silver and copper"`
	PicturePiece int    `json:"picture_piece" minimum:"1" maximum:"12" default:"1" doc:"Of which piece, counted from 1"`
}

// DraftOut is what an order comes to, as far as it can be worked out.
type DraftOut struct {
	Pieces []DraftPiece  `json:"pieces" doc:"The pieces, in the order given"`
	Flasks []order.Flask `json:"flasks,omitempty" doc:"How the pieces of each shared pour lie in their flask"`
	Metal  *DraftMetal   `json:"metal,omitempty" doc:"The metal, once every piece has its melt and there are lots"`
	Price  *quote.Out    `json:"price,omitempty" doc:"The price, once the metal is known, with no failed pour in it: only the plan of the whole order knows that risk"`
	Open   []DraftOpen   `json:"open" doc:"What keeps the rest from being worked out; empty when nothing does"`
	calc.Notes
}

// DraftPiece is what one piece comes to. What could not be worked out is absent.
type DraftPiece struct {
	Name           string              `json:"name" doc:"As given"`
	InsideMM       float64             `json:"inside_diameter_mm,omitempty,omitzero" doc:"Finished inside diameter"`
	LengthMM       float64             `json:"length_mm,omitempty,omitzero" doc:"Finished length of a pendant or bar"`
	BangleFit      *sizing.BangleOut   `json:"bangle_fit,omitempty" doc:"The hand it is for, of a bangle"`
	RingSize       *sizing.RingSizeOut `json:"ring_size,omitempty" doc:"The size in all systems, of a ring"`
	Mould          *sizing.MouldOut    `json:"mould,omitempty" doc:"The mould"`
	Parting        *shape.Parting      `json:"parting,omitempty" doc:"Whether the pattern can be drawn from the mould, and how it parts"`
	Wear           *shape.Wear         `json:"wear,omitempty" doc:"Whether the finished piece is stout enough"`
	Stones         *stone.SettingOut   `json:"stones,omitempty" doc:"Its stones, where it has any"`
	Melt           *melt.Out           `json:"melt,omitempty" doc:"How much to melt, and the heat"`
	SharesPourWith []string            `json:"shares_pour_with,omitempty" doc:"Pieces in the same flask; melt and charge are of the pour they share"`
	FinishedG      float64             `json:"finished_g,omitempty,omitzero" doc:"Finished mass without stones"`
	Charge         *blend.ChargePlan   `json:"charge,omitempty" doc:"What to weigh out"`
	Pour           *DraftPour          `json:"pour,omitempty" doc:"The pour, as fills takes it"`
}

// DraftPour is the pour of a piece, field for field as fills takes it.
type DraftPour fill.In

// DraftMetal is the metal of the order.
type DraftMetal struct {
	MeltMassG    float64         `json:"melt_mass_g" doc:"Metal to melt for all pieces"`
	ClientMetalG float64         `json:"client_metal_g" doc:"Of it, the client's"`
	BoughtMetalG float64         `json:"bought_metal_g" doc:"Of it, bought"`
	LotsLeft     []blend.Left    `json:"lots_left" doc:"What is left of each lot"`
	RefusedLots  []blend.Refused `json:"refused_lots" doc:"Lots that must not be melted, and why"`
}

// DraftOpen is one thing that keeps part of the draft from being worked out.
type DraftOpen struct {
	Location string `json:"location" doc:"Path of the field" example:"pieces[0].section.thickness_mm"`
	Message  string `json:"message" doc:"What would be accepted"`
}

// Draft works an order out as far as its inputs go, leaving out what takes
// long (the fill and what would improve it): each part that fails is told under
// open, and the others stand.
func Draft(ctx context.Context, in DraftIn) (DraftOut, error) {
	out := DraftOut{Pieces: []DraftPiece{}, Open: []DraftOpen{}, Notes: calc.Noting(ctx)}
	whole := order.Order{Job: in.Job, Lots: in.Lots, Prices: in.Prices}
	wanted, err := whole.Wanted()
	if err != nil {
		return DraftOut{}, err
	}
	alloys, err := whole.Alloys(ctx)
	if ctx.Err() != nil {
		return DraftOut{}, ctx.Err()
	}
	if err != nil { // an order that is not complete keeps the alloys asked for
		alloys = wanted
	}
	stock, err := whole.Stock()
	if !out.open("", err) {
		stock = nil
	}
	var pieces []*order.Worked
	for i, piece := range in.Pieces {
		if stock == nil {
			piece.Stones = nil
		}
		if piece.Placing != nil {
			out.Open = append(out.Open, DraftOpen{fmt.Sprintf("pieces[%d].placing", i), "stones are placed by rule in commissions, which follows the fill; the draft leaves them out"})
		}
		p := order.Planner{Order: &whole, Piece: piece, Alloy: alloys[i], Stock: stock}
		worked, draft, err := drafted(ctx, &p)
		out.Pieces = append(out.Pieces, draft)
		if out.open(fmt.Sprintf("pieces[%d]", i), err) {
			pieces = append(pieces, worked)
		}
		if ctx.Err() != nil {
			return DraftOut{}, ctx.Err()
		}
	}
	if stock != nil && len(pieces) == len(in.Pieces) {
		out.settle(ctx, &whole, alloys, pieces)
	}
	for i, alloy := range alloys {
		out.Cite(alloy.Sources()...)
		if i == 0 || alloy.Name != alloys[0].Name {
			out.Step("liquidus", alloy.LiquidusC(), "°C", "%s", alloy.Name)
		}
	}
	out.Caution(safety.MoltenMetal, safety.DampMould, safety.TorchGas, safety.HallmarkLaw, safety.ConsumerLaw)
	return out, nil
}

// FlaskOf is the flask that a piece shares with others; nil if it has one of its own.
func (out *DraftOut) FlaskOf(name string) *order.Flask { return flaskOf(out.Flasks, name) }

// settle shares the lots out and prices the order.
func (out *DraftOut) settle(ctx context.Context, in *order.Order, alloys []metal.Metal, pieces []*order.Worked) {
	pours, err := in.Pours(ctx, pieces)
	if !out.open("", err) {
		return
	}
	for _, p := range pours {
		if p.Flask != nil {
			out.Flasks = append(out.Flasks, *p.Flask)
		}
	}
	for i, w := range pieces {
		out.Pieces[i].Melt = &w.Plan.Melt
		if w.Sharing > 1 {
			out.Pieces[i].SharesPourWith = w.Plan.SharesPourWith
		}
	}
	if len(in.Lots) == 0 {
		return
	}
	shared, err := in.Share(ctx, pieces)
	if !out.open("", err) {
		return
	}
	out.Adopt("metal", shared.Notes)
	out.Metal = &DraftMetal{shared.MeltMassG, shared.ClientG, shared.BoughtG, shared.Left, shared.Refused}
	for i := range shared.Charges {
		out.Pieces[i].Charge = &shared.Charges[i].ChargePlan
	}
	if in.Prices == nil {
		return
	}
	price, err := pricing.For(in, alloys).Quote(ctx, pieces, &shared)
	if out.open("prices", err) {
		out.Price = &price
	}
}

// open notes the faults of err under prefix, and reports whether there are none.
func (out *DraftOut) open(prefix string, err error) bool {
	var r *calc.Refusal
	if !errors.As(calc.Under(prefix, err), &r) {
		if err != nil {
			out.Open = append(out.Open, DraftOpen{prefix, err.Error()})
		}
		return err == nil
	}
	if r.Detail != "" {
		out.Open = append(out.Open, DraftOpen{"lots", r.Detail})
	}
	for _, f := range r.Faults {
		out.Open = append(out.Open, DraftOpen{f.Field, f.Accepts})
	}
	return false
}

// drafted takes the piece as far as it goes.
func drafted(ctx context.Context, p *order.Planner) (*order.Worked, DraftPiece, error) {
	d := DraftPiece{Name: p.Piece.Name}
	w, err := p.Prepare(ctx)
	d.LengthMM = w.Plan.LengthMM
	if w.Plan.InsideMM > 0 {
		d.InsideMM = w.Plan.InsideMM
		if err := fit(ctx, &p.Piece, &d); err != nil {
			return w, d, err
		}
	}
	if w.Plan.PourC > 0 {
		d.Mould = &w.Plan.Mould
	}
	if err != nil {
		return w, d, err
	}
	d.Stones, d.Pour = w.Plan.Stones, (*DraftPour)(&w.Pour)
	if err := w.Geometry(ctx); err != nil {
		return w, d, err
	}
	d.Parting, d.Wear = &w.Plan.Parting, &w.Plan.Wear
	if err := p.Weigh(ctx, w); err != nil {
		return w, d, err
	}
	d.Melt, d.FinishedG = &w.Plan.Melt, w.Plan.FinishedG
	return w, d, nil
}

// fit says whom the piece fits.
func fit(ctx context.Context, piece *order.Piece, d *DraftPiece) error {
	if piece.Kind == shape.Ring || piece.Kind == shape.Signet {
		in := calc.Default[sizing.RingSizeIn]()
		in.System, in.Size = piece.RingSystem, piece.RingSize
		if in.Size == "" {
			in.System, in.Size = sizing.Diameter, fmt.Sprintf("%.6g", d.InsideMM)
		}
		fit, err := sizing.RingSizes(ctx, in)
		if err == nil {
			d.RingSize = &fit
		}
		return err
	}
	in := calc.Default[sizing.BangleIn]()
	in.HandCircumferenceMM = piece.HandCircumferenceMM
	if in.HandCircumferenceMM == nil {
		in.InsideDiameterMM = &d.InsideMM
	}
	in.BandWidthMM, in.ThicknessMM = piece.Band()
	fit, err := sizing.BangleFits(ctx, in)
	if err == nil {
		d.BangleFit = &fit
	}
	return err
}
