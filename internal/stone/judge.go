package stone

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/safety"
	"pourwright/internal/section"
	"pourwright/internal/verdict"
)

// SettingIn asks whether and how stones can be cast in place.
type SettingIn struct {
	Alloy         string          `json:"alloy" default:"silver-925" doc:"Alloy, an id of /v1/alloys or a composition such as Ag 925 Cu 75" example:"silver-925"`
	MetalC        float64         `json:"metal_c" default:"1000" minimum:"300" maximum:"2000" doc:"Temperature of the metal when it meets the stones" example:"1000"`
	ClayC         float64         `json:"clay_c" default:"25" minimum:"-20" maximum:"750" doc:"Temperature of mould and stones at the pour; oil-bonded clay is poured cold or warm, investment flasks at 400 to 565 at most" example:"25"`
	BoricAcid     bool            `json:"boric_acid" default:"false" doc:"true for an investment with 1 to 2 % of boric acid, which keeps air off the stones in a preheated flask"`
	Section       section.Section `json:"section" doc:"Section of the piece where the stones sit"`
	OutsideMM     *float64        `json:"outside_diameter_mm,omitempty" minimum:"8" maximum:"250" doc:"Outside diameter of a ring or bangle: its face falls away under a large stone; absent: straight" example:"66"`
	HeadMM        float64         `json:"head_mm" minimum:"2" maximum:"500" doc:"Height of metal above the stones when the mould is full" example:"60"`
	FilmWM2K      float64         `json:"film_w_m2k" default:"3000" minimum:"100" maximum:"100000" doc:"Heat transfer from metal to stone; 500-5000, unmeasured" example:"3000"`
	ClayWM2K      float64         `json:"clay_w_m2k" default:"1000" minimum:"50" maximum:"10000" doc:"Heat transfer from metal to clay; 500-1500 in oil-bonded clay, unmeasured" example:"1000"`
	PullN         float64         `json:"pull_n" default:"5" minimum:"0" maximum:"1000" doc:"Pull that each stone must bear in wear; 5 N is about half a kilogram on a hook" example:"5"`
	YieldMPa      *float64        `json:"yield_mpa,omitempty" minimum:"5" maximum:"1000" doc:"Yield strength of the cast metal, MPa; absent: 50 for fine silver and fine gold, 100 for other silver, 150 for other gold" example:"100"`
	ShowPct       float64         `json:"show_pct" default:"50" minimum:"5" maximum:"95" doc:"Share of the crown that must stay free of metal: of its height under a lip, of its area between grains" example:"50"`
	Stones        []In            `json:"stones" minItems:"1" maxItems:"200" doc:"The stones, each line a number of like ones"`
	HoldingCounts *HoldingCounts  `json:"holding_counts,omitempty" doc:"The studio's own count of stones placed and lost; without it the chance of losing one is unknown"`
}

