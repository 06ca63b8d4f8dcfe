package sheet

import (
	"cmp"
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/commission"
	"pourwright/internal/draw"
	"pourwright/internal/metal"
	"pourwright/internal/order"
	"pourwright/internal/picture"
)

// Draft draws the picture of a draft that its input asks for, as SVG.
func Draft(ctx context.Context, in commission.DraftIn, out commission.DraftOut) ([]byte, error) {
	i := in.PicturePiece - 1
	if i < 0 || i >= len(out.Pieces) {
		return nil, calc.Refuse("picture_piece", in.PicturePiece, "give 1 to %d", len(out.Pieces))
	}
	d := out.Pieces[i]
	if d.Mould == nil || d.Melt == nil {
		why := "it cannot be drawn before it is worked out"
		if len(out.Open) > 0 {
			why = out.Open[0].Location + ": " + out.Open[0].Message
		}
		return nil, calc.Refuse("picture", in.Picture, "%s", why)
	}
	whole := order.Order{Job: in.Job, Lots: in.Lots, Prices: in.Prices}
	p, err := pieceOf(ctx, &whole, in.Pieces[i], *d.Mould, d.Stones)
	if err != nil {
		return nil, err
	}
	if d.Pour != nil {
		p.given.Mould = p.given.Mould.Fed(d.Pour.SprueDiameterMM, d.Pour.FunnelDiameterMM)
	}
	var s *draw.Sheet
	switch in.Picture {
	case "mould":
		f := out.FlaskOf(d.Name)
		if f == nil && p.given.Straight() {
			if f, err = whole.Alone(ctx, p.given, p.cavity); err != nil {
				return nil, calc.Under("picture", err)
			}
		}
		if f != nil {
			s = layout(f, 180, math.Inf(1))
			break
		}
		s, err = picture.DrawMould(p.flask(), picture.Look{})
		err = calc.Under("picture", err)
	case "metal":
		s, err = picture.DrawMasses(masses(d), picture.Look{})
	case "diagram":
		s, err = diagram(in, cmp.Or(in.Pieces[i].Alloy, in.Alloy), d)
	default:
		if p.given.Straight() {
			s = flatPart(p, 0, 1)
			break
		}
		s, err = picture.DrawBand(p.band(90), picture.Look{})
	}
	if err != nil {
		return nil, err
	}
	return s.SVG()
}

// layout draws how pieces lie in their flask, on a sheet of that size at most.
func layout(f *order.Flask, wide, high float64) *draw.Sheet {
	d, _ := f.Drawing()
	return d.Sheet(wide, high)
}

// masses is where the metal of a piece comes from and goes.
func masses(d commission.DraftPiece) picture.Masses {
	m := picture.Masses{Name: d.Name + ": where the metal comes from and where it goes"}
	if d.Charge == nil {
		m.In = []picture.Mass{{Name: "To be melted", G: d.Melt.MeltMassG}}
	} else {
		for _, part := range d.Charge.Charge {
			if part.WeighG > 0 {
				m.In = append(m.In, picture.Mass{Name: named(part.ID, part.Bought), G: part.WeighG})
			}
		}
	}
	for _, part := range []picture.Mass{
		{Name: "Casting", G: d.Melt.CastingMassG}, {Name: "Sprue", G: d.Melt.SprueMassG}, {Name: "Button", G: d.Melt.ButtonMassG},
		{Name: "Vents", G: d.Melt.VentsMassG}, {Name: "Reserve", G: d.Melt.ReserveG}, {Name: "Lost in the melt", G: d.Melt.LossG},
	} {
		if part.G > 0 {
			m.Out = append(m.Out, part)
		}
	}
	return m
}

func named(id string, bought bool) string {
	if bought {
		return id + " (bought)"
	}
	return id
}

// binary is the least share of silver and copper together that the diagram of
// the two still shows.
const binary = 0.999

func diagram(in commission.DraftIn, alloy string, d commission.DraftPiece) (*draw.Sheet, error) {
	m, err := metal.Named(alloy)
	if err != nil {
		return nil, err
	}
	ag, cu := m.Composition["Ag"], m.Composition["Cu"]
	if ag+cu < binary {
		return nil, calc.Refuse("picture", in.Picture, "draw an alloy of silver and copper alone; %s holds other metals", alloy)
	}
	const points = 48 // a line: the curve within the width of its stroke
	lines, err := metal.SilverCopperDiagram(points)
	if err != nil {
		return nil, err
	}
	return picture.DrawDiagram(picture.Diagram{
		Name: "Silver and copper, with this metal", Lines: lines, Note: "Equilibrium; a casting freezes on to the eutectic",
		Melt: picture.Melt{Name: m.Name, AgPct: 100 * ag / (ag + cu), LiquidusC: m.LiquidusC(), SolidusC: m.SolidusC(), PourC: d.Melt.PourTemperatureC},
	}, picture.Look{})
}
