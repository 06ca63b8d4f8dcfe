package metal

import (
	"slices"

	"pourwright/internal/calc"
)

// alloy is a row of the catalogue. The composition is in parts per thousand
// by mass as [ParseComposition] reads it. The range is a handbook figure with
// its band: the range used where no model is known, a check where one is; it
// is empty where no handbook figure was found.
type alloy struct {
	id, name, kind, composition string
	solidus, liquidus           figure // °C
	made                        *calc.Source
}

// Sources of compositions.
var (
	standard  = &calc.Source{Text: "fineness of the legal standards, rest copper", Status: calc.Practice}
	henley    = &calc.Source{Text: "Henley's Twentieth Century Formulas, Recipes and Processes, coloured gold alloys", Status: calc.Confirmed}
	coloured  = &calc.Source{Text: "tables of jewellers' gold alloys: materials chemistry textbook, table 3.4, and trade pages", Status: calc.Practice}
	roseBook  = &calc.Source{Text: "T. K. Rose, The Metallurgy of Gold, table XIII", Status: calc.Confirmed}
	cupronick = &calc.Source{Text: "copper alloys by UNS number, nominal composition", Status: calc.Practice}
	coin      = &calc.Source{Text: "coinage laws: fineness of the coins, rest copper", Status: calc.Practice}
	forum     = &calc.Source{Text: "compositions of jewellers' silver solders, from a workshop discussion", Status: calc.Practice}
	germanium = &calc.Source{Text: "within the range of germanium silvers of GB 2561376 and US 2008/0069722", Status: calc.Confirmed}
	roses     = &calc.Source{Text: "middle of the rose gold of US patent 7 413 705: Ag 90 to 120, Cu 290 to 330", Status: calc.Confirmed}
	iso1N     = &calc.Source{Text: "ISO 8654 fixes the colour 1N, not a composition; gold 585, silver 260, copper 155 is given for it in a workshop discussion", Status: calc.Practice}
	purity    = &calc.Source{Text: "pure metal", Status: calc.Choice}
	chosen    = &calc.Source{Text: "within the bands of the trade for this carat and colour", Status: calc.Choice}
)

// Sources of melting ranges.
var (
	trade   = &calc.Source{Text: "handbook melting range of the alloy", Status: calc.FromMemory}
	weak    = &calc.Source{Text: "handbook melting range of the alloy, weakly remembered", Status: calc.FromMemory}
	b628    = &calc.Source{Text: "ASTM B628, silver-copper eutectic", Status: calc.Confirmed}
	quoted  = &calc.Source{Text: "melting range quoted in the trade press", Status: calc.Practice}
	chart   = &calc.Source{Text: "jewellers' chart of melting points, compiled from several books: sterling 1640 °F", Status: calc.Practice}
	gost    = &calc.Source{Text: "table of the jewellery golds of GOST 30649-99 with densities and melting ranges, an engineering bureau's page", Status: calc.Practice}
	filler  = &calc.Source{Text: "Machinery's Handbook, 31st ed., brazing filler metals, table 1a (after AWS A5.8-1981)", Status: calc.Confirmed}
	fillerM = &calc.Source{Text: "AWS A5.8, brazing filler metals", Status: calc.FromMemory}
	uns     = &calc.Source{Text: "copper alloy data by UNS number", Status: calc.FromMemory}
	unsRead = &calc.Source{Text: "copper alloy data by UNS number", Status: calc.Practice}
)

