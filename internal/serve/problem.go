package serve

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"unicode/utf8"

	"github.com/go-json-experiment/json"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

// Problem is a problem document (RFC 9457).
type Problem struct {
	Type        string         `json:"type,omitempty" doc:"Kind of problem, as a URI reference; absent for those that the status explains" format:"uri-reference"`
	Title       string         `json:"title" doc:"Short summary of the status" example:"Unprocessable Entity"`
	Status      int            `json:"status" doc:"HTTP status" example:"422"`
	Detail      string         `json:"detail" doc:"What is wrong, in a sentence"`
	Errors      []ProblemError `json:"errors,omitempty" doc:"Each thing that is wrong with the request"`
	Explanation map[string]any `json:"explanation,omitempty" doc:"What stands in the way and what would mend it, where the calculation can tell"`

	retryAfter int // seconds, for those that may pass
}

// ProblemError is one thing wrong with a request.
type ProblemError struct {
	Location string `json:"location" doc:"Path of the field, from body, query or path" example:"body.lots[2].fineness_permil"`
	Message  string `json:"message" doc:"What would be accepted" example:"give a number from 0 to 1000"`
	Value    any    `json:"value,omitempty" doc:"What was given, shortened"`
}

func (p *Problem) Error() string { return p.Detail }

// line is the problem as one short line for a spreadsheet cell.
func (p *Problem) line() string {
	if len(p.Errors) == 0 {
		return "! " + p.Detail
	}
	e := p.Errors[0]
	_, field, _ := strings.Cut(e.Location, ".")
	return fmt.Sprintf("! %s: %s", field, e.Message)
}

// problem makes a document whose detail may quote a caller, or a library that
// quotes one: JSON holds valid UTF-8 only.
func problem(status int, detail string, args ...any) *Problem {
	return &Problem{Title: http.StatusText(status), Status: status, Detail: strings.ToValidUTF8(fmt.Sprintf(detail, args...), "�")}
}

// problemOf gives an error its status; in is where the input came from, body
// or query. It is the only place that does.
func problemOf(err error, in string) *Problem {
	var p *Problem
	var refusal *calc.Refusal
	var unparsable *wire.Unparsable
	var notFinite *wire.NotFinite
	switch {
	case errors.As(err, &p):
		return p
	case errors.As(err, &refusal):
		return refused(refusal, in)
	case errors.As(err, &unparsable):
		return problem(http.StatusBadRequest, "%s", unparsable.Reason)
	case errors.As(err, &notFinite):
		return problem(http.StatusUnprocessableEntity, "these values have no finite answer; check that they describe something that can be built")
	}
	return problem(http.StatusInternalServerError, "the server could not answer; the fault is ours")
}

// maxShownName bounds the path of a field in a problem, in bytes: a caller's own
// name may stand in it.
const maxShownName = 200

func refused(r *calc.Refusal, in string) *Problem {
	p := problem(http.StatusUnprocessableEntity, "%s", r.Detail)
	p.Explanation = r.Explain
	for _, f := range r.Faults {
		at := in
		if f.Field == "pick" || f.Field == "format" {
			at = "query"
		}
		if f.Field != "" {
			at += "." + clip(f.Field, maxShownName)
		}
		p.Errors = append(p.Errors, ProblemError{at, strings.ToValidUTF8(f.Accepts, "�"), shorten(f.Value)})
	}
	if p.Detail == "" && len(r.Faults) == 1 {
		p.Detail = r.Faults[0].String()
	} else if p.Detail == "" {
		p.Detail = fmt.Sprintf("%d things in the request are not accepted", len(r.Faults))
	}
	p.Detail = clip(p.Detail, 400)
	return p
}

// shorten keeps a value fit to be shown: scalars only, and not too long.
func shorten(v any) any {
	switch v := v.(type) {
	case nil, bool, int, int64:
		return v
	case float64:
		if v != v || v > 1e300 || v < -1e300 {
			return fmt.Sprint(v)
		}
		return v
	}
	return clip(fmt.Sprint(v), 100)
}

func clip(s string, most int) string {
	s = strings.ToValidUTF8(s, "�")
	if len(s) <= most {
		return s
	}
	for !utf8.RuneStart(s[most]) {
		most--
	}
	return s[:most] + "…"
}

func encodeProblem(p *Problem) []byte {
	b, err := json.Marshal(p, json.Deterministic(true))
	if err != nil {
		p = problem(p.Status, "%s", p.Detail)
		b, _ = json.Marshal(p)
	}
	return b
}
