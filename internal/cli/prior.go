package cli

import (
	"context"
	"encoding/json"
	"io"

	"pourwright/internal/fill"
)

// priorCommand writes the record of the prior of the fill to standard output:
// internal/fill/prior.json is made with it.
func priorCommand(ctx context.Context, _ []string, _ func(string) string, stdout, _ io.Writer) error {
	r, err := fill.MakePrior(ctx)
	if err != nil {
		return err
	}
	e := json.NewEncoder(stdout)
	e.SetIndent("", "  ")
	return e.Encode(r)
}
