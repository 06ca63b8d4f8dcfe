package serve

import (
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

// collection serves one catalogue: its list and its entries.
type collection struct {
	calc.Collection
	shape *wire.Shape
}

func (s *collection) list(c huma.Context) (reply, error) {
	e := endpoint{}
	ctx, o, pairs, err := e.query(c)
	if err != nil {
		return reply{}, err
	}
	filter, err := s.shape.ReadPairs(pairs)
	if err != nil {
		return reply{}, err
	}
	page, err := s.List(ctx, filter)
	if err != nil {
		return reply{}, err
	}
	return s.give(c, page, o)
}

func (s *collection) find(c huma.Context) (reply, error) {
	e := endpoint{}
	ctx, o, pairs, err := e.query(c)
	if err != nil {
		return reply{}, err
	}
	if len(pairs) > 0 {
		return reply{}, calc.Refuse(pairs[0].Name, pairs[0].Text, "no such parameter")
	}
	entry, err := s.Find(ctx, c.Param("id"))
	if err != nil {
		p := refusedAs(err, http.StatusNotFound)
		return reply{}, p
	}
	return s.give(c, entry, o)
}

func (s *collection) give(c huma.Context, v any, o options) (reply, error) {
	if o.pick != "" {
		t, err := wire.Pick(v, o.pick)
		return reply{mediaType: mediaText, body: []byte(t)}, err
	}
	if o.format != "" && o.format != "json" {
		return reply{}, calc.Refuse("format", o.format, "give json, or leave it out")
	}
	return jsonReply(v)
}

func refusedAs(err error, status int) error {
	p := problemOf(err, "path")
	if p.Status != http.StatusUnprocessableEntity {
		return p
	}
	p.Status, p.Title = status, http.StatusText(status)
	return p
}

// list describes the operation that gives the entries.
func (k *contract) list(op *huma.Operation, s *collection) {
	op.Description = describe(s.Info(), nil)
	for _, l := range s.shape.Leaves() {
		op.Parameters = append(op.Parameters, k.queryParam(l, l.Example))
	}
	op.Parameters = append(op.Parameters, k.pickParam(), k.errorsParam())
	op.Responses = k.responses("The entries. With pick, a field as text/plain.", jsonContent(k.output(s.Page())), 400, 422)
}

// find describes the operation that gives one.
func (k *contract) find(op *huma.Operation, s *collection) {
	op.Description = "The entry of that id; an id that is not known is answered with the nearest one."
	op.Parameters = []*huma.Param{
		{Name: "id", In: "path", Required: true, Description: "Id of the entry.", Schema: textSchema(), Example: s.AnyID()},
		k.pickParam(), k.errorsParam(),
	}
	op.Responses = k.responses("The entry. With pick, a field as text/plain.", jsonContent(k.output(s.Entry())), 400, 404, 422)
}
