package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/yaml"
	"github.com/sourcegraph/conc/pool"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
	"pourwright/internal/wire"
)

// An answer is shown as an example in the contract if it is short: of a type of
// at most maxFields fields and one list of objects, so that longer ones need not
// be worked out, and of at most maxShown bytes.
const (
	maxFields = 30
	maxShown  = 1 << 10
)

// isShort reports whether answers of the type may be shown.
func isShort(out reflect.Type) bool {
	fields, lists := 0, 0
	var count func(t *schema.Type)
	count = func(t *schema.Type) {
		for _, f := range t.Fields {
			switch {
			case f.Kind == schema.Object:
				count(f.Type)
			case f.Kind != schema.List || f.Item.Kind != schema.Object:
				fields++
			case f.Name != "working" && f.Name != "cautions" && f.Name != "sources":
				lists++
				count(f.Item)
			}
		}
	}
	count(schema.Of(out))
	return fields <= maxFields && lists <= 1
}

// Contract returns the OpenAPI document, of version "3.1" or "3.0", as YAML or JSON.
func (s *Server) Contract(version, format string) ([]byte, error) {
	return s.contract.write(version, format)
}

// document is what the contract is written of: the operations, and what to say
// of each. The schemas are made for a writing and dropped after it: they weigh
// more than all else that a server holds, and most never need them.
type document struct {
	version      string
	calculations []calc.Calculation
	collections  []calc.Collection
	chapters     []chapter
	prepare      func() // writes and packs what is read first, so that nobody waits for it

	answering sync.Once
	answers   map[string]json.RawMessage // to the first example of each light calculation
	failed    error
}

type chapter struct {
	operation huma.Operation
	describe  func(*contract, *huma.Operation)
}

func (d *document) write(version, format string) ([]byte, error) {
	d.answering.Do(d.answer)
	if d.failed != nil {
		return nil, d.failed
	}
	k := newContract(d, version)
	for _, c := range d.chapters {
		op := c.operation
		c.describe(k, &op)
		k.api.AddOperation(&op)
	}
	k.tag()
	text, err := json.Marshal(k.api)
	if err != nil || format != "yaml" {
		return text, err
	}
	var b bytes.Buffer
	err = yaml.Convert(&b, bytes.NewReader(text))
	return b.Bytes(), err
}

// tag adds the headings that the operations stand under.
func (k *contract) tag() {
	subjects := map[string]bool{}
	for _, item := range k.api.Paths {
		for _, op := range []*huma.Operation{item.Get, item.Post} {
			if op != nil {
				for _, t := range op.Tags {
					subjects[t] = true
				}
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(subjects)) {
		k.api.Tags = append(k.api.Tags, &huma.Tag{Name: name, Description: "Calculations of " + strings.ToLower(name) + "."})
	}
}

// answer works the first examples out, side by side: the forms of the contract
// show the same ones.
func (d *document) answer() {
	found := make([]json.RawMessage, len(d.calculations))
	work := pool.New().WithErrors().WithMaxGoroutines(runtime.GOMAXPROCS(0))
	for i, c := range d.calculations {
		work.Go(func() (err error) {
			found[i], err = firstAnswer(c)
			return err
		})
	}
	d.failed = work.Wait()
	d.answers = map[string]json.RawMessage{}
	for i, c := range d.calculations {
		if found[i] != nil {
			d.answers[c.Info().Name] = found[i]
		}
	}
}

// firstAnswer is nil for a calculation that is heavy or answers at length.
func firstAnswer(c calc.Calculation) (json.RawMessage, error) {
	i, x := c.Info(), c.Examples()[0]
	if i.Heavy || !isShort(c.Out()) {
		return nil, nil
	}
	in, err := wire.ShapeOf(c.In()).ReadJSON([]byte(x.JSON))
	if err != nil {
		return nil, fmt.Errorf("the example %s of %s is refused: %w", x.Name, i.Name, err)
	}
	out, err := c.Run(calc.Brief(context.Background()), in)
	if err != nil {
		return nil, fmt.Errorf("the example %s of %s fails: %w", x.Name, i.Name, err)
	}
	text, err := wire.JSON(out)
	if err != nil || len(text) > maxShown {
		return nil, err
	}
	return text, nil
}

// answerExample is the answer to the first example of a calculation as an
// example of its own; nil where there is none.
func (k *contract) answerExample(e *endpoint) *huma.Example {
	answer := k.answers[e.Info().Name]
	if answer == nil {
		return nil
	}
	name := e.Info().Name + "-answer"
	k.api.Components.Examples[name] = &huma.Example{Summary: e.Examples()[0].Summary, Value: answer}
	return exampleRef(name)
}

// problemResponses are the responses that operations share, one for each
// status, with an example.
func (k *contract) problemResponses() {
	doc := k.output(reflect.TypeFor[Problem]())
	examples := map[int]*Problem{}
	for _, status := range []int{400, 401, 404, 406, 408, 413, 415, 422, 429, 503} {
		examples[status] = problem(status, "%s", problemDetails[status])
	}
	examples[422].Errors = []ProblemError{{"body.mass_g", `give a number of at least 0 in g, or a text with a unit such as "2.5 ozt"`, -1}}
	for status, example := range examples {
		r := &huma.Response{
			Description: http.StatusText(status) + ".",
			Content: map[string]*huma.MediaType{mediaProblem: {
				Schema:   doc,
				Examples: map[string]*huma.Example{"problem": {Summary: http.StatusText(status), Value: parsed(string(encodeProblem(example)))}},
			}},
		}
		if status == http.StatusTooManyRequests || status == http.StatusServiceUnavailable {
			r.Headers = map[string]*huma.Param{"Retry-After": {Description: "Seconds to wait.", Schema: &huma.Schema{Type: huma.TypeInteger, Format: "int32"}}}
		}
		k.api.Components.Responses[problemName(status)] = r
	}
}

// problemName is the name of a shared response: the status without spaces.
func problemName(status int) string {
	return strings.ReplaceAll(http.StatusText(status), " ", "")
}

var problemDetails = map[int]string{
	400: "not JSON: the text ends too early",
	401: "send a key of this server as Authorization: Bearer",
	404: `id: "silver-952" refused; did you mean silver-925?`,
	406: `none of "image/gif" is offered; ask for application/json, text/csv`,
	408: "the body came too slowly: 70000 bytes, when there was no more time",
	413: "the body is larger than 1048576 bytes",
	415: `send application/json (with curl: --json), not "text/plain"`,
	422: `mass_g: -1 refused; give a number of at least 0 in g, or a text with a unit such as "2.5 ozt"`,
	429: "more than 1200 requests in a minute from one client; ask again in 3 s, or send many rows at once to /rows",
	503: "16 requests wait for a place among heavy calculations already, as many as may; nothing was begun; try again in 34 s",
}
