package sizing

import (
	"math"
	"strconv"
	"strings"

	"pourwright/internal/calc"
)

var (
	srcIndian  = calc.Source{For: "Indian bangle sizes", Text: "2-n is an inside diameter of 2 + n/16 in, also printed 2.n; several retail charts. One published guide reads 2.4 as inches, which is wrong", Status: calc.Practice}
	srcWestern = calc.Source{For: "western bangle sizes", Text: "inside diameters of closed bangles, child to XL; baby and toddler after published lists of 4 1/2 to 5 3/4 in of circumference", Status: calc.Practice}
	srcCuffs   = calc.Source{For: "cuff sizes by wrist", Text: "a maker's bands; another's overlap them by half an inch; neither can be named here", Status: calc.Practice}
	srcStrips  = calc.Source{For: "strip lengths of cuffs", Text: "usual strips of the trade", Status: calc.Practice}
)

// IndianSize returns the inside diameter in mm of a bangle size such as 2-4,
// which is 2 4/16 inch. It is also printed 2.4; decimal says that it was given
// so. The error is a refusal of field "size_name".
func IndianSize(name string) (diameterMM float64, decimal bool, err error) {
	refuse := calc.Refuse("size_name", name, `give inches and sixteenths, such as "2-4" (2 4/16 in, 57.15 mm), "2-10" or "3-0"`)
	text := strings.ReplaceAll(strings.TrimSpace(name), " ", "")
	whole, part, found := strings.Cut(text, "-")
	if !found {
		whole, part, found = strings.Cut(text, ".")
		decimal = found
	}
	if !found {
		part = "0"
	}
	w, errW := strconv.Atoi(whole)
	n, errN := strconv.Atoi(part)
	if errW != nil || errN != nil || w < 1 || w > 3 || n < 0 || n > 15 || strings.Trim(whole+part, "0123456789") != "" {
		return 0, false, refuse
	}
	return (float64(w) + float64(n)/16) * inch, decimal, nil
}

// NamedSize is a customary name near a bangle or cuff.
type NamedSize struct {
	Custom           string  `json:"custom" enum:"indian,western,cuff" doc:"Whose custom: Indian sixteenths of an inch by inside diameter, western letters by inside diameter, western cuffs by wrist"`
	Size             string  `json:"size" doc:"The name" example:"2-6"`
	InsideDiameterMM float64 `json:"inside_diameter_mm,omitempty" doc:"Inside diameter, or the middle of a band of them"`
	FromMM           float64 `json:"from_mm" doc:"Least inside diameter, or least wrist of a cuff, that goes by the name"`
	ToMM             float64 `json:"to_mm" doc:"Greatest inside diameter, or greatest wrist of a cuff"`
	OverMM           float64 `json:"over_mm" doc:"How far the named bangle's inside diameter exceeds this one's; of a cuff, 0"`
	StripMM          float64 `json:"strip_mm,omitempty" doc:"Usual strip for a cuff"`
	Fit              string  `json:"fit" enum:"nearest,next_up,other" doc:"nearest by diameter; next up where the nearest is smaller; other where all were asked for"`
}

// western closed bangles by inside diameter, mm.
var western = []struct {
	name   string
	lo, hi float64
}{{"baby", 38, 42}, {"toddler", 44, 48}, {"child", 50, 54}, {"S", 58, 60}, {"M", 62, 64}, {"L", 66, 68}, {"XL", 70, 73}}

// cuffs by wrist, inch, and the usual strip, inch.
var cuffs = []struct {
	name                  string
	lo, hi, strip, strip2 float64
}{{"child", 0, 5.25, 4.5, 5}, {"S", 5.375, 6.25, 5.25, 5.5}, {"M", 6.375, 7.25, 5.75, 6}, {"L", 7.375, 8, 6.25, 6.5}, {"XL", 8, 12, 6.75, 7}}

// named lists the customary sizes near an inside diameter, or for a cuff near a wrist.
func named(kind string, diameter, wrist float64, all bool) []NamedSize {
	if kind == CuffBangle {
		list := []NamedSize{}
		for i, c := range cuffs {
			// The bands leave eighths of an inch between them: those go to the larger size.
			at := wrist <= c.hi*inch+1e-9 && (i == 0 || wrist > cuffs[i-1].hi*inch+1e-9)
			if at || all {
				list = append(list, NamedSize{"cuff", c.name, 0, c.lo * inch, c.hi * inch, 0, (c.strip + c.strip2) / 2 * inch, fitName(at, false)})
			}
		}
		return list
	}
	var indian, letters []NamedSize
	for n := 16 + 8; n <= 3*16; n += 2 { // 1-8, a small child's, to 3-0
		d := float64(n) / 16 * inch
		name := strconv.Itoa(n/16) + "-" + strconv.Itoa(n%16)
		indian = append(indian, NamedSize{"indian", name, d, d, d, d - diameter, 0, ""})
	}
	for _, w := range western {
		d := (w.lo + w.hi) / 2
		over := 0.0
		if diameter < w.lo {
			over = w.lo - diameter
		} else if diameter > w.hi {
			over = w.hi - diameter
		}
		letters = append(letters, NamedSize{"western", w.name, d, w.lo, w.hi, over, 0, ""})
	}
	return append(choose(indian, all), choose(letters, all)...)
}

// choose keeps the nearest, and the next up where the nearest is smaller.
func choose(sizes []NamedSize, all bool) []NamedSize {
	near, up := 0, -1
	for i := range sizes {
		if math.Abs(sizes[i].OverMM) < 1e-9 { // a conversion there and back
			sizes[i].OverMM = 0
		}
	}
	for i, s := range sizes {
		if math.Abs(s.OverMM) < math.Abs(sizes[near].OverMM) {
			near = i
		}
		if up < 0 && s.OverMM >= 0 {
			up = i
		}
	}
	list := []NamedSize{}
	for i, s := range sizes {
		s.Fit = fitName(i == near, i == up)
		if all || s.Fit != "other" {
			list = append(list, s)
		}
	}
	return list
}

func fitName(nearest, up bool) string {
	switch {
	case nearest:
		return "nearest"
	case up:
		return "next_up"
	}
	return "other"
}
