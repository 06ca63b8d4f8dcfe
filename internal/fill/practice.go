package fill

import (
	_ "embed"
	"encoding/json"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// practiceRows is what the trade expects of a practised hand: common practice,
// no source. The prior takes them as tempered evidence, so they are no
// independent test of it.
//
//go:embed practice.json
var practiceRows []byte

// practiceRow is one expectation with a ready request a case.
type practiceRow struct {
	Row      string         `json:"row"`
	Family   string         `json:"family"` // rows of one family are evidence together
	Cases    []practiceCase `json:"cases"`
	Verdicts []string       `json:"verdicts"`
	Super    float64        `json:"superheat_k,omitempty"` // over the liquidus; the usual if absent
}

// practiceCase is a request and how many of its pours are expected to fail.
type practiceCase struct {
	Name    string          `json:"name"`
	Low     float64         `json:"low_pct"`
	High    float64         `json:"high_pct"`
	Expect  float64         `json:"expected_pct"` // what a maker would say when pressed for one figure
	Request json.RawMessage `json:"request"`
}

// practice reads the table.
func practice() (rows []practiceRow, err error) {
	return rows, json.Unmarshal(practiceRows, &rows)
}

// input is the case's request without improvements.
func (c *practiceCase) input(superheat float64) (In, error) {
	in := calc.Default[In]()
	if err := json.Unmarshal(c.Request, &in); err != nil {
		return in, err
	}
	if in.ThinSpot != nil && in.ThinSpot.AtPct == 0 {
		in.ThinSpot.AtPct = calc.Default[Thin]().AtPct
	}
	in.Improvements = false
	if superheat > 0 {
		m, err := metal.Named(in.Alloy)
		if err != nil {
			return in, err
		}
		in.PourC = ptr(m.LiquidusC() + superheat)
	}
	return in, nil
}