// between the last digit and what a different maker's analysis moves: the
// bands of the ranges are 5 K for silver, 20 K for golds, 10 K for solders.
var catalogue = slices.Concat(practiceMetals, []alloy{
	{"silver-999", "Fine silver 999", "silver", "Ag 999 Cu 1", figure{}, figure{}, standard},
	{"silver-980", "Silver 980", "silver", "Ag 980 Cu 20", figure{}, figure{}, standard},
	{"silver-970", "Silver 970", "silver", "Ag 970 Cu 30", figure{900, 5, trade}, figure{934, 5, trade}, standard},
	{"silver-958", "Britannia silver 958", "silver", "Ag 958 Cu 42", figure{}, figure{}, standard},
	{"silver-950", "Silver 950", "silver", "Ag 950 Cu 50", figure{}, figure{}, standard},
	{"silver-940", "Silver 940", "silver", "Ag 940 Cu 60", figure{}, figure{}, standard},
	{"silver-935", "Silver 935", "silver", "Ag 935 Cu 65", figure{}, figure{}, standard},
	{"silver-925", "Sterling silver 925", "silver", "Ag 925 Cu 75", figure{802, 5, trade}, figure{893, 5, chart}, standard},
	{"silver-900", "Coin silver 900", "silver", "Ag 900 Cu 100", figure{779, 2, trade}, figure{875, 5, trade}, standard},
	{"silver-875", "Silver 875", "silver", "Ag 875 Cu 125", figure{}, figure{}, standard},
	{"silver-835", "Silver 835", "silver", "Ag 835 Cu 165", figure{779, 2, trade}, figure{838, 5, trade}, standard},
	{"silver-830", "Silver 830", "silver", "Ag 830 Cu 170", figure{}, figure{}, standard},
	{"silver-800", "Silver 800", "silver", "Ag 800 Cu 200", figure{779, 2, trade}, figure{820, 5, trade}, standard},
	{"silver-720", "Silver-copper eutectic 720", "silver", "Ag 720 Cu 280", figure{780, 2, b628}, figure{780, 2, b628}, standard},
	{"silver-935-germanium", "Germanium silver 935", "silver", "Ag 935 Cu 53 Ge 12", figure{768, 15, weak}, figure{878, 15, weak}, germanium},
	{"silver-925-deoxidised", "Deoxidised casting silver 925 with zinc", "silver", "Ag 925 Cu 50 Zn 25", figure{}, figure{}, chosen},
	{"silver-500", "Coin silver 500", "silver", "Ag 500 Cu 500", figure{}, figure{}, coin},

	{"gold-999", "Fine gold 999", "gold", "Au 999 Ag 1", figure{}, figure{}, standard},
	{"gold-917-yellow", "22 carat yellow gold", "gold", "Au 917 Ag 55 Cu 28", figure{995, 20, quoted}, figure{1020, 20, quoted}, coloured},
	{"gold-917-coin", "22 carat coin gold", "gold", "Au 916.67 Cu 83.33", figure{}, figure{}, coin},
	{"gold-900-coin", "Coin gold 900", "gold", "Au 900 Cu 100", figure{}, figure{}, coin},
	{"gold-750-yellow", "18 carat yellow gold, equal silver and copper", "gold", "Au 750 Ag 125 Cu 125", figure{885, 20, trade}, figure{895, 20, trade}, henley},
	{"gold-750-yellow-160-90", "18 carat yellow gold, pale", "gold", "Au 750 Ag 160 Cu 90", figure{895, 20, trade}, figure{920, 20, trade}, coloured},
	{"gold-750-rose", "18 carat rose gold", "gold", "Au 750 Cu 200 Ag 50", figure{885, 20, trade}, figure{895, 20, trade}, coloured},
	{"gold-750-red", "18 carat red gold with zinc", "gold", "Au 750 Cu 230 Ag 15 Zn 5", figure{905, 20, quoted}, figure{920, 20, quoted}, coloured},
	{"gold-750-green", "18 carat green gold", "gold", "Au 750 Ag 250", figure{}, figure{}, henley},
	{"gold-750-white-palladium", "18 carat white gold with palladium", "gold", "Au 750 Ag 150 Pd 100", figure{1200, 40, weak}, figure{1250, 30, weak}, coloured},
	{"gold-750-white-palladium-nickel", "18 carat white gold with palladium and nickel", "gold", "Au 750 Ag 105 Pd 100 Cu 35 Ni 9 Zn 1", figure{1095, 40, weak}, figure{1150, 30, weak}, coloured},
	{"gold-750-white-nickel", "18 carat white gold with nickel", "gold", "Au 750 Ni 173 Zn 55 Cu 22", figure{910, 40, weak}, figure{960, 30, weak}, coloured},
	{"gold-625-yellow", "15 carat gold", "gold", "Au 625 Cu 275 Ag 100", figure{}, figure{}, roseBook},
	{"gold-585-yellow", "14 carat yellow gold, the yellow 1N of ISO 8654", "gold", "Au 585 Ag 260 Cu 155", figure{}, figure{}, iso1N},
	{"gold-585-yellow-300-115", "14 carat yellow gold, pale", "gold", "Au 585 Ag 300 Cu 115", figure{835, 20, gost}, figure{880, 20, gost}, chosen},
	{"gold-585-yellow-205-210", "14 carat yellow gold, deep", "gold", "Au 585 Cu 210 Ag 205", figure{830, 20, gost}, figure{845, 20, gost}, chosen},
	{"gold-585-yellow-zinc", "14 carat yellow gold with zinc", "gold", "Au 585 Cu 312 Zn 63 Ag 40", figure{830, 30, weak}, figure{880, 30, weak}, coloured},
	{"gold-585-rose", "14 carat rose gold with silver", "gold", "Au 585 Cu 310 Ag 105", figure{}, figure{}, roses},
	{"gold-583-rose", "14 carat rose gold", "gold", "Au 583 Cu 396 Ag 21", figure{}, figure{}, coloured},
	{"gold-583-white-palladium", "14 carat white gold with palladium", "gold", "Au 583 Ag 322 Pd 95", figure{1050, 40, weak}, figure{1100, 30, weak}, coloured},
	{"gold-583-white-nickel", "14 carat white gold with nickel", "gold", "Au 583 Cu 283 Ni 86 Zn 48", figure{950, 40, weak}, figure{1000, 30, weak}, coloured},
	{"gold-417-yellow", "10 carat yellow gold with zinc", "gold", "Cu 438 Au 417 Zn 90 Ag 55", figure{865, 40, weak}, figure{905, 30, weak}, coloured},
	{"gold-417-rose", "10 carat rose gold", "gold", "Cu 555 Au 417 Ag 28", figure{}, figure{}, coloured},
	{"gold-375-yellow", "9 carat yellow gold", "gold", "Cu 515 Au 375 Ag 110", figure{890, 40, weak}, figure{940, 30, weak}, chosen},
	{"gold-375-yellow-zinc", "9 carat yellow gold with zinc", "gold", "Cu 450 Au 375 Ag 100 Zn 75", figure{880, 30, weak}, figure{900, 30, weak}, coloured},
	{"gold-375-red", "9 carat red gold", "gold", "Cu 550 Au 375 Ag 75", figure{}, figure{}, coloured},
	{"gold-378-white-nickel", "9 carat white gold with nickel", "gold", "Cu 400 Au 378 Ni 118 Zn 104", figure{980, 40, weak}, figure{1040, 30, weak}, coloured},

	{"bronze-tin-8", "Tin bronze C90300", "copper", "Cu 880 Sn 80 Zn 40", figure{854, 10, uns}, figure{1000, 10, uns}, cupronick},
	{"bronze-tin-10", "Tin bronze C90500", "copper", "Cu 880 Sn 100 Zn 20", figure{854, 10, uns}, figure{1000, 10, uns}, cupronick},
	{"bronze-silicon", "Silicon bronze C87200", "copper", "Cu 950 Si 40 Zn 10", figure{860, 10, unsRead}, figure{971, 10, unsRead}, chosen},
	{"brass-silicon", "Silicon brass C87500", "copper", "Cu 820 Zn 140 Si 40", figure{821, 10, uns}, figure{916, 10, uns}, cupronick},
	{"brass-70-30", "Cartridge brass", "copper", "Cu 700 Zn 300", figure{915, 5, uns}, figure{955, 5, uns}, cupronick},
	{"brass-red-leaded", "Leaded red brass C83600", "copper", "Cu 850 Pb 50 Sn 50 Zn 50", figure{854, 10, uns}, figure{1010, 10, uns}, cupronick},
	{"nickel-silver", "Nickel silver C75200, the base of plated ware", "copper", "Cu 650 Ni 180 Zn 170", figure{1071, 10, uns}, figure{1110, 10, uns}, cupronick},

	{"silver-solder-800", "Silver solder 800, extra hard", "solder", "Ag 800 Cu 160 Zn 40", figure{740, 20, weak}, figure{805, 20, weak}, forum},
	{"silver-solder-750", "Silver solder 750, hard", "solder", "Ag 750 Cu 220 Zn 30", figure{741, 10, fillerM}, figure{788, 10, fillerM}, forum},
	{"silver-solder-700", "Silver solder 700, medium", "solder", "Ag 700 Cu 200 Zn 100", figure{691, 10, fillerM}, figure{738, 10, fillerM}, forum},
	{"silver-solder-650", "Silver solder 650, easy", "solder", "Ag 650 Cu 200 Zn 150", figure{671, 10, fillerM}, figure{718, 10, fillerM}, forum},
	{"silver-solder-560", "Silver solder 560 with tin, extra easy", "solder", "Ag 560 Cu 220 Zn 170 Sn 50", figure{618.3, 10, filler}, figure{651.7, 10, filler}, filler},
	{"silver-solder-500", "Silver solder 500", "solder", "Ag 500 Cu 340 Zn 160", figure{687.8, 10, filler}, figure{773.9, 10, filler}, filler},
	{"silver-solder-450", "Silver solder 450", "solder", "Ag 450 Cu 300 Zn 250", figure{676.7, 10, filler}, figure{743.3, 10, filler}, filler},
	{"silver-solder-300", "Silver solder 300", "solder", "Cu 380 Zn 320 Ag 300", figure{676.7, 10, filler}, figure{765.6, 10, filler}, filler},
	{"silver-solder-500-nickel", "Silver solder 500 with nickel", "solder", "Ag 500 Zn 280 Cu 200 Ni 20", figure{660, 10, filler}, figure{707.2, 10, filler}, filler},
	{"silver-solder-540-nickel", "Silver solder 540 with nickel", "solder", "Ag 540 Cu 400 Zn 50 Ni 10", figure{718.3, 10, filler}, figure{857.2, 10, filler}, filler},
	{"silver-solder-560-nickel", "Silver solder 560 with nickel", "solder", "Ag 560 Cu 420 Ni 20", figure{771.1, 10, filler}, figure{893.3, 10, filler}, filler},
	{"silver-solder-600-tin", "Silver solder 600 with tin", "solder", "Ag 600 Cu 300 Sn 100", figure{601.7, 10, filler}, figure{718.3, 10, filler}, filler},
	{"silver-solder-630-tin", "Silver solder 630 with tin and nickel", "solder", "Ag 630 Cu 285 Sn 60 Ni 25", figure{690.6, 10, filler}, figure{801.7, 10, filler}, filler},
	{"silver-solder-500-cadmium", "Silver solder 500 with cadmium", "solder", "Ag 500 Cd 160 Cu 155 Zn 155 Ni 30", figure{632.2, 10, filler}, figure{687.8, 10, filler}, filler},
	{"silver-solder-300-cadmium", "Silver solder 300 with cadmium", "solder", "Ag 300 Cu 270 Zn 230 Cd 200", figure{607.2, 10, filler}, figure{710, 10, filler}, filler},

	{"copper", "Copper", "element", "Cu 1000", figure{}, figure{}, purity},
	{"silver", "Pure silver", "element", "Ag 1000", figure{}, figure{}, purity},
	{"gold", "Pure gold", "element", "Au 1000", figure{}, figure{}, purity},
	{"palladium", "Palladium", "element", "Pd 1000", figure{}, figure{}, purity},
	{"platinum", "Platinum", "element", "Pt 1000", figure{}, figure{}, purity},
	{"nickel", "Nickel", "element", "Ni 1000", figure{}, figure{}, purity},
	{"zinc", "Zinc", "element", "Zn 1000", figure{}, figure{}, purity},
	{"tin", "Tin", "element", "Sn 1000", figure{}, figure{}, purity},
	{"lead", "Lead", "element", "Pb 1000", figure{}, figure{}, purity},
	{"cadmium", "Cadmium", "element", "Cd 1000", figure{}, figure{}, purity},
})
