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

// crucibleCp is the mean specific heat in kJ/(kg K) of a fireclay or silica
// crucible. Hot graphite takes half as much again.
const crucibleCp = 1.05

var srcCrucibleHeat = calc.Source{For: "specific heat of a fireclay or silica crucible, 1.05 kJ/(kg K), all of it at the pour temperature", Text: "fire brick, public table of specific heats of solids; the outside is cooler, so this is on the high side", Status: calc.Confirmed}

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
	out.CrucibleHeatKJ = in.CrucibleMassG / 1000 * crucibleCp * (out.PourTemperatureC - in.StartTemperatureC)
	out.HeatGivenKJ = (out.HeatKJ + out.CrucibleHeatKJ) / (in.EfficiencyPct / 100)
	out.EnergyKWh = out.HeatGivenKJ / 3600
	out.Step("heat in the metal", out.HeatKJ, "kJ", "m × Δh = %.5g kg × %.5g kJ/kg, %g to %.5g °C", out.MeltMassG/1000, out.HeatKJ/out.MeltMassG*1000, in.StartTemperatureC, out.PourTemperatureC)
	if in.CrucibleMassG > 0 {
		out.Cite(srcCrucibleHeat)
		out.Step("heat in the crucible", out.CrucibleHeatKJ, "kJ", "m × c × ΔT = %g kg × %g kJ/(kg K) × %.5g K", in.CrucibleMassG/1000, crucibleCp, out.PourTemperatureC-in.StartTemperatureC)
	}
	out.Step("heat to be given", out.HeatGivenKJ, "kJ", "heat / efficiency = %.5g kJ / %g %%", out.HeatKJ+out.CrucibleHeatKJ, in.EfficiencyPct)
	if in.EfficiencyPct == 10 {
		out.Cite(srcEfficiency)
	}
	if in.TorchKW > 0 {
		out.TimeS = out.HeatGivenKJ / in.TorchKW
		out.Step("time", out.TimeS, "s", "heat to be given / power = %.5g kJ / %g kW", out.HeatGivenKJ, in.TorchKW)
		if out.TimeS > 15*60 {
			out.Warn("slow_melt", calc.Care, "%.0f minutes is long: the melt takes up gas and loses metal, and a torch this small may never get there. Use more heat or less metal.", out.TimeS/60)
		}
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
	out.Step("gas", out.FuelG, "g", "heat to be given / net heating value = %.5g kJ / %.4g MJ/kg", out.HeatGivenKJ, value)
	out.Cite(source)
}
