// Package class plans a morning at the torch for a class: pupils make the same
// piece, each of their own size, of one metal, several in a flask.
package class

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/commission"
	"pourwright/internal/fluid"
	"pourwright/internal/order"
	"pourwright/internal/safety"
	"pourwright/internal/shape"
	"pourwright/internal/sizing"
	"pourwright/internal/verdict"
)

// In is a class: what all make, who they are, and the school's metal and torches.
type In struct {
	Title  string            `json:"title,omitempty" maxLength:"120" doc:"What the class is called" example:"Thursday morning"`
	Alloy  string            `json:"alloy" maxLength:"60" default:"silver-925" doc:"What is cast, an id of /v1/alloys" example:"silver-925"`
	Lots   []blend.SourceLot `json:"lots" minItems:"1" maxItems:"60" doc:"The school's metal; it is blended once, so that like pieces are of like metal"`
	Piece  Piece             `json:"piece" doc:"What each pupil makes; the size is the pupil's own"`
	Pupils []Pupil           `json:"pupils" minItems:"1" maxItems:"24" doc:"Who makes one"`
	Studio order.Studio      `json:"studio,omitempty" doc:"The school's clay, crucible and torch"`

	Torches      int     `json:"torches" minimum:"1" maximum:"12" default:"1" doc:"Torches that can be used at once, each watched by a teacher"`
	MostInFlask  int     `json:"max_pieces_per_flask" minimum:"1" maximum:"6" default:"2" doc:"Pieces on one sprue at most"`
	Starts       string  `json:"starts" pattern:"^([01][0-9]|2[0-3]):[0-5][0-9]$" default:"09:00" doc:"When the first melt begins, HH:MM"`
	BetweenMin   float64 `json:"between_min" minimum:"0" maximum:"240" default:"10" doc:"Minutes at a torch from one melt to the next: place the flask, flux, pour, clear"`
	LimitRiskPct float64 `json:"risk_limit_pct" minimum:"0.5" maximum:"60" default:"15" doc:"Risk of a failed pour that is accepted"`
}

// Piece is what each pupil makes.
type Piece struct {
	shape.Shape
	Mould order.Mould `json:"mould,omitempty" doc:"How it is moulded and poured"`
}

// Pupil is one of the class, with the size of their piece.
type Pupil struct {
	Name                string        `json:"name" minLength:"1" maxLength:"60" doc:"What you call them" example:"Ada"`
	RingSystem          sizing.System `json:"ring_system,omitempty" maxLength:"24" doc:"System of ring_size, as for ring-sizes" example:"us"`
	RingSize            string        `json:"ring_size,omitempty" maxLength:"24" doc:"Finished ring size" example:"7"`
	InsideDiameterMM    *float64      `json:"inside_diameter_mm,omitempty" minimum:"8" maximum:"150" doc:"Finished inside, in place of a ring size" example:"17.3"`
	HandCircumferenceMM *float64      `json:"hand_circumference_mm,omitempty" minimum:"80" maximum:"350" doc:"Tape around the knuckles with the thumb folded, for a bangle"`
}

// Out is the plan of the class.
type Out struct {
	Verdict   verdict.Level   `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"Whether to pour as planned: the worst of its reasons"`
	Summary   string          `json:"summary" doc:"The plan in a few sentences"`
	Reasons   verdict.Reasons `json:"reasons" doc:"What is not a plain go, worst first, each once"`
	MeltMassG float64         `json:"melt_mass_g" doc:"Metal for all pours"`
	BoughtG   float64         `json:"bought_g" doc:"Of it, bought"`
	LotsLeft  []blend.Left    `json:"lots_left" doc:"What is left of each lot"`
	Ends      string          `json:"ends" doc:"When the last pour is made, HH:MM" example:"11:10"`
	Pours     []Pour          `json:"pours" doc:"The roster of the torches: the pours in their order"`
	Pupils    []PupilPlan     `json:"pupils" doc:"Each pupil's piece, in the order given"`
	Steps     []string        `json:"steps" doc:"What to do with each flask, in order; the measures are those of the first"`
	calc.Notes
}

// Pour is one flask at one torch.
type Pour struct {
	Number int      `json:"number" doc:"From 1, in the order of pouring" example:"1"`
	Torch  int      `json:"torch" doc:"At which torch, from 1" example:"1"`
	From   string   `json:"from" doc:"When the melt begins, HH:MM" example:"09:00"`
	To     string   `json:"to" doc:"When the torch is free again, HH:MM" example:"09:14"`
	Pupils []string `json:"pupils" doc:"Whose pieces are in the flask"`
	MeltG  float64  `json:"melt_g" doc:"Metal to weigh out, g"`
	Charge []Weigh  `json:"charge" doc:"Of what"`
	PourC  float64  `json:"pour_c" doc:"Temperature to pour at"`
	MinLow float64  `json:"melt_low_min" doc:"Minutes to melt at least"`
	MinTop float64  `json:"melt_high_min" doc:"Minutes to melt at most"`
	HoldN  float64  `json:"hold_force_n" doc:"Force that holds the flask shut"`
}