// In is a line of like stones.
type In struct {
	Gem         string      `json:"gem" doc:"Material, an id of /v1/stones" example:"sapphire"`
	Origin      Origin      `json:"origin,omitempty" enum:"natural,lab,not_known" doc:"Natural or laboratory-grown, as far as known; absent: as the material says"`
	Cut         Cut         `json:"cut" default:"round_brilliant" enum:"round_brilliant,oval,square_cushion,cushion,pear,marquise,emerald_cut,rectangle,square,heart,triangle,cabochon,bead" doc:"Form of the stone"`
	LengthMM    float64     `json:"length_mm" minimum:"0.3" maximum:"60" doc:"Length, or diameter" example:"1.5"`
	WidthMM     *float64    `json:"width_mm,omitempty" minimum:"0.3" maximum:"60" doc:"Width; absent: from the cut's usual ratio"`
	DepthMM     *float64    `json:"depth_mm,omitempty" minimum:"0.1" maximum:"60" doc:"Total depth; absent: the cut's usual share"`
	CrownMM     *float64    `json:"crown_height_mm,omitempty" minimum:"0.02" maximum:"30" doc:"Measured crown height; absent: the cut's usual share"`
	GirdleMM    *float64    `json:"girdle_mm,omitempty" minimum:"0.005" maximum:"10" doc:"Measured girdle thickness; absent: the cut's usual share"`
	SG          *float64    `json:"specific_gravity,omitempty" minimum:"0.8" maximum:"8" doc:"Your own figure, g/cm³; needed where the catalogue has none"`
	MassCt      *float64    `json:"mass_ct,omitempty" minimum:"0.0005" maximum:"10000" doc:"Weighed mass of one stone; absent: estimated"`
	Quantity    int         `json:"quantity" default:"1" minimum:"1" maximum:"500" doc:"Number of like stones"`
	Treatments  []Treatment `json:"treatments,omitempty" maxItems:"8" enum:"none,not_known,heated,fracture_filled,lead_glass_filled,flux_healed,diffused,irradiated,pressure_heated,laser_drilled,oiled,waxed,resin_filled,dyed,coated,sugar_or_smoke_blackened,assembled_or_foiled" doc:"What is known of treatments: 'none' when declared untreated, 'not_known' when asked in vain; absent: not asked yet"`
	Condition   Condition   `json:"condition" default:"not_looked" enum:"clean,small_inclusions,liquid_inclusions,fissures,chipped,not_looked" doc:"What the loupe shows"`
	ClientOwned bool        `json:"client_owned" default:"false" doc:"true for a client's own stone"`
	Across      bool        `json:"long_axis_across" default:"false" doc:"true when the long axis lies across the band"`
	Grains      int         `json:"grains" default:"4" minimum:"0" maximum:"12" doc:"Grains to hold each stone; 0 for none" example:"4"`
	GrainMM     *float64    `json:"grain_mm,omitempty" minimum:"0.1" maximum:"10" doc:"Diameter of your ball tool; absent: chosen"`
	PressMM     *float64    `json:"press_mm,omitempty" minimum:"0.02" maximum:"30" doc:"How deep you mean to press the stone; absent: the middle of the window"`
}

// Origin is where a stone grew.
type Origin string

// Condition is what the loupe shows.
type Condition string

// The conditions.
const (
	Clean     Condition = "clean"
	SmallIncl Condition = "small_inclusions"
	LiquidInc Condition = "liquid_inclusions"
	Fissures  Condition = "fissures"
	Chipped   Condition = "chipped"
	NotLooked Condition = "not_looked"
)

// VerdictReason is one ground of a verdict.
type VerdictReason struct {
	Code    string        `json:"code" doc:"Stable name of the ground" example:"treatment"`
	Verdict verdict.Level `json:"verdict" enum:"go,care,cannot_tell,do_not_pour" doc:"The best verdict that this ground leaves"`
	Text    string        `json:"text" doc:"The ground in words"`
}

// Judgement is the verdict on one line of stones, with all that follows.
type Judgement struct {
	Gem        string          `json:"gem" doc:"Material as judged; a laboratory-grown twin where there is one"`
	Verdict    verdict.Level   `json:"verdict" enum:"go,care,cannot_tell,do_not_pour" doc:"go: clean, small and untreated, of a kind that has come out whole in such a mould; care: try a like stone first; cannot_tell: see the reasons for what to ask; do_not_pour: not with this stone in the mould, set it afterwards"`
	TrialFirst bool            `json:"trial_first" doc:"true where a like stone, same size and seller, should be cast first"`
	Reasons    []VerdictReason `json:"reasons" doc:"The grounds, weightiest first"`
	Quantity   int             `json:"quantity" doc:"Number of like stones"`
	Measures   Measures        `json:"measures" doc:"Size and proportions of one stone"`
	MassCt     float64         `json:"mass_ct" doc:"Mass of one stone, weighed or estimated"`
	VolumeMM3  float64         `json:"volume_mm3" doc:"Volume of one stone"`
	Heat       Heat            `json:"heat" doc:"What the metal does to the stone"`
	Seat       Seat            `json:"seat" doc:"How it sits in the metal"`
	Grains     Grains          `json:"grains" doc:"What holds it"`
	Holding    Holding         `json:"holding" doc:"What keeps it in the clay until the metal comes"`
	AfterPour  string          `json:"after_pour" doc:"How to cool and clean the casting with this stone in it"`
	Consent    string          `json:"consent_line" doc:"Line for the quote and the owner's signature"`
}

