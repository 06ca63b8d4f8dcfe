package metal

import "pourwright/internal/calc"

// Metals for a class to practise with that melt with little heat. Bronze and
// brass stand with the copper alloys.
var (
	tinTable   = &calc.Source{Text: "table of tin alloys without lead with solidus, liquidus and density, a reference page on soft solders: Sn 99.3 Cu 0.7 melts at 227 °C, 7.31 g/cm³; Sn 97 Cu 3 at 227 to 300 °C, 7.32 g/cm³", Status: calc.Practice}
	pewterMade = &calc.Source{Text: "ASTM B560, modern pewter alloys, type 2: nominally tin 91, antimony 7, copper 2 (abstract of the standard)", Status: calc.Confirmed}
	pewterMelt = &calc.Source{Text: "data base of material properties, pewter of ASTM B560 type 2: 470 to 560 °F, rounded to tens; 7.3 g/cm³, 69 kJ/kg", Status: calc.Practice}
	whiteMade  = &calc.Source{Text: "white metal for costume jewellery, tin 92, antimony 8", Status: calc.FromMemory}
	whiteMelt  = &calc.Source{Text: "Alloy Digest, Sn-8, White metal (1980), abstract: solidus 246 °C, the liquidus a few degrees higher", Status: calc.Confirmed}

	practiceMetals = []alloy{
		{"tin-copper-993", "Tin with copper, without lead, for practice", "tin", "Sn 993 Cu 7", figure{227, 1, tinTable}, figure{227.5, 1, tinTable}, tinTable},
		{"tin-copper-970", "Tin with more copper, without lead, for practice", "tin", "Sn 970 Cu 30", figure{227, 1, tinTable}, figure{300, 10, tinTable}, tinTable},
		{"tin-antimony-pewter", "Pewter, tin with antimony and copper, without lead", "tin", "Sn 910 Sb 70 Cu 20", figure{243, 6, pewterMelt}, figure{293, 6, pewterMelt}, pewterMade},
		{"tin-antimony-white", "White metal, tin with antimony, for practice", "tin", "Sn 920 Sb 80", figure{246, 2, whiteMelt}, figure{250, 5, whiteMelt}, whiteMade},
	}
)
