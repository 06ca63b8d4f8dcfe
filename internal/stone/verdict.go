package stone

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
// come from flasks at 400-570 °C that cool slowly with the stone inside. In
// cold oil-bonded clay there is practice only with small clean diamonds and
// natural sapphires; every other custom falls by one step.
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

func provenCold(id string) bool { return id == "diamond" || id == "sapphire" }

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
