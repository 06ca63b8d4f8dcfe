package blend

import (
	"pourwright/internal/calc"
	"pourwright/internal/safety"
	"pourwright/internal/verdict"
)

// sign is what an observation means for a lot.
type sign struct {
	refuses   bool          // the lot stays out of any melt
	level     verdict.Level // what it leaves of the plan until it is dealt with; go for a mere note
	says      string        // what is wrong
	do        string        // what must be done first
	low, high float64       // part of the lot's mass that is metal, least and most; 0 when all is
	caution   *calc.Caution
}

// observed holds the signs. The parts that are metal are rough practice: the
// mass is to be weighed again in any case.
var observed = map[string]sign{
	"soft_solder":         {true, verdict.NotYet, "soft solder is lead and tin: a trace makes silver and gold brittle and lead poisons", "cut the seams well away or send the lot to a refiner", .85, .98, &safety.Lead},
	"lead":                {true, verdict.NotYet, "lead makes silver and gold brittle in traces and poisons by fume and dust", "send the lot to a refiner", 0, 0, &safety.Lead},
	"cadmium_solder":      {true, verdict.NotYet, "cadmium fume can kill hours later with no warning", "send the lot to a refiner and say so", 0, 0, &safety.Cadmium},
	"arsenic":             {true, verdict.NotYet, "arsenic fume is deadly", "send the lot to a refiner and say so", 0, 0, nil},
	"mercury_gilding":     {true, verdict.NotYet, "fire gilding holds mercury, whose fume is deadly", "send the lot to a refiner and say so", 0, 0, nil},
	"mercury":             {true, verdict.NotYet, "amalgam gives off mercury, whose fume is deadly", "do not heat it; send the lot to a refiner and say so", 0, 0, nil},
	"aluminium":           {true, verdict.NotYet, "aluminium makes gold and silver brittle above a trace", "take the part off and weigh again", .7, .95, nil},
	"unknown_white_metal": {true, verdict.NotYet, "an unknown white metal may be tin, lead, zinc, nickel or aluminium, any of which spoils a melt", "have it tested, or keep it out", 0, 0, nil},
	"silver_solder":       {false, verdict.Go, "solder lowers the fineness and brings zinc", "", 0, 0, &safety.ZincFume},
	"steel_pins":          {false, verdict.NotYet, "steel does not melt at these heats and leaves hard lumps", "take out springs, clasps and pins with a magnet and weigh again", .9, .99, nil},
	"magnetic":            {false, verdict.NotYet, "something in it is steel", "find it with a magnet, take it out and weigh again", .8, .99, nil},
	"plated":              {false, verdict.Care, "a test of the skin says nothing of the core", "file a notch and test there", 0, 0, nil},
	"rhodium":             {false, verdict.Care, "rhodium does not dissolve and leaves bluish flecks", "strip it first or keep the lot for hidden parts", 0, 0, nil},
	"enamel":              {false, verdict.NotYet, "enamel makes slag and gas, and old enamel holds lead", "have it taken off and weigh again", .8, .95, nil},
	"stones":              {false, verdict.NotYet, "stones crack, and their mass is not metal", "take the stones out and weigh again", .7, .98, nil},
	"glue":                {false, verdict.NotYet, "glue, pitch and plaster bring sulphur and gas", "boil or burn them out in the open and weigh again", .85, .99, nil},
	"hollow":              {false, verdict.NotYet, "closed hollow pieces can burst in the crucible", "cut them open, and look what is inside", .9, 1, &safety.DirtyScrap},
	"filled":              {false, verdict.NotYet, "filled pieces hold pitch, plaster, cement or an iron rod, mostly more than half of their mass", "cut them open, empty and clean them, dry them and weigh again", .2, .6, &safety.DirtyScrap},
	"wet":                 {false, verdict.NotYet, "wet scrap throws molten metal", "dry and warm it through first, well above 100 °C, and weigh again", .8, .99, &safety.DirtyScrap},
	"filings":             {false, verdict.Care, "filings lose 2 to 5 % in the melt and hide steel and solder", "draw a magnet through, melt them apart and test the bead", .9, .98, nil},
}

// refusal is why a lot stays out, and what to do with it.
func (s sign) refusal() string { return s.says + "; " + s.do }

// signs tells what was noticed on the lot and not dealt with; a reason means
// that the lot must stay out of any melt.
func (l *SourceLot) signs(notes *calc.Notes, checks *calc.Checks) (reason string) {
	for i, list := range [][]string{l.Observations, l.DealtWith} {
		for _, o := range list {
			if _, ok := observed[o]; !ok {
				checks.Refuse([]string{"observations", "dealt_with"}[i], o, "give one of the observations listed in the contract")
			}
		}
	}
	for _, o := range l.open() {
		s, ok := observed[o]
		if !ok {
			continue
		}
		if s.caution != nil {
			notes.Caution(*s.caution)
		}
		switch {
		case s.refuses:
			if reason == "" {
				reason = s.refusal()
			}
		case s.do == "":
			notes.Warn(o, calc.Care, "%s: %s.", l.ID, s.says)
		default:
			notes.Warn(o, calc.Care, "%s: %s: %s.", l.ID, s.says, s.do)
		}
	}
	return reason
}

// reasons are what the lot leaves of a go.
func (l *SourceLot) reasons(refused string) verdict.Reasons {
	var r verdict.Reasons
	if refused != "" {
		r.Add(verdict.Scrap, verdict.Care, "Keep it apart, and give it back or send it to a refiner.", "%s: stays out of the melt: %s.", l.ID, refused)
		return r
	}
	told := false
	for _, o := range l.open() {
		s := observed[o]
		if s.level == verdict.Go || s.level == "" {
			continue
		}
		left := ""
		if s.low > 0 && !told { // what all signs together leave, once
			left, told = cleanText(l.clean()), true
		}
		r.Add(verdict.Scrap, s.level, capital(s.do)+".", "%s: %s.%s", l.ID, s.says, left)
	}
	return r
}

func capital(s string) string {
	if s == "" {
		return s
	}
	if c := s[0]; c >= 'a' && c <= 'z' {
		return string(c-'a'+'A') + s[1:]
	}
	return s
}
