// Package safety holds the cautions that more than one room of the program
// must give, in one wording each. They are the usual cautions of the trade;
// local codes and licensed practice come first.
package safety

import "pourwright/internal/calc"

// Cautions of melting and pouring.
var (
	MoltenMetal = calc.Caution{Code: "molten_metal", Severity: calc.Danger,
		Text: "Molten metal burns to the bone and sets fire to what it touches. Wear face shield, leather apron, gauntlets, closed shoes and natural-fibre clothes; pour over a dry sand bed or tray; keep people back. Follow your local fire and workplace codes."}
	DampMould = calc.Caution{Code: "damp_mould", Severity: calc.Danger,
		Text: "Water or damp under molten metal turns to steam at once and throws the metal out. Use only dry, oil-bonded clay; dry the flask, tools, ingot mould, scrap and flux; never pour onto bare concrete."}
	TorchGas = calc.Caution{Code: "torch_gas", Severity: calc.Danger,
		Text: "Fuel gas and oxygen: check for leaks, fit flashback arrestors, keep oil and grease off oxygen fittings, chain cylinders upright, ventilate. Cylinders and fixed piping fall under local codes and licensed fitters."}
	OilSmoke = calc.Caution{Code: "oil_smoke", Severity: calc.Care,
		Text: "Oil-bonded clay smokes and may flame at the pour. Ventilate, keep a fire extinguisher or dry sand at hand, and stand clear of the vents."}
	HotMould = calc.Caution{Code: "hot_mould", Severity: calc.Care,
		Text: "Let the flask cool before opening; the button stays hot enough to burn long after it looks cold. Never quench a casting that holds stones."}
)

// Cautions of what is in the metal.
var (
	ZincFume = calc.Caution{Code: "zinc_fume", Severity: calc.Danger,
		Text: "Zinc in the melt gives white fume that causes metal fume fever and pits the casting. Extract at the source; do not overheat; keep solder and brass out of the charge."}
	Cadmium = calc.Caution{Code: "cadmium", Severity: calc.Danger,
		Text: "Cadmium, found in old solders, gives a fume that can kill hours later with no warning. Do not melt anything that may hold it; send it to a refiner and say so."}
	Lead = calc.Caution{Code: "lead", Severity: calc.Danger,
		Text: "Lead, found in soft solder, poisons by fume and dust and makes gold and silver brittle in traces. Cut soft-soldered seams away and send them to a refiner; do not melt them."}
	Flux = calc.Caution{Code: "flux", Severity: calc.Care,
		Text: "Borax and boric acid are harmful if swallowed or inhaled as dust and can harm fertility; fluoride fluxes give off toxic fume. Use little, keep it dry, ventilate."}
	Acid = calc.Caution{Code: "acid", Severity: calc.Danger,
		Text: "Pickle and acids burn. Add acid to water, never water to acid; wear goggles and gloves; no steel in the pickle; keep acids away from cyanide and bleach; neutralise and dispose as local rules require."}
	DirtyScrap = calc.Caution{Code: "dirty_scrap", Severity: calc.Danger,
		Text: "Closed, wet or filled scrap can burst and throw metal. Cut hollow pieces open, dry everything, take out steel springs and pins, stones, enamel, glue and pitch before the melt."}
)

// Cautions of law, and of stones that belong to someone else.
var (
	HallmarkLaw = calc.Caution{Code: "hallmark_law", Severity: calc.Note,
		Text: "Legal standards, tolerances, marks and exemptions are local law. The fineness here is a calculation, not an assay; your assay office decides."}
	ConsumerLaw = calc.Caution{Code: "consumer_law", Severity: calc.Note,
		Text: "Prices, deposits, taxes, returns and the keeping of a client's property are subject to local consumer and tax law."}
	StoneConsent = calc.Caution{Code: "stone_consent", Severity: calc.Care,
		Text: "A stone cast in place may crack, craze, cloud or change colour even if its kind usually survives. Get the owner's written consent for each stone before the pour."}
)
