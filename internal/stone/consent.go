package stone

import (
	"fmt"
	"strings"
)

// ConsentFor is what the owner of stones agrees to.
type ConsentFor struct {
	Metal      string // "sterling silver"
	MetalC     float64
	Stone      string
	Quantity   int
	MassCt     float64 // of all
	Treatments []Treatment
}

// ConsentLine returns the text by which the owner takes the risk of casting
// stones in place, for the quote. Local law decides what it is worth.
func ConsentLine(c ConsentFor) string {
	declared := make([]string, len(c.Treatments))
	for i, t := range c.Treatments {
		declared[i] = strings.ReplaceAll(string(t), "_", " ")
	}
	if len(declared) == 0 {
		declared = []string{"___"}
	}
	return fmt.Sprintf("I understand that my stone will meet molten %s at about %.0f °C; that it may crack, craze, cloud, change colour, be washed away or be covered by metal even if its kind usually survives; that treatments unknown to me or the maker raise the risk; and that it may not be replaceable. I ask for it to be cast in place. %d × %s, about %.3g ct in all; treatments declared: %s; value ___ signed ___ date ___.",
		strings.ToLower(c.Metal), c.MetalC, c.Quantity, strings.ToLower(c.Stone), c.MassCt, strings.Join(declared, ", "))
}
