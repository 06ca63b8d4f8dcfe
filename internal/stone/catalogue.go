package stone

import "pourwright/internal/calc"

const (
	srcGemTables = "R. Webster, Gems; Gem Reference Guide (tables of constants)"
	srcCustoms   = "custom of casting in preheated flasks with the stone inside; sources disagree"
	pickleBears  = "warm_when_whole"
	pickleNot    = "keep_out"
)

var (
	srcGems   = calc.Source{For: "gem constants", Text: srcGemTables, Status: calc.FromMemory}
	srcCast   = calc.Source{For: "custom of casting in place", Text: srcCustoms, Status: calc.Practice}
	srcBodies = calc.Source{For: "thermal and elastic properties of gems", Text: srcThermalTables + "; status of each figure in /v1/stones", Status: calc.FromMemory}
)

// g is a figure of the gem tables: typical, low, high.
func g(typical, low, high float64) GemFigure {
	return fig(typical, low, high, calc.FromMemory, srcGemTables)
}

// one is a hardness without a range.
func one(v float64) GemFigure { return g(v, v, v) }

// span is a hardness given as a range.
func span(low, high float64) GemFigure { return g((low+high)/2, low, high) }

// at is an event in heat from a temperature read in a source; about is one
// recalled. colour events change the colour only.
func at(low, high float64, what, source string) HeatEvent {
	return HeatEvent{FromC: fig((low+high)/2, low, high, calc.Confirmed, source), What: what}
}

func about(low, high float64, what string) HeatEvent {
	return HeatEvent{FromC: g((low+high)/2, low, high), What: what}
}

func (e HeatEvent) colour() HeatEvent    { e.Colour = true; return e }
func (e HeatEvent) returning() HeatEvent { e.Colour, e.Reversible = true, true; return e }

// The literature read for changes in heat.
const (
	readDiamond     = "reference pages on diamond, read; CVD diamond thermogravimetry, abstract; a workshop report of frosting at 566 °C, read"
	readBerylCracks = "J. Fridrichova and others, 2015, heating of beryl, abstract"
	readMullite     = "topaz to mullite, 1995, abstract"
	readDissociates = "J. Eur. Ceram. Soc. 2008, 2199, abstract"
	readFiring      = "firing tests of cut stones in a kiln, 650 and 800 °C, read"
	readBeads       = "firing tests at 900 °C for 2 h, read"
	readQuartz      = "reference pages on quartz inversion, read"
	readAmethyst    = "Sci. Rep. 10 (2020), s41598-020-71786-1; trade pages, read"
	readSpinel      = "Gems & Gemology, autumn 2021; GSA abstract 286873 (2016)"
	readGarnet      = "Thieblot, Roux & Richet, Eur. J. Mineral. 10 (1998) 7, abstract"
	readBeryl       = "article on heating of beryl after Sinkankas, read"
	readTourm       = "trade and laboratory pages on heated tourmaline, read"
	readZircon      = "page on heated zircon, read"
	readTanzanite   = "trade pages on heated zoisite, read"
	readOpal        = "Minerals 13 (2023) 356"
	readTurquoise   = "J. Gems Gemmol. 19 (2017) 12"
	readMalachite   = "Thermochim. Acta 390 (2002) 133"
	readPearl       = "ACS Omega 2021 (pearl), summary"
	readAmber       = "university page on amber, read"
	readMoiss       = "trade page on moissanite, read"
	readTopaz       = readFiring
)

func inversion() HeatEvent {
	return at(573, 573, "alpha-beta inversion of quartz: a volume jump of about 2 % that cracks it", readQuartz)
}

// gem completes a row. Events are listed lowest first.
func gem(id, name string, kind Kind, formula string, sg, mohs GemFigure, cleavage, tough, inHeat string, cast Custom, pickle string, body *GemBody, treatments []Treatment, events ...HeatEvent) Gem {
	if treatments == nil {
		treatments = []Treatment{}
	}
	if events == nil {
		events = []HeatEvent{}
	}
	return Gem{ID: id, Name: name, Kind: kind, Formula: formula, SpecificGravity: sg, Hardness: mohs,
		Cleavage: cleavage, Toughness: tough, TableStatus: calc.FromMemory, InHeat: inHeat, HeatEvents: events,
		Treatments: treatments, Cast: cast, InColdClay: inColdClay(id, cast), Pickle: pickle, Body: body}
}