// SettingOut is the verdicts and what other rooms need of the stones.
type SettingOut struct {
	Verdict        verdict.Level `json:"verdict" enum:"go,care,cannot_tell,do_not_pour" doc:"The worst of all"`
	Stones         []Judgement   `json:"stones" doc:"One a line of the request, in its order"`
	Count          int           `json:"count" doc:"Number of stones" example:"5"`
	MassCt         float64       `json:"mass_ct" doc:"Mass of all stones"`
	MassG          float64       `json:"mass_g" doc:"Mass of all stones, 1 ct = 0.2 g"`
	DisplacedMM3   float64       `json:"displaced_mm3" doc:"Metal that all stones displace"`
	FlowTakenMM2   float64       `json:"flow_section_taken_mm2" doc:"Most that one stone takes from the channel"`
	ThicknessMinMM float64       `json:"thickness_min_mm" doc:"Thinnest section that carries every stone"`
	WidthMinMM     float64       `json:"width_min_mm" doc:"Narrowest section that carries every stone"`
	Carried        bool          `json:"carried" doc:"Whether this section carries every stone"`
	Loss           *LossChance   `json:"loss,omitempty" doc:"Chance of losing stones in the pour, from the studio's own counts; null without them"`
	calc.Notes
}

// Judge gives each stone its verdict, its seat and its grains.
//
// The tables of treatments, inclusions and custom decide; the physics gives
// temperatures and a rank beside materials proven in the trade, and can only
// lower a verdict. Nothing here predicts that one stone will live.
func Judge(ctx context.Context, in SettingIn) (SettingOut, error) {
	out := SettingOut{Notes: calc.Noting(ctx), Stones: []Judgement{}, Verdict: verdict.Go, Carried: true}
	p, err := in.pour()
	if err != nil {
		return out, err
	}
	var c calc.Checks
	for i, s := range in.Stones {
		j, err := judgeOne(ctx, in, p, s)
		if ctx.Err() != nil {
			return out, ctx.Err()
		}
		if !c.Under(fmt.Sprintf("stones[%d]", i), err) {
			continue
		}
		out.add(j)
	}
	if in.HoldingCounts != nil {
		loss, err := in.HoldingCounts.Chance(out.Count)
		c.Under("holding_counts", err)
		out.Loss = &loss
	}
	if err := c.Err(); err != nil {
		return out, err
	}
	out.explain(in, p)
	return out, nil
}

func (in SettingIn) pour() (pour, error) {
	var c calc.Checks
	m, err := metal.Named(in.Alloy)
	c.Under("", err)
	c.Under("section", in.Section.Check())
	c.Bounds(in)
	if err == nil && in.MetalC < m.LiquidusC() {
		c.Refuse("metal_c", in.MetalC, "give more than the liquidus of %s, %.0f °C", m.Name, m.LiquidusC())
	}
	if err == nil && in.ClayC > m.SolidusC()-50 {
		c.Refuse("clay_c", in.ClayC, "give a mould at least 50 °C below the solidus of %s, %.0f °C", m.Name, m.SolidusC())
	}
	if err := c.Err(); err != nil {
		return pour{}, err
	}
	return pour{m, in.MetalC, in.ClayC, in.Section.Modulus(), in.FilmWM2K, in.ClayWM2K,
		capillary{m.SurfaceTensionNM(in.MetalC), m.LiquidDensityKgM3(in.MetalC), in.HeadMM}}, nil
}

// softYield is a cautious yield strength in MPa of a cast metal, not worked.
func softYield(m metal.Metal) float64 {
	silver, gold := m.Composition["Ag"], m.Composition["Au"]
	switch {
	case silver > 0.99 || gold > 0.99:
		return 50
	case gold > silver:
		return 150
	}
	return 100
}

var srcYield = calc.Source{For: "yield strength of cast metal", Text: "annealed sterling 124 MPa (metal data sheet, read); fine silver about 55 and 18 ct gold 200 and over from memory; all rounded down", Status: calc.FromMemory}

