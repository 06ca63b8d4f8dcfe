package melt

import (
	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// fuel is a gas CxHy by its enthalpy of formation, or one of a stated heating value.
type fuel struct {
	c, h      float64 // atoms
	formation float64 // kJ/mol at 25 °C, gas
	stated    float64 // MJ/kg, for a mixture
	text      string
	status    calc.Status
}

const formationSource = "from enthalpies of formation, M. J. Moran, H. N. Shapiro, Fundamentals of Engineering Thermodynamics, table A-25"

var fuels = map[string]fuel{
	"propane":     {c: 3, h: 8, formation: -103.85, text: formationSource, status: calc.Confirmed},
	"butane":      {c: 4, h: 10, formation: -126.15, text: formationSource, status: calc.Confirmed},
	"acetylene":   {c: 2, h: 2, formation: 226.73, text: formationSource, status: calc.Confirmed},
	"natural_gas": {stated: 47.13, text: "Hydrogen Analysis Resource Center, Lower and Higher Heating Values of Fuels; 38 to 50 MJ/kg by place: ask your supplier", status: calc.Confirmed},
}

// netMJKg is the net (lower) heating value: the water leaves as vapour.
func (f fuel) netMJKg() float64 {
	if f.stated > 0 {
		return f.stated
	}
	const co2, h2o, c, h = -393.52, -241.82, 12.011, 1.008 // kJ/mol, gases at 25 °C, same table; g/mol
	return (f.formation - f.c*co2 - f.h/2*h2o) / (f.c*c + f.h*h)
}

// heatContent is what heat needs of a metal.
type heatContent interface{ EnthalpyKJKg(tC float64) float64 }

// heatKJ returns the heat in kJ that takes mass g of m from one temperature to
// another, °C: the difference of its enthalpies, latent heat included.
func heatKJ(m heatContent, g, fromC, toC float64) float64 {
	return g / 1000 * (m.EnthalpyKJKg(toC) - m.EnthalpyKJKg(fromC))
}

// heat finds the heat to the pour, and the time and gas that give it.
func (out *Out) heat(in In, m metal.Metal) {
	out.HeatKJ = heatKJ(m, out.MeltMassG, in.StartTemperatureC, out.PourTemperatureC)
	out.Step("heat in the metal", out.HeatKJ, "kJ", "m × Δh = %.5g kg × %.5g kJ/kg, %g to %.5g °C", out.MeltMassG/1000, out.HeatKJ/out.MeltMassG*1000, in.StartTemperatureC, out.PourTemperatureC)
	b := in.burner(out.MeltMassG)
	h := in.hearth(out)
	seconds, ok := h.time(b.middle())
	dish, lost := h.dish(seconds), h.loss*seconds
	out.CrucibleHeatKJ, out.LostHeatKJ, out.Tip = dish, lost, b.tip
	out.Cite(b.sources...)
	if !ok {
		out.HeatGivenKJ = 0
		out.Warn("torch_too_small", calc.Danger, "%.2g kW of useful heat is no more than metal and dish lose at %.0f °C: this torch never gets there. Use a larger tip, a lid of charcoal or less metal; do not go on heating.", b.middle(), out.PourTemperatureC)
		return
	}
	out.TimeS = seconds
	out.TimeLowS, _ = h.time(b.high)
	slow, slowOK := h.time(b.low)
	if slowOK {
		out.TimeHighS = slow
	}
	out.HeatGivenKJ = b.kw * seconds
	out.EnergyKWh = out.HeatGivenKJ / 3600
	out.Step("useful heat", b.middle(), "kW", "burner %.3g kW × %.3g %% into metal and dish; %.3g to %.3g kW", b.kw, b.sharePct, b.low, b.high)
	if h.furnace {
		out.Step("heat in the crucible", dish, "kJ", "hot through, at %g kJ/(kg K) × %.5g K", crucibleCp, h.rise)
	} else {
		out.showDish(h, dish, lost, seconds)
	}
	out.Step("time", seconds, "s", "(metal %.4g kJ + dish %.4g kJ + lost %.4g kJ) / %.3g kW; %.3g s with the most heat to expect", out.HeatKJ, dish, lost, b.middle(), out.TimeLowS)
	if !slowOK || slow > 10*60 {
		out.Warn("slow_melt", calc.Care, "The melt may take more than ten minutes, or stop short of the heat: it takes up gas and loses metal all the while. Use a larger tip or less metal.")
	}
	if in.Fuel == "electricity" {
		return
	}
	f := fuels[in.Fuel]
	value := f.netMJKg()
	source := calc.Source{For: "net heating value of " + in.Fuel, Text: f.text, Status: f.status}
	if in.FuelMJKg > 0 {
		value, source.Text, source.Status = in.FuelMJKg, "the request", calc.YourInput
	}
	out.FuelG = out.HeatGivenKJ / value
	out.Step("gas", out.FuelG, "g", "heat given out / net heating value = %.5g kJ / %.4g MJ/kg", out.HeatGivenKJ, value)
	out.Cite(source)
}

// showDish writes the working of what dish and room take.
func (out *Out) showDish(h hearth, dish, lost, seconds float64) {
	out.Cite(srcDish, srcHearth)
	out.Step("heat in the dish", dish, "kJ", "4/3 e A ΔT √(t/π) = 4/3 × %g J/(m² K √s) × %.3g cm² × %.5g K × √(%.4g s/π), at most what it holds", dishEffusivity, h.area*1e4, h.rise, seconds)
	out.Step("heat lost", lost, "kJ", "mean of ε σ A (T⁴ − T₀⁴) and of the air over the rise, %.3g kW × %.4g s", h.loss, seconds)
}