// Weigh is so much of a lot.
type Weigh struct {
	ID string  `json:"id" doc:"The lot"`
	G  float64 `json:"g" doc:"Weigh out so much"`
}

// PupilPlan is one pupil's piece.
type PupilPlan struct {
	Name       string        `json:"name" doc:"The pupil"`
	Pour       int           `json:"pour" doc:"In which pour"`
	InsideMM   float64       `json:"inside_diameter_mm" doc:"Finished inside"`
	MouldMM    float64       `json:"mould_inside_diameter_mm" doc:"Inside of the impression"`
	FinishedG  float64       `json:"finished_g" doc:"Finished mass"`
	FailurePct float64       `json:"failure_pct" doc:"Probability that the pour fails, by the hand given under studio"`
	Verdict    verdict.Level `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"Whether to pour it as planned"`
}

// beginner is how much more often a beginner's pour fails than a practised one.
const beginnerLow, beginnerHigh = 2.0, 3.0

var (
	srcBeginner = calc.Source{For: "a beginner loses two to three times as many pours", Text: "slower, with more scatter, sometimes an interrupted stream", Status: calc.Practice}
	srcRoster   = calc.Source{For: "roster", Text: "pours in turn over the torches; the longest likely melt, and the minutes between two melts as given", Status: calc.Choice}
)

// loses says how many pours of the worst piece fail. Those of a beginner are
// worked out where the class is planned for one, and else reckoned from practice.
func (o *Out) loses(hand string, worst float64) string {
	if hand == "beginner" {
		return fmt.Sprintf("A beginner's hand loses %.0f %% of the worst piece.", worst)
	}
	high := math.Min(beginnerHigh*worst, 100)
	o.Step("worst risk of a beginner", high, "%", "%g to %g times %.3g %%", beginnerLow, beginnerHigh, worst)
	o.Cite(srcBeginner)
	return fmt.Sprintf("A practised hand loses %.0f %% of the worst piece, a beginner %.0f to %.0f %%.", worst, math.Min(beginnerLow*worst, 100), high)
}

// Plan plans the class. Errors are refusals.
func Plan(ctx context.Context, in In) (Out, error) {
	start, err := time.Parse("15:04", in.Starts)
	if err != nil {
		return Out{}, calc.Refuse("starts", in.Starts, "give a time of day as HH:MM, such as 09:00")
	}
	for i, p := range in.Pupils {
		if k := slices.IndexFunc(in.Pupils, func(q Pupil) bool { return q.Name == p.Name }); k != i {
			return Out{}, calc.Refuse(fmt.Sprintf("pupils[%d].name", i), p.Name, "give each pupil a name of their own; another has it")
		}
	}
	whole, err := commission.Plan(calc.Silent(ctx), in.order())
	if err != nil {
		return Out{}, inClass(err)
	}
	out := Out{Notes: calc.Noting(ctx), MeltMassG: whole.MeltMassG, BoughtG: whole.BoughtMetalG, LotsLeft: whole.LotsLeft, Pours: []Pour{}, Pupils: []PupilPlan{}, Steps: []string{}}
	out.roster(&in, &whole, start)
	worst := 0.0
	for _, p := range whole.Pieces {
		worst = math.Max(worst, p.FailurePct)
		out.Pupils = append(out.Pupils, PupilPlan{p.Name, p.PourTurn, p.InsideMM, p.Mould.Mould.InsideDiameterMM, p.FinishedG, p.FailurePct, p.Verdict})
	}
	out.Reasons = likeOnce(whole.Pieces)
	out.Reasons.Join(whole.Reasons)
	if low := beginnerLow * worst; in.Studio.Hand == "practised" && worst <= in.LimitRiskPct && beginnerHigh*worst > in.LimitRiskPct {
		out.Reasons.Add(verdict.Fill, verdict.Care, "Let a practised hand pour, or have each pupil pour sand or water first.", "A beginner's pour fails with %.0f to %.0f %%, where a practised one fails with %.0f %%.", low, math.Min(beginnerHigh*worst, 100), worst)
	}
	out.Reasons = out.Reasons.Sorted()
	out.Verdict = out.Reasons.Level()
	out.steps(&whole)
	out.Summary = fmt.Sprintf("%d pieces in %d pours at %d %s: %s. Melt %.1f g of %s in all, %.1f g of it bought. From %s to %s. %s",
		len(out.Pupils), len(out.Pours), in.Torches, calc.Plural(in.Torches, "torch", "torches"), out.Verdict.Phrase(), out.MeltMassG, whole.Metal(in.order()), out.BoughtG, in.Starts, out.Ends, out.loses(in.Studio.Hand, worst))
	out.Step("metal for all pours", out.MeltMassG, "g", "sum of %d charges of one mixture", len(out.Pours))
	out.Cite(srcRoster)
	out.Caution(safety.MoltenMetal, safety.DampMould, safety.TorchGas, safety.HotMould, safety.OilSmoke)
	out.Warn("class", calc.Danger, "One pupil at a torch with a teacher beside; all others behind a line. Everybody wears the protection, and nobody pours before a dry run with an empty crucible.")
	return out, nil
}

