package metal

import "pourwright/internal/calc"

// Metals for a class to practise with that melt with little heat. Bronze and
// brass stand with the copper alloys. Pewters with antimony are not here: the
// heats of antimony were not read.
var (
	tinTable = &calc.Source{Text: "table of tin alloys without lead with solidus, liquidus and density, a reference page on soft solders: Sn 99.3 Cu 0.7 melts at 227 °C, 7.31 g/cm³; Sn 97 Cu 3 at 227 to 300 °C, 7.32 g/cm³", Status: calc.Confirmed}

	practiceMetals = []alloy{
		{"tin-copper-993", "Tin with copper, without lead, for practice", "tin", "Sn 993 Cu 7", figure{227, 1, tinTable}, figure{227.5, 1, tinTable}, tinTable},
		{"tin-copper-970", "Tin with more copper, without lead, for practice", "tin", "Sn 970 Cu 30", figure{227, 1, tinTable}, figure{300, 10, tinTable}, tinTable},
	}
)
