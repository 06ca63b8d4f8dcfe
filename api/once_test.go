package api_test

import (
	"context"
	"encoding/json"
	"sync"
	"time"

	"pourwright/api"
	"pourwright/internal/calc"
	"pourwright/internal/serve"
)

// remembered is a heavy calculation that works an input out once for all
// tests of the suite, which ask its examples in many forms. Whether it gives
// the same answer twice is asked of the calculation itself.
type remembered struct {
	calc.Calculation
	answers *sync.Map // of asked inputs, to func() (any, error)
}

// asked tells inputs apart, and whether the working is wanted.
type askedFor struct {
	input  string
	silent bool
}

func (r remembered) Run(ctx context.Context, in any) (any, error) {
	text, err := json.Marshal(in)
	if err != nil {
		return r.Calculation.Run(ctx, in)
	}
	notes := calc.Noting(ctx)
	notes.Step("probe", 0, "", "")
	answer, _ := r.answers.LoadOrStore(askedFor{string(text), notes.Working == nil}, sync.OnceValues(func() (any, error) {
		return r.Calculation.Run(context.WithoutCancel(ctx), in)
	}))
	return answer.(func() (any, error))()
}

// suite is api.All with its heavy calculations remembered.
func suite() []calc.Calculation {
	var all []calc.Calculation
	for _, c := range api.All {
		if c.Info().Heavy {
			c = remembered{c, new(sync.Map)}
		}
		all = append(all, c)
	}
	return all
}

// patient are settings under which no limit of time, rate or queue can turn a
// request away, however busy the machine.
func patient() serve.Settings {
	s := serve.DefaultSettings("test")
	s.RatePerMinute, s.HeavyQueue = 0, 1000
	s.LightTime, s.HeavyTime = time.Hour, time.Hour
	return s
}
