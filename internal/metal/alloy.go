package metal

import "pourwright/internal/calc"

// alloy is a row of the catalogue. The composition is in parts per thousand
// by mass as ParseComposition reads it. A zero range is computed.
type alloy struct {
	id, name, composition string
	solidus, liquidus     figure // °C
	made                  *calc.Source
}

var (
	standard   = &calc.Source{Text: "fineness as the legal standards name it, rest copper", Status: calc.Practice}
	tradeRange = &calc.Source{Text: "handbook melting range", Status: calc.FromMemory}
	weakRange  = &calc.Source{Text: "handbook melting range, weakly remembered", Status: calc.FromMemory}
)

// catalogue in the order it is listed.
var catalogue = []alloy{
	{id: "silver-999", name: "fine silver 999", composition: "Ag 999 Cu 1", solidus: figure{959.9, 2, tradeRange}, liquidus: figure{960.8, 2, tradeRange}, made: standard},
	{id: "silver-958", name: "Britannia silver 958", composition: "Ag 958 Cu 42", solidus: figure{879, 5, tradeRange}, liquidus: figure{923.6, 5, tradeRange}, made: standard},
	{id: "silver-935", name: "silver 935", composition: "Ag 935 Cu 65", solidus: figure{828, 5, tradeRange}, liquidus: figure{904, 5, tradeRange}, made: standard},
	{id: "silver-925", name: "sterling silver 925", composition: "Ag 925 Cu 75", solidus: figure{802, 5, tradeRange}, liquidus: figure{893, 5, tradeRange}, made: standard},
	{id: "silver-900", name: "coin silver 900", composition: "Ag 900 Cu 100", solidus: figure{779, 2, tradeRange}, liquidus: figure{875, 5, tradeRange}, made: standard},
	{id: "silver-835", name: "silver 835", composition: "Ag 835 Cu 165", solidus: figure{779, 2, tradeRange}, liquidus: figure{838, 5, tradeRange}, made: standard},
	{id: "silver-800", name: "silver 800", composition: "Ag 800 Cu 200", solidus: figure{779, 2, tradeRange}, liquidus: figure{820, 5, tradeRange}, made: standard},
	{id: "gold-999", name: "fine gold 999", composition: "Au 1000", made: standard},
	{id: "gold-750-yellow", name: "18 carat yellow gold", composition: "Au 750 Ag 125 Cu 125", solidus: figure{885, 20, tradeRange}, liquidus: figure{895, 20, tradeRange}, made: standard},
	{id: "gold-585-yellow", name: "14 carat yellow gold", composition: "Au 585 Ag 300 Cu 115", solidus: figure{820, 20, tradeRange}, liquidus: figure{885, 20, tradeRange}, made: standard},
	{id: "gold-375-yellow", name: "9 carat yellow gold", composition: "Au 375 Ag 110 Cu 515", solidus: figure{890, 30, weakRange}, liquidus: figure{940, 30, weakRange}, made: standard},
}