// twins are the laboratory-grown twins that have an entry of their own.
var twins = map[string]string{"diamond": "diamond-lab", "ruby": "corundum-lab", "sapphire": "corundum-lab", "spinel": "spinel-lab", "emerald": "emerald-lab"}

func judgeOne(ctx context.Context, in SettingIn, p pour, s In) (Judgement, error) {
	gem, err := Find(s.Gem)
	if err != nil {
		return Judgement{}, err
	}
	if twin, ok := twins[gem.ID]; ok && s.Origin == "lab" {
		gem, _ = Find(twin)
	}
	if gem.Kind == Lab && s.Origin == "natural" {
		return Judgement{}, calc.Refuse("origin", s.Origin, "give lab, or the natural material in place of %q", s.Gem)
	}
	for _, t := range s.Treatments {
		if _, ok := treatmentRule(t); !ok {
			return Judgement{}, calc.Refuse("treatments", t, "give treatments of the list, such as \"none\" or \"heated\"")
		}
	}
	if slices.Contains(s.Treatments, None) && len(s.Treatments) > 1 {
		return Judgement{}, calc.Refuse("treatments", s.Treatments, "give \"none\" alone, or the treatments")
	}
	size, err := Size(calc.Silent(ctx), SizeIn{Gem: gem.ID, Cut: s.Cut, LengthMM: &s.LengthMM, WidthMM: s.WidthMM, DepthMM: s.DepthMM, CrownMM: s.CrownMM, GirdleMM: s.GirdleMM, SG: s.SG, Quantity: 1})
	if err != nil {
		return Judgement{}, err
	}
	rule, _ := ruleOf(s.Cut)
	body := solid{size.Measures, rule}
	j := Judgement{Gem: gem.ID, Quantity: max(s.Quantity, 1), Measures: size.Measures, MassCt: or(s.MassCt, size.MassCt), VolumeMM3: size.VolumeMM3}
	if s.MassCt != nil {
		j.VolumeMM3 *= *s.MassCt / size.MassCt
	}
	across := size.Measures.WidthMM
	if s.Across {
		across = size.Measures.LengthMM
	}
	j.Grains = grainsFor(body, p.cap, s.Grains, or(s.GrainMM, 0), or(in.YieldMPa, softYield(p.metal)), in.PullN, in.ShowPct)
	j.Seat = seatFor(body, j.VolumeMM3, site{in.Section, or(in.OutsideMM, 0) / 2, across}, p.cap, j.Grains, in.ShowPct, or(s.PressMM, 0))
	density := 200 * size.MassCt / size.VolumeMM3 // g/cm³
	if j.Heat, err = heatOf(ctx, gem, p, density, j.VolumeMM3); err != nil {
		return j, err
	}
	j.Holding = holdingFor(body, j.Seat)
	j.AfterPour = gem.AfterPour()
	j.Reasons = reasons(in, p, gem, s, j)
	j.Verdict = worstOf(j.Reasons)
	j.TrialFirst = j.Verdict == verdict.Care
	j.Consent = ConsentLine(ConsentFor{Metal: p.metal.Name, MetalC: p.metalC, Stone: gem.Name, Quantity: j.Quantity, MassCt: j.MassCt * float64(j.Quantity), Treatments: s.Treatments})
	return j, nil
}

func worstOf(reasons []VerdictReason) verdict.Level {
	worst := verdict.Go
	for _, r := range reasons {
		worst = verdict.Worst(worst, r.Verdict)
	}
	return worst
}

func (out *SettingOut) add(j Judgement) {
	n := float64(j.Quantity)
	out.Stones = append(out.Stones, j)
	out.Verdict = verdict.Worst(out.Verdict, j.Verdict)
	out.Count += j.Quantity
	out.MassCt += n * j.MassCt
	out.MassG = out.MassCt / 5
	out.DisplacedMM3 += n * j.Seat.DisplacedMM3
	out.FlowTakenMM2 = max(out.FlowTakenMM2, j.Seat.FlowTakenMM2)
	out.ThicknessMinMM = max(out.ThicknessMinMM, j.Seat.ThicknessMinMM)
	out.WidthMinMM = max(out.WidthMinMM, j.Seat.WidthMinMM)
	out.Carried = out.Carried && j.Seat.Carried
}

