// Package safety holds the cautions that more than one room of the program
// must give, in one wording each. They are the usual cautions of the trade;
// local codes and licensed practice come first.
package safety

import "pourwright/internal/calc"

// Cautions of melting and pouring.
var (
	MoltenMetal = calc.Caution{Code: "molten_metal", Severity: calc.Danger,
		Text: "Molten metal burns to the bone and sets fire to what it touches. Face shield, leather apron, gauntlets, closed shoes, natural-fibre clothes; pour over dry sand; keep people back. Follow local fire and workplace codes."}
	DampMould = calc.Caution{Code: "damp_mould", Severity: calc.Danger,
		Text: "Water or damp under molten metal turns to steam at once and throws it out. Only dry, oil-bonded clay; dry flask, tools, ingot mould, scrap and flux; never pour onto bare concrete."}
	TorchGas = calc.Caution{Code: "torch_gas", Severity: calc.Danger,
		Text: "Torch gas: no leaks, flashback arrestors, no grease on oxygen, cylinders chained upright. Propane and butane are heavier than air: none in cellars. A starved flame gives carbon monoxide, which kills without a smell: ventilate. Local codes and licensed fitters apply."}
	Crucible = calc.Caution{Code: "crucible", Severity: calc.Care,
		Text: "Glaze a new crucible or dish with borax and warm it through before its first melt, and warm any dish before the metal goes in: a cold or damp one cracks or spits. Look for cracks before each melt."}
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
	FireStain = calc.Caution{Code: "fire_stain", Severity: calc.Note,
		Text: "Silver with copper takes a grey or purple fire-stain below the skin in hot air; pickle does not take it off. Keep flux and a reducing flame on the melt, and file or sand the stain away before the polish."}
	DirtyScrap = calc.Caution{Code: "dirty_scrap", Severity: calc.Danger,
		Text: "Closed, wet or filled scrap can burst and throw metal. Cut hollow pieces open, dry everything, take out steel springs and pins, stones, enamel, glue and pitch before the melt."}
)

// Cautions for who wears it.
var (
	Nickel = calc.Caution{Code: "nickel", Severity: calc.Care,
		Text: "Nickel can bring on allergy; its release from jewellery, and from posts through pierced skin most of all, is limited by law in many places. Do not use it for babies and small children. See your local rules."}
	SmallChildren = calc.Caution{Code: "small_children", Severity: calc.Danger,
		Text: "For babies and small children: no stones, charms or other small parts that can come off and choke, no sharp edges, no nickel, lead or cadmium, and nothing that catches and does not open. Jewellery for children falls under local safety law. Take it off for sleep and play."}
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
