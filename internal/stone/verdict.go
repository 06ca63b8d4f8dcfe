package stone

import (
	"pourwright/internal/calc"
	"pourwright/internal/verdict"
)

// The verdict on casting a stone in place is on the scale of package verdict:
//   - go: clean, small, untreated, of a kind that has come out whole in this kind of mould;
//   - care: try a like stone first;
//   - cannot_tell: something must be asked before anything can be said;
//   - do_not_pour: not with this stone in the mould; set it afterwards.

// inColdClay is the best verdict of a kind in clay poured cold. The customs
// come from flasks at 400-565 °C that cool slowly with the stone inside. In
// cold oil-bonded clay clean diamond, ruby and sapphire, grown in the ground or
// in a laboratory, are cast as a matter of course; every other custom falls by
// one step.
func inColdClay(id string, c Custom) verdict.Level {
	switch {
	case c == NotCast:
		return verdict.DoNotPour
	case c == CustomUnsure:
		return verdict.CannotTell
	case provenCold(id):
		return verdict.Go
	}
	return verdict.Care
}

func provenCold(id string) bool { g := Gem{ID: id}; return g.diamond() || g.corundum() }

// Upper ends of what flasks are held at with stones inside, °C.
const (
	flaskBareC  = 455.0 // without boric acid in the investment
	flaskHardC  = 565.0 // with it, diamond and cubic zirconia
	flaskOtherC = 540.0 // with it, other stones
)

var srcFlask = calc.Source{For: "flask temperature with stones inside", Text: "investment makers and workshop reports: 400-430 and at most 455 °C without an additive; with 1-2 % boric acid 540-565 for diamond and cubic zirconia, 510-540 for others; a diamond frosted by 7 h at 566 without it", Status: calc.Practice}

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
func preheated(c Custom) verdict.Level {
	switch c {
	case Customary:
		return verdict.Go
	case WithCare:
		return verdict.Care
	case NotCast:
		return verdict.DoNotPour
	}
	return verdict.CannotTell
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