func withLab(x Gem) Gem { x.AlsoLab = true; return x }

type list = []Treatment

// catalogue is in the order of the trade: hard stones first, soft last.
var catalogue = []Gem{
	gem("diamond", "Diamond", Natural, "C", g(3.52, 3.51, 3.53), one(10), "perfect", "good", "oxidises in air: within minutes from 630-700 °C, in hours from 566 °C (frosted after 7 h); a boric acid coat keeps the air off", Customary, pickleBears, &diamondBody, list{FractureFilled, LaserDrilled, Irradiated, Coated, PressureHeated},
		at(630, 700, "oxidises in air: the surface burns", readDiamond)),
	gem("diamond-lab", "Diamond, laboratory-grown", Lab, "C", g(3.52, 3.51, 3.53), one(10), "perfect", "good", "as diamond; may hold metal inclusions", Customary, pickleBears, &diamondBody, list{Irradiated, Coated, PressureHeated},
		at(630, 700, "oxidises in air: the surface burns", readDiamond)),
	gem("ruby", "Ruby", Natural, "Al2O3:Cr", g(4.00, 3.97, 4.05), one(9), "none", "excellent", "stable to 2050 °C; inclusions burst; parts along planes", Customary, pickleBears, &corundumBody, list{Heated, LeadGlassFilled, FluxHealed, Diffused, Dyed}),
	gem("sapphire", "Sapphire", Natural, "Al2O3", g(4.00, 3.95, 4.03), one(9), "none", "excellent", "colour can shift above 800 °C; water-filled voids burst; parts along planes", Customary, pickleBears, &corundumBody, list{Heated, Diffused, LeadGlassFilled, Dyed},
		about(800, 800, "colour can shift").colour()),
	gem("corundum-lab", "Ruby or sapphire, laboratory-grown", Lab, "Al2O3", g(3.99, 3.98, 4.02), one(9), "none", "excellent", "stable in the kiln; some have cracked in cold bentonite sand", Customary, pickleBears, &corundumBody, nil),
	gem("spinel", "Spinel", Natural, "MgAl2O4", g(3.60, 3.54, 3.63), one(8), "poor", "good", "pink and red darken at 950-1150 °C; crystal disorder from 700 °C", WithCare, pickleBears, &spinelBody, list{Heated, Oiled},
		at(950, 1150, "pink and red darken", readSpinel).colour()),
	gem("spinel-lab", "Spinel, laboratory-grown", Lab, "MgAl2O4, rich in Al", g(3.64, 3.61, 3.67), one(8), "none", "good", "stable; strained boules crack", Customary, pickleBears, &spinelBody, nil),
	gem("chrysoberyl", "Chrysoberyl", Natural, "BeAl2O4", g(3.73, 3.68, 3.78), one(8.5), "good", "excellent", "stable", WithCare, pickleBears, &chrysoBody, list{Irradiated}),
	withLab(gem("alexandrite", "Alexandrite", Natural, "BeAl2O4:Cr", g(3.73, 3.68, 3.78), one(8.5), "good", "excellent", "stable", WithCare, pickleBears, &chrysoBody, list{Oiled})),
	gem("emerald", "Emerald", Natural, "Be3Al2Si6O18:Cr,V", g(2.72, 2.67, 2.78), span(7.5, 8), "poor", "poor_to_good", "filler lost from 100-200 °C; fissures grow", NotCast, pickleNot, &berylBody, list{Oiled, ResinFilled, Dyed},
		about(100, 200, "filler is lost, fissures grow")),
	gem("emerald-lab", "Emerald, laboratory-grown", Lab, "as emerald", fig(2.68, 2.65, 2.73, calc.Practice, "data sheets of makers"), span(7.5, 8), "poor", "good", "unknown", CustomUnsure, pickleBears, &berylBody, nil),
	gem("aquamarine", "Aquamarine", Natural, "Be3Al2Si6O18:Fe", g(2.72, 2.68, 2.80), span(7.5, 8), "poor", "good", "green turns blue at 280-450 °C; whole at 700, cracked at 900 °C; liquid inclusions burst", NotCast, pickleBears, &berylBody, list{Heated},
		at(280, 450, "green turns blue", readBeryl).colour(), at(700, 900, "cracks", readBerylCracks)),
	gem("morganite", "Morganite", Natural, "Be3Al2Si6O18:Mn", g(2.80, 2.71, 2.90), span(7.5, 8), "poor", "good", "orange lost about 400 °C; pink above 500 °C", NotCast, pickleBears, &berylBody, list{Heated, Irradiated},
		about(400, 400, "orange is lost").colour(), about(500, 500, "pink is lost").colour()),
	gem("rock-crystal", "Rock crystal", Natural, "SiO2", g(2.65, 2.64, 2.66), one(7), "none", "good", "573 °C inversion", NotCast, pickleBears, &quartzBody, list{Coated, Dyed}, inversion()),
	withLab(gem("amethyst", "Amethyst", Natural, "SiO2:Fe", g(2.65, 2.63, 2.67), one(7), "none", "good", "pales from 250 °C; green at 420, yellow above 440, milky by 600 °C; 573 °C inversion", NotCast, pickleBears, &quartzBody, list{Heated},
		at(250, 350, "pales, then turns green or yellow", readAmethyst).colour(), inversion())),
	withLab(gem("citrine", "Citrine", Natural, "SiO2:Fe", g(2.65, 2.63, 2.67), one(7), "none", "good", "fades above about 500 °C; 573 °C inversion", NotCast, pickleBears, &quartzBody, list{Heated, Irradiated},
		about(500, 500, "fades").colour(), inversion())),
	gem("smoky-quartz", "Smoky quartz", Natural, "SiO2:Al", g(2.65, 2.64, 2.66), one(7), "none", "good", "bleaches from 200 to 400 °C; 573 °C inversion", NotCast, pickleBears, &quartzBody, list{Irradiated},
		at(200, 400, "bleaches", "article on smoky quartz, read").colour(), inversion()),
	gem("rose-quartz", "Rose quartz", Natural, "SiO2", g(2.65, 2.63, 2.67), one(7), "none", "good", "pales at 400-600 °C; 573 °C inversion", NotCast, pickleBears, &quartzBody, list{Dyed},
		about(400, 600, "pales").colour(), inversion()),
	gem("chalcedony", "Chalcedony (agate, onyx, carnelian)", Natural, "SiO2 (+H2O)", g(2.60, 2.55, 2.65), span(6.5, 7), "none", "good", "loses water from 200 °C; dye chars; 573 °C inversion", NotCast, pickleNot, nil, list{Dyed, Heated},
		about(200, 200, "loses water"), inversion()),
	gem("opal", "Opal", Natural, "SiO2.nH2O", g(2.15, 1.98, 2.25), span(5, 6.5), "none", "poor", "cracks by 150 °C (stored wet) or 300 °C (dry)", NotCast, pickleNot, nil, list{ResinFilled, Smoked, AssembledPiece},
		at(150, 300, "cracks", readOpal)),
	gem("topaz", "Topaz", Natural, "Al2SiO4(F,OH)2", g(3.53, 3.49, 3.57), one(8), "perfect", "poor", "brown to pink at 450-550 °C, white by 650 °C; turns to mullite above about 1100 °C; when it loses fluorine was not found", NotCast, pickleBears, &topazBody, list{Irradiated, Coated, Heated},
		about(450, 550, "brown turns pink").colour(), at(650, 650, "whitens", readTopaz).colour(), at(1100, 1100, "turns to mullite", readMullite)),
	gem("blue-topaz", "Blue topaz", Natural, "Al2SiO4(F,OH)2", g(3.56, 3.54, 3.57), one(8), "perfect", "poor", "irradiated blue fades from about 500 °C", NotCast, pickleBears, &topazBody, list{Irradiated, Heated},
		about(500, 500, "blue fades").colour()),
	gem("tourmaline", "Tourmaline", Natural, "Na-Li-Al borosilicate", g(3.06, 3.00, 3.26), span(7, 7.5), "none", "fair", "colour shifts at 400-600 °C, black at 750 °C; liquid inclusions burst", NotCast, pickleNot, &tourmBody, list{Heated, Irradiated, ResinFilled},
		about(400, 600, "colour shifts").colour(), at(750, 750, "turns black", readTourm).colour()),
	gem("peridot", "Peridot", Natural, "(Mg,Fe)2SiO4", g(3.34, 3.28, 3.48), span(6.5, 7), "poor", "fair", "lives at 650 °C, olive at 800 °C", WithCare, pickleNot, &peridotBody, list{Oiled},
		at(800, 800, "turns olive", readFiring).colour()),
	gem("almandine", "Almandine garnet", Natural, "Fe3Al2Si3O12", g(4.05, 3.93, 4.30), span(7, 7.5), "none", "fair", "hematite skin from 650 °C in some; decomposes at 1030 °C", WithCare, pickleBears, &garnetBody, nil,
		at(650, 650, "a hematite skin in some", readFiring).colour(), at(1030, 1030, "decomposes", readGarnet)),
	gem("pyrope", "Pyrope garnet", Natural, "Mg3Al2Si3O12", g(3.78, 3.62, 3.87), span(7, 7.5), "none", "good", "chromium kinds darken hot and return; decomposes at 1230 °C", WithCare, pickleBears, &garnetBody, nil,
		at(1230, 1230, "decomposes", readGarnet)),
	gem("rhodolite", "Rhodolite garnet", Natural, "(Mg,Fe)3Al2Si3O12", g(3.84, 3.74, 3.94), span(7, 7.5), "none", "good", "as almandine: hematite skin from 650 °C in some", WithCare, pickleBears, &garnetBody, nil,
		at(650, 650, "a hematite skin in some", readFiring).colour()),
	gem("spessartine", "Spessartine garnet", Natural, "Mn3Al2Si3O12", g(4.15, 4.12, 4.20), span(7, 7.5), "none", "fair", "unknown", WithCare, pickleBears, nil, nil),
	gem("grossular", "Grossular garnet", Natural, "Ca3Al2Si3O12", g(3.61, 3.57, 3.73), span(7, 7.5), "none", "good", "decomposes at 1230 °C; what its colour does is unknown", WithCare, pickleBears, &grossBody, list{Heated},
		at(1230, 1230, "decomposes", readGarnet)),
	gem("zircon", "Zircon", Natural, "ZrSiO4", g(4.65, 3.95, 4.73), span(6, 7.5), "poor", "poor_to_fair", "recoloured at 900 °C in air, 1000 °C in reducing gas; falls apart at 1673 °C", NotCast, pickleBears, &zirconBody, list{Heated},
		at(900, 1000, "recoloured", readZircon).colour(), at(1673, 1673, "falls apart into its oxides", readDissociates)),
	gem("tanzanite", "Tanzanite", Natural, "Ca2Al3(SiO4)3OH", g(3.35, 3.15, 3.38), span(6, 7), "perfect", "poor", "brown to blue at 380-600 °C; loses water above 900 °C", NotCast, pickleNot, nil, list{Heated, Coated},
		at(380, 600, "brown turns blue", readTanzanite).colour(), about(900, 900, "loses water")),
	gem("kunzite", "Kunzite", Natural, "LiAlSi2O6", g(3.18, 3.15, 3.21), span(6.5, 7), "perfect", "poor", "fades at 200-500 °C", NotCast, pickleNot, nil, list{Irradiated},
		about(200, 500, "fades").colour()),
	gem("moonstone", "Moonstone", Natural, "KAlSi3O8", g(2.58, 2.55, 2.63), span(6, 6.5), "perfect", "poor", "splits; sheen can fade", NotCast, pickleNot, nil, list{Coated}),
	gem("labradorite", "Labradorite", Natural, "(Ca,Na) feldspar", g(2.70, 2.65, 2.75), span(6, 6.5), "perfect", "poor", "splits", NotCast, pickleNot, nil, list{Diffused}),
	gem("fluorite", "Fluorite", Natural, "CaF2", g(3.18, 3.00, 3.25), one(4), "perfect", "poor", "colour centres bleach at 200-400 °C; bursts into splinters", NotCast, pickleNot, nil, list{ResinFilled, Irradiated},
		about(200, 400, "bleaches and splinters").colour()),
	gem("jadeite", "Jadeite", Natural, "NaAlSi2O6", g(3.34, 3.25, 3.40), span(6.5, 7), "none", "excellent", "polymer and dye go at 200-350 °C; what the stone itself does is unknown", NotCast, pickleNot, &jadeiteBody, list{ResinFilled, Dyed, Waxed},
		about(200, 350, "polymer and dye go").colour()),
	gem("nephrite", "Nephrite", Natural, "Ca2(Mg,Fe)5Si8O22(OH)2", g(2.95, 2.90, 3.03), span(6, 6.5), "none", "excellent", "bleaches; loses water above 900 °C", NotCast, pickleNot, nil, list{Dyed, Waxed},
		about(900, 900, "loses water")),
	gem("lapis", "Lapis lazuli", Natural, "lazurite rock", g(2.75, 2.50, 3.00), span(5, 6), "none", "fair", "pyrite and calcite decompose; sulphur odour", NotCast, pickleNot, nil, list{Dyed, Waxed}),
	gem("turquoise", "Turquoise", Natural, "CuAl6(PO4)4(OH)8.4H2O", g(2.76, 2.31, 2.84), span(5, 6), "none", "fair", "loses water by 400 °C and turns green-brown", NotCast, pickleNot, nil, list{ResinFilled, Waxed, Dyed},
		at(400, 400, "loses water, turns green-brown", readTurquoise).colour()),
	gem("malachite", "Malachite", Natural, "Cu2CO3(OH)2", g(3.95, 3.25, 4.10), span(3.5, 4), "poor", "poor", "turns to black copper oxide at 250-375 °C", NotCast, pickleNot, nil, list{Waxed, ResinFilled},
		at(250, 375, "turns to black copper oxide", readMalachite).colour()),
	gem("cz", "Cubic zirconia", Simulant, "ZrO2 + Y2O3", fig(5.90, 5.56, 6.00, calc.Confirmed, srcRead), span(8, 8.5), "none", "good", "colourless stable, may haze; green, blue and aqua kinds change by 650-900 °C", Customary, pickleBears, &czBody, list{Coated},
		at(650, 900, "green, blue and aqua kinds change; colourless does not", readFiring+"; "+readBeads).colour()),
	withLab(gem("moissanite", "Moissanite", Simulant, "SiC", g(3.22, 3.21, 3.23), one(9.25), "poor", "excellent", "colour shifts from 65 °C and returns; oxidises above 1000 °C", WithCare, pickleBears, &moissBody, list{Coated},
		at(65, 65, "colour shifts and returns", readMoiss).returning(), about(1000, 1000, "oxidises"))),
	gem("yag", "Yttrium aluminium garnet", Simulant, "Y3Al5O12", g(4.55, 4.50, 4.60), span(8, 8.5), "none", "good", "stable", WithCare, pickleBears, &yagBody, nil),
	gem("glass-soda", "Glass, soda-lime", Glass, "soda-lime silicate", g(2.50, 2.4, 2.6), span(5, 6), "none", "poor", "strain point 511-514 °C, softens at 715-726 °C", NotCast, pickleBears, &sodaBody, list{AssembledPiece},
		at(715, 726, "softens", "glass data sheets, read")),
	gem("glass-lead", "Glass, lead crystal", Glass, "lead silicate", g(3.2, 2.9, 4.2), one(5), "none", "poor", "softens about 600 °C; lead reduces to a black skin; lead fume", NotCast, pickleNot, &leadBody, list{Coated, AssembledPiece},
		at(600, 600, "softens; lead reduces to a black skin", "glass encyclopedia page, read")),
	gem("doublet", "Doublet, triplet", Assembled, "any + glue", fig(3.2, 2.2, 4.2, calc.Choice, "from glass and quartz to garnet and corundum by its layers: weigh it"), unknown("that of its top layer"), "none", "poor", "glue fails at 80-200 °C", NotCast, pickleNot, nil, list{AssembledPiece},
		about(80, 200, "glue fails")),
	gem("pearl", "Pearl", Organic, "CaCO3 + protein", g(2.72, 2.60, 2.85), span(2.5, 4.5), "none", "good", "browns at 200-300 °C; turns to lime at 580-900 °C", NotCast, pickleNot, nil, list{Dyed, Irradiated},
		about(200, 300, "browns").colour(), at(580, 900, "turns to lime", readPearl)),
	gem("coral", "Coral", Organic, "CaCO3", g(2.65, 2.60, 2.70), span(3, 4), "none", "fair", "as pearl: browns at 200-300 °C, then turns to lime", NotCast, pickleNot, nil, list{Dyed, ResinFilled},
		about(200, 300, "browns").colour()),
	gem("amber", "Amber", Organic, "fossil resin", g(1.08, 1.05, 1.10), span(2, 2.5), "none", "poor", "softens at 150 °C, melts, decomposes at 250-350 °C", NotCast, pickleNot, nil, list{Heated, Dyed},
		about(150, 150, "softens"), at(250, 350, "decomposes", readAmber)),
	gem("jet", "Jet", Organic, "fossil wood", g(1.32, 1.19, 1.35), span(2.5, 4), "none", "fair", "burns", NotCast, pickleNot, nil, nil),
}
