package stone

import "pourwright/internal/calc"

// Verdict on casting a stone in place.
type Verdict string

// The verdicts, best first.
const (
	Proven     Verdict = "proven"               // clean, small, untreated, of a kind that has come out whole in this kind of mould
	Care       Verdict = "with_care"            // try a like stone first
	CannotTell Verdict = "cannot_tell_ask"      // something must be asked before anything can be said
	DoNot      Verdict = "do_not_cast_in_place" // set it afterwards
)

var verdictOrder = map[Verdict]int{Proven: 0, Care: 1, CannotTell: 2, DoNot: 3}

// Worse returns the worse of two verdicts.
func Worse(a, b Verdict) Verdict {
	if verdictOrder[b] > verdictOrder[a] {
		return b
	}
	return a
}

// inColdClay is the best verdict of a kind in clay poured cold. The customs
// come from flasks at 400-565 °C that cool slowly with the stone inside. In
// cold oil-bonded clay clean diamond, ruby and sapphire, grown in the ground or
// in a laboratory, are cast as a matter of course; every other custom falls by
// one step.
func inColdClay(id string, c Custom) Verdict {
	switch {
	case c == NotCast:
		return DoNot
	case c == CustomUnsure:
		return CannotTell
	case provenCold(id):
		return Proven
	}
	return Care
}

func provenCold(id string) bool { g := Gem{ID: id}; return g.diamond() || g.corundum() }

// Upper ends of what flasks are held at with stones inside, °C.
const (
	flaskBareC  = 455.0 // without boric acid in the investment
	flaskHardC  = 565.0 // with it, diamond and cubic zirconia
	flaskOtherC = 540.0 // with it, other stones
)

var srcFlask = calc.Source{For: "flask temperature with stones inside", Text: "investment makers and workshop reports: 400-430 and at most 455 °C without an additive; with 1-2 % boric acid 540-565 for diamond and cubic zirconia, 510-540 for others; a diamond frosted by 7 h at 566 without it", Status: calc.Confirmed}

// flaskMaxC is the highest flask temperature that is customary for a material.
func (g Gem) flaskMaxC(boricAcid bool) float64 {
	switch {
	case !boricAcid:
		return flaskBareC
	case g.diamond() || g.ID == "cz":
		return flaskHardC
	}
	return flaskOtherC
}

// preheated is the best verdict of a kind in a mould as hot as those the customs come from.
func preheated(c Custom) Verdict {
	switch c {
	case Customary:
		return Proven
	case WithCare:
		return Care
	case NotCast:
		return DoNot
	}
	return CannotTell
}

// AfterPour says how to cool and clean a casting with this stone in it.
func (g Gem) AfterPour() string {
	cool := "Never quench it: let the mould cool to hand warmth, then brush it under lukewarm water."
	switch g.Pickle {
	case pickleBears:
		return cool + " Warm pickle is borne by a whole stone; look for cracks first, and put it in and take it out at hand warmth."
	case pickleNot:
		return cool + " Keep it out of pickle and ultrasonic baths: clean the metal by brush and abrasive."
	}
	return cool + " Whether it bears pickle is not known: keep it out."
}
