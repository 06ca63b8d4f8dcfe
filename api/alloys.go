package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// AlloyList is the catalogue of alloys.
var AlloyList = calc.Collect(calc.Info{Name: "alloys", Subject: "Metal", Summary: "Silver, gold and copper alloys, solders and pure metals",
	Description: "Composition, fineness, density, melting range with its standing, end of freezing and latent heat."},
	"silver-925", metal.List, metal.Find)

const alloyWords = "Melting range, freezing path, heat content, density, flow and fineness of a metal of any composition. " +
	"Silver, gold and copper together are computed from assessed Gibbs energies; other alloys take handbook ranges, an estimate that says so, or your own solidus and liquidus. " +
	"Each property comes with its uncertainty and range of validity."

// Alloys gives the properties of a metal.
var Alloys = calc.Define(calc.Info{Name: "alloys", Subject: "Metal", Summary: "Properties of a metal from its composition", Description: alloyWords},
	[]calc.Example{
		calc.Sample("sterling", "Sterling silver at the pour", `{"alloy": "silver-925", "temperature_c": 1000}`),
		calc.Sample("mixed-scrap", "What a mixed bag of scrap may come to (invented)", `{"composition_permil": {"Ag": 902, "Cu": 90, "Zn": 6, "Sn": 2}, "temperature_c": 980}`),
		calc.Sample("rose-gold", "A rose gold, with the fraction solid at three temperatures", `{"composition_permil": {"Au": 750, "Cu": 205, "Ag": 45}, "table_c": [890, 880, 870]}`),
		calc.Sample("own-range", "A casting alloy with the supplier's own melting range (invented)", `{"composition": "Ag 935 Cu 35 Zn 20 Ge 10", "solidus_c": 790, "liquidus_c": 905}`),
	}, metal.Describe)

// AlloyProperties is the same in flat fields, for spreadsheets.
var AlloyProperties = calc.Define(calc.Info{Name: "alloy-properties", Subject: "Metal", Summary: "Properties of a metal, for one cell of a spreadsheet",
	Description: alloyWords + " As `alloys`, with the composition as text, so that it can be asked by GET: `?composition=Ag 925 Cu 75&temperature_c=1000&pick=enthalpy_kj_kg`."},
	[]calc.Example{
		calc.Sample("sterling", "Sterling silver by its composition", `{"composition": "Ag 925 Cu 75", "temperature_c": 1000}`),
		calc.Sample("yellow-gold", "An 18 carat gold of the catalogue", `{"alloy": "gold-750-yellow", "temperature_c": 1020}`),
	}, metal.Query)