var figures = regexp.MustCompile(`[0-9.]+`)

// likeOnce is the reasons of all pieces; of those that differ in their figures alone
// that of the piece at the greatest risk.
func likeOnce(pieces []order.PiecePlan) (list verdict.Reasons) {
	pieces = slices.Clone(pieces)
	slices.SortStableFunc(pieces, func(a, b order.PiecePlan) int { return cmp.Compare(b.FailurePct, a.FailurePct) })
	told := map[string]bool{}
	for _, p := range pieces {
		for _, r := range p.Reasons {
			if like := figures.ReplaceAllString(string(r.Part)+r.Why+r.Do, "#"); !told[like] {
				told[like] = true
				list.Join(verdict.Reasons{r})
			}
		}
	}
	return list
}

// order is the class as an order of its pieces.
func (in *In) order() commission.In {
	o := calc.Default[commission.In]()
	o.Title, o.Alloy, o.Lots, o.Studio = in.Title, in.Alloy, in.Lots, in.Studio
	o.Studio.RiskLimitPct = in.LimitRiskPct
	o.SameMetal, o.Improvements = true, false
	for _, p := range in.Pupils {
		piece := calc.Default[order.Piece]()
		piece.Name, piece.Shape, piece.Mould = p.Name, in.Piece.Shape, in.Piece.Mould
		piece.RingSystem, piece.RingSize, piece.HandCircumferenceMM = p.RingSystem, p.RingSize, p.HandCircumferenceMM
		if p.InsideDiameterMM != nil {
			piece.InsideDiameterMM = p.InsideDiameterMM
		}
		o.Pieces = append(o.Pieces, piece)
	}
	o.Grouping = "fewest_pours"
	o.MaxPerFlask = in.MostInFlask
	return o
}

// roster gives each pour its torch and its time.
func (out *Out) roster(in *In, whole *commission.Out, start time.Time) {
	free := make([]time.Time, in.Torches)
	for i := range free {
		free[i] = start
	}
	last := start
	for i := range whole.Pieces {
		p := &whole.Pieces[i]
		if len(out.Pours) > 0 && p.PourTurn <= len(out.Pours) {
			continue
		}
		n := len(out.Pours)
		torch := n % in.Torches
		pour := Pour{Number: n + 1, Torch: torch + 1, Pupils: append([]string{p.Name}, p.SharesPourWith...), MeltG: p.Charge.MassG, Charge: []Weigh{}, PourC: p.PourC}
		pour.MinLow, pour.MinTop = tenths(p.Melt.TimeLowS/60), tenths(math.Max(p.Melt.TimeHighS, p.Melt.TimeS)/60)
		pour.HoldN = math.Ceil(p.Fill.Flask.HoldKg * fluid.Gravity)
		for _, c := range p.Charge.Charge {
			if c.WeighG > 0 {
				pour.Charge = append(pour.Charge, Weigh{c.ID, c.WeighG})
			}
		}
		ends := free[torch].Add(time.Duration(math.Ceil(pour.MinTop+in.BetweenMin)) * time.Minute)
		pour.From, pour.To = free[torch].Format("15:04"), ends.Format("15:04")
		free[torch] = ends
		if ends.After(last) {
			last = ends
		}
		out.Pours = append(out.Pours, pour)
	}
	out.Ends = last.Format("15:04")
}

func tenths(v float64) float64 { return math.Round(10*v) / 10 }

// steps tells the first flask's steps, which are everybody's.
func (out *Out) steps(whole *commission.Out) {
	if len(whole.Pieces) == 0 {
		return
	}
	first := whole.Pieces[0].Name
	for _, s := range whole.Steps {
		if s.Piece == first || strings.HasPrefix(s.Piece, first+", ") {
			out.Steps = append(out.Steps, s.Do)
		}
	}
}

// inClass moves the faults of the order to where a class has the same thing.
func inClass(err error) error {
	var r *calc.Refusal
	if !errors.As(err, &r) {
		return err
	}
	moved := *r
	moved.Faults = slices.Clone(r.Faults)
	for i := range moved.Faults {
		f := &moved.Faults[i].Field
		*f = strings.Replace(*f, "pieces[", "pupils[", 1)
		if _, field, ok := strings.Cut(*f, "]."); ok && strings.HasPrefix(*f, "pupils[") && !ofPupil[field] {
			*f = "piece." + field
		}
	}
	return &moved
}

var ofPupil = map[string]bool{"name": true, "ring_system": true, "ring_size": true, "inside_diameter_mm": true, "hand_circumference_mm": true}
