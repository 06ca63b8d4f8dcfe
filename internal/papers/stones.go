package papers

import (
	"fmt"
	"regexp"
	"strings"

	"pourwright/internal/stone"
	"pourwright/internal/verdict"
)

// refused says why a stone must not be cast in place, if it is to be: nobody signs
// a consent to what the stones' own rules refuse. A material is known by its id, or
// by its name in what the client calls it; "" where nothing is known against it.
func (s *PaperStone) refused() string {
	if s.Plan != "cast_in_place" {
		return ""
	}
	known, err := stone.List(stone.GemFilter{})
	if err != nil {
		return ""
	}
	for _, g := range known {
		if g.InColdClay == verdict.DoNotPour && (s.Gem == g.ID || named(s.What, g.ID) || named(s.What, g.Name)) {
			return fmt.Sprintf("%s is not cast in place: %s", strings.ToLower(g.Name), g.InHeat)
		}
	}
	return ""
}

// named says whether a name stands in a text as words of its own, "opal" in "an
// opal" and not in "opaline".
func named(text, name string) bool {
	name = strings.ReplaceAll(name, "-", " ")
	name, _, _ = strings.Cut(name, " (")
	return regexp.MustCompile(`(?i)\b` + regexp.QuoteMeta(name) + `s?\b`).MatchString(text)
}