// explain writes working, cautions and sources.
func (out *SettingOut) explain(in SettingIn, p pour) {
	liquid := p.liquid()
	out.Step("effusivity of the metal", liquid.Effusivity(), "W s^½/(m² K)", "√(k ρ c) = √(%.4g × %.5g × %.4g)", liquid.K, liquid.Rho, liquid.C)
	out.Step("meniscus radius", p.cap.radius(), "mm", "γ/(ρ g h) = %.4g N/m ÷ (%.5g kg/m³ × 9.807 m/s² × %.4g mm)", p.cap.gamma, p.cap.rho, p.cap.head)
	out.Step("smallest grain that surely fills", 2*p.cap.tip(sureDeg), "mm", "2 × 2γ/(ρ g h)")
	for i, j := range out.Stones {
		name := fmt.Sprintf("stone %d, %s: ", i+1, j.Gem)
		out.Step(name+"press depth", j.Seat.PressMM, "mm", "between %.3g (drowned) and %.3g (girdle buried), held by %s", j.Seat.DrownedMM, j.Seat.BuriedMM, j.Seat.HoldBy)
		out.Step(name+"thinnest section", j.Seat.ThicknessMinMM, "mm", "depth %.3g − pressed %.3g + behind %.3g", j.Measures.DepthMM, j.Seat.PressMM, j.Seat.BehindNeededMM)
		if j.Heat.PeakSurfaceC != nil {
			out.Step(name+"peak at its surface", *j.Heat.PeakSurfaceC, "°C", "sphere of %.3g mm³ in %.3g mm of freezing metal", j.VolumeMM3, j.Heat.ShellMM)
		}
		if slices.ContainsFunc(in.Stones[i].Treatments, fumes) {
			out.Warn("treatment_fume", calc.Danger, "Oil, wax, resin, dye, glue and lead-glass fillings give off harmful fume under hot metal and pit it: keep such stones (%s) out of the mould.", j.Gem)
		}
		if strings.HasPrefix(j.Gem, "diamond") {
			out.Cite(srcOxidation)
		}
	}
	out.Caution(safety.MoltenMetal, safety.DampMould, safety.HotMould, safety.StoneConsent)
	out.Caution(holdingCautions...)
	out.Caution(stoneCautions...)
	out.Caution(p.metal.Cautions()...)
	out.Cite(srcGems, srcCast, srcColdPractice, srcFlask, srcTreatments, srcHeated, srcCutK, srcOutline, srcBodies, srcTransient, srcContact, srcResistance, srcClay, srcFilm, srcCapillary, srcSeat, srcGrain, srcGrip, srcYield, srcSmallest, srcGrease)
	out.Cite(p.metal.Sources()...)
	if out.Loss != nil {
		out.Cite(srcLoss)
	} else {
		out.Warn("loss_unknown", calc.Note, "The chance of losing a stone in the pour is unknown; count your own (holding_counts) to have it.")
	}
	if slices.ContainsFunc(in.Stones, func(s In) bool { return s.ClientOwned }) {
		out.Caution(safety.ConsumerLaw)
	}
}

func fumes(t Treatment) bool {
	r, _ := treatmentRule(t)
	return r.Fume
}

var stoneCautions = []calc.Caution{
	{Code: "rank_not_prediction", Severity: calc.Care, Text: "Temperatures, Biot numbers and indices rank materials; they do not predict the survival of one stone. Strength is uncertain by half and ruled by flaws nobody measured. The sphere is smooth and wholly in metal; a half-buried stone has a hot and a cold side, and worse stress."},
	{Code: "stone_dry_clean", Severity: calc.Care, Text: "Set stones dry and free of oil and fingerprints; loupe, photograph and weigh them before and after. No boron flux on ruby or sapphire, which it can etch; boric acid is for diamond."},
	{Code: "stone_after_pour", Severity: calc.Care, Text: "Never quench. Let the mould cool to hand warmth. Pickle only stones that bear acid; keep peridot, pearl, coral, malachite, turquoise and lapis out of it."},
}
