package melt

import (
	"cmp"
	"math"

	"pourwright/internal/calc"
)

var (
	srcTips    = calc.Source{For: "heat of a torch by its tip", Text: "gas and oxygen: small 1.6 to 2.6, medium 3.4 to 5.2, large 6 to 10 kW, of which 8 to 12 % enter metal and dish; set so that 60 g of sterling take one and a half to four minutes from cold, as the trade knows. No table of tips was read: time a melt of your own and give torch_kw and efficiency_pct", Status: calc.Choice}
	srcDish    = calc.Source{For: "heat in the dish", Text: "a thick body whose surface warms evenly takes up 4/3 e A ΔT √(t/π): H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, § 2.9; effusivity e of fireclay 1100 J/(m² K √s), 900 to 1400, from memory", Status: calc.FromMemory}
	srcHearth  = calc.Source{For: "surface of melt and dish", Text: "10 cm² under the flame and six times V^(2/3) of the melt touch the dish; half of that loses heat to the room, with an emissivity of 0.5 and 20 W/(m² K) of air", Status: calc.Choice}
	srcOwn     = calc.Source{For: "share of the heat that enters metal and dish", Text: "your own figure, taken within a tenth", Status: calc.YourInput}
	srcFurnace = calc.Source{For: "electric furnace", Text: "1 to 2 kW, of which 30 to 60 % end in metal and crucible", Status: calc.FromMemory}
)

type tip struct {
	name      string
	low, high float64
	upToG     float64
}

// tips are the burners of gas and oxygen by size, kW, and the most metal that
// each is usual for, g.
var tips = []tip{{"small", 1.6, 2.6, 12}, {"medium", 3.4, 5.2, 100}, {"large", 6, 10, math.Inf(1)}}

// burner is a source of heat: what it gives out, and what of it is useful, kW.
type burner struct {
	tip          string
	kw, sharePct float64
	low, high    float64
	sources      []calc.Source
}

// middle is the geometric mean of the band.
func (b burner) middle() float64 { return math.Sqrt(b.low * b.high) }

// burner settles the torch or furnace. The doubt of what it gives and of the
// share that is useful are independent: as logarithms they add in square.
func (in In) burner(meltG float64) burner {
	kw, share := [2]float64{}, [2]float64{8, 12}
	b := burner{sources: []calc.Source{srcTips}}
	switch {
	case in.TorchKW > 0:
		kw = [2]float64{in.TorchKW, in.TorchKW}
	case in.Fuel == "electricity":
		kw = [2]float64{1, 2}
	default:
		for _, t := range tips {
			if in.Tip == t.name || in.Tip == "" && meltG <= t.upToG {
				b.tip, kw = t.name, [2]float64{t.low, t.high}
				break
			}
		}
	}
	if in.Fuel == "electricity" {
		share, b.sources = [2]float64{30, 60}, []calc.Source{srcFurnace}
	}
	if in.EfficiencyPct != nil {
		share = [2]float64{*in.EfficiencyPct / 1.1, *in.EfficiencyPct * 1.1}
		b.sources = append(b.sources, srcOwn)
	}
	b.kw, b.sharePct = math.Sqrt(kw[0]*kw[1]), math.Sqrt(share[0]*share[1])
	doubt := math.Exp(math.Hypot(math.Log(kw[1]/kw[0]), math.Log(share[1]/share[0])) / 2)
	useful := b.kw * b.sharePct / 100
	b.low, b.high = useful/doubt, useful*doubt
	return b
}

const (
	dishEffusivity = 1100.0      // J/(m² K √s)
	crucibleCp     = 1.05        // kJ/(kg K), fireclay or silica; hot graphite takes half as much again
	stefan         = 5.670374e-8 // W/(m² K⁴)
	emissivity     = 0.5
	airFilm        = 20.0 // W/(m² K)

	furnaceCrucibleG = 250.0 // of a furnace for half a kilogram of silver; from memory
)

// hearth is the metal in its dish under the flame.
type hearth struct {
	metalKJ float64 // to the pour
	area    float64 // m² of dish that is heated
	rise    float64 // K
	holds   float64 // kJ that the dish holds when hot through
	loss    float64 // kW lost to the room, mean over the rise
	lossTop float64 // kW lost at the pour
	furnace bool    // the crucible is hot through, and the furnace's losses are in its share
}

// hearth sets out metal and dish, from the start to the pour.
func (in In) hearth(out *Out) hearth {
	h := hearth{metalKJ: out.HeatKJ, rise: out.PourTemperatureC - in.StartTemperatureC, holds: math.Inf(1)}
	h.area = 10e-4 + 6*math.Pow(out.LiquidVolumeMM3*1e-9, 2.0/3)
	if in.CrucibleMassG > 0 {
		h.holds = in.CrucibleMassG / 1000 * crucibleCp * h.rise
	}
	if in.Fuel == "electricity" {
		h.furnace = true
		h.holds = cmp.Or(in.CrucibleMassG, furnaceCrucibleG) / 1000 * crucibleCp * h.rise
		return h
	}
	start, top := in.StartTemperatureC+273.15, out.PourTemperatureC+273.15
	const room = 293.15
	bare := h.area / 2
	// The mean over an even rise of T⁴ is (T₂⁵ − T₁⁵)/(5 (T₂ − T₁)).
	mean4 := (math.Pow(top, 5) - math.Pow(start, 5)) / (5 * (top - start))
	radiant := func(t4 float64) float64 { return emissivity * stefan * bare * (t4 - math.Pow(room, 4)) / 1000 }
	air := func(t float64) float64 { return airFilm * bare * (t - room) / 1000 }
	h.loss = max(0, radiant(mean4)+air((start+top)/2))
	h.lossTop = radiant(math.Pow(top, 4)) + air(top)
	return h
}

// dish is the heat in kJ that the dish takes up in a time: as a thick body
// whose surface warms evenly, and no more than it holds.
func (h hearth) dish(seconds float64) float64 {
	if h.furnace {
		return h.holds
	}
	return min(h.soak()*math.Sqrt(seconds), h.holds)
}

// soak is the heat in kJ/√s that the dish takes.
func (h hearth) soak() float64 {
	return 4.0 / 3 * dishEffusivity * h.area * h.rise / math.Sqrt(math.Pi) / 1000
}

// time solves P t = metal + soak √t + loss t for the time in s that the useful
// power of kw takes, or the same with the dish hot through where that is less;
// ok is false where the power does not cover the loss at the pour.
func (h hearth) time(kw float64) (seconds float64, ok bool) {
	if !(kw > h.lossTop) {
		return 0, false
	}
	if h.furnace {
		return (h.metalKJ + h.holds) / kw, true
	}
	spare, s := kw-h.loss, h.soak()
	root := (s + math.Sqrt(s*s+4*spare*h.metalKJ)) / (2 * spare)
	return min(root*root, (h.metalKJ+h.holds)/spare), true
}
