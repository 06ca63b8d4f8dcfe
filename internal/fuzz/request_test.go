package fuzz

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/url"
	"strconv"
	"strings"
)

// operation is one of the contract, as the generator needs it.
type operation struct {
	id, method, path string
	parameters       []object
	bodies           object // by media type
	responses        object // by status
	heavy            bool   // answers as events, too: costly
}

// request is what is sent.
type request struct {
	method, target, contentType, accept string
	body                                []byte
	rows                                int    // of a batch
	sheet                               *sheet // of a workbook
}

func (r request) String() string {
	body := string(r.body)
	if len(body) > 1500 {
		body = body[:1500] + "..."
	}
	return fmt.Sprintf("%s %s\nContent-Type: %s\nAccept: %s\n\n%s", r.method, r.target, r.contentType, r.accept, strconv.QuoteToGraphic(body))
}

// operations lists the operations in a fixed order.
func operations(contract object) []operation {
	var found []operation
	paths := contract["paths"].(object)
	for _, path := range sorted(paths) {
		for _, method := range sorted(paths[path].(object)) {
			op := paths[path].(object)[method].(object)
			o := operation{id: op["operationId"].(string), method: strings.ToUpper(method), path: path, responses: op["responses"].(object)}
			if list, ok := op["parameters"].([]any); ok {
				for _, p := range list {
					o.parameters = append(o.parameters, referred(contract, p.(object)))
				}
			}
			if body, ok := op["requestBody"].(object); ok {
				o.bodies = body["content"].(object)
			}
			o.heavy = strings.Contains(fmt.Sprint(op["responses"]), "text/event-stream")
			found = append(found, o)
		}
	}
	for i, o := range found { // the batches of heavy ones are heavy
		for _, other := range found {
			found[i].heavy = found[i].heavy || other.heavy && o.path == other.path+"/rows"
		}
	}
	return found
}

// referred is what a reference of the contract stands for; anything else itself.
func referred(contract, v object) object {
	ref, ok := v["$ref"].(string)
	if !ok {
		return v
	}
	for _, step := range strings.Split(strings.TrimPrefix(ref, "#/"), "/") {
		contract = contract[step].(object)
	}
	return contract
}

// spared is how many requests to a heavy operation are refused for a field
// that there is not, for each that is not: the answers cost too much.
const spared = 1000

// request makes one request to the operation.
func (g *generator) request(o operation) request {
	r := request{method: o.method, accept: g.accept(), rows: unknownRows}
	spare := o.heavy && g.IntN(spared) > 0
	query := url.Values{}
	path := o.path
	for _, p := range o.parameters {
		name := p["name"].(string)
		switch {
		case p["in"] == "path":
			path = strings.Replace(path, "{"+name+"}", url.PathEscape(g.word(p)), 1)
		case p["required"] == true && g.IntN(20) > 0, g.IntN(4) == 0:
			query.Set(name, g.word(p))
		}
	}
	g.options(query)
	if spare && o.bodies == nil {
		query.Set("no_such_field", "1")
	}
	r.target = path + "?" + query.Encode()
	if g.IntN(30) == 0 {
		r.target = path + "?" + pick(g, []string{"a;b", "%41=1&%41=2", "length_mm=1&length_mm=2", "pick=&pick=", "=", "&&&", "mass_g=1e999"})
	}
	if o.bodies != nil {
		g.body(o, spare, &r)
	}
	return r
}

func (g *generator) accept() string {
	return pick(g, []string{"", "", "", "", "*/*", "application/json", "text/csv", "text/html", "image/svg+xml;q=0.5, */*;q=0.1", "text/event-stream", "application/*", ";;;", "image/png", "q=1"})
}

// word is the text of a parameter.
func (g *generator) word(p object) string {
	if x, ok := p["example"]; ok && g.IntN(2) == 0 {
		return wordOf(x)
	}
	schema, _ := p["schema"].(object)
	name := p["name"].(string)
	if g.IntN(6) == 0 {
		return wordOf(pick(g, odd))
	}
	return wordOf(g.value(schema, name[strings.LastIndex(name, ".")+1:], 0))
}

func wordOf(v any) string {
	switch v := v.(type) {
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	case []any:
		words := make([]string, len(v))
		for i := range v {
			words[i] = wordOf(v[i])
		}
		return strings.Join(words, ",")
	}
	return fmt.Sprint(v)
}

// options sets the query's options, now and then to nonsense.
func (g *generator) options(query url.Values) {
	for _, o := range []struct {
		name   string
		values []string
	}{
		{"pick", []string{"working.0.value", "cautions", "cautions.0.code", "sources.0", "x", "", "..", "0", "mass_g", "pieces.0.name", "notes"}},
		{"format", []string{"json", "csv", "svg", "png", "pdf", "stl", "", "exe", "xlsx", "ndjson"}},
		{"working", []string{"true", "false", "perhaps"}},
		{"errors", []string{"text", "problem", "x"}},
		{"decimal", []string{"comma", "point", ","}},
	} {
		query.Del(o.name)
		if g.IntN(12) == 0 {
			query.Set(o.name, pick(g, o.values))
		}
	}
}

// body puts a body in one of the operation's media types into r.
func (g *generator) body(o operation, spare bool, r *request) {
	r.contentType = pick(g, sorted(o.bodies))
	if g.IntN(3) > 0 {
		r.contentType = "application/json"
	}
	media := o.bodies[r.contentType].(object)
	schema, _ := media["schema"].(object)
	switch r.contentType {
	case "application/json":
		r.body = g.document(media, schema, spare)
		if list := []json.RawMessage{}; json.Unmarshal(r.body, &list) == nil {
			r.rows = len(list)
		}
	case mediaNDJSON:
		rows := o.bodies["application/json"].(object)
		var lines []string
		for range g.IntN(4) {
			line, _ := json.Marshal(g.row(rows, spare))
			lines = append(lines, string(line))
		}
		r.body, r.rows = []byte(strings.Join(lines, pick(g, []string{"\n", "\n\n", "\r\n"}))), len(lines)
	case mediaCSV:
		r.body, r.rows = g.table(o, spare)
	case mediaXLSX:
		r.body, r.rows, r.sheet = g.book(o, spare)
	case mediaForm:
		r.contentType, r.body = g.form(o, spare)
	default:
		r.body = g.solid()
		if spare {
			r.target += "&no_such_field=1"
		}
	}
	if g.IntN(10) == 0 {
		r.body, r.rows, r.sheet = g.damage(r.body), unknownRows, nil
	}
	if g.IntN(50) == 0 {
		r.contentType = pick(g, []string{"", "text/plain", "application/json; charset=latin-1", "image/png", "application/json, x", ";"})
	}
}

func (g *generator) example(media object) any {
	examples, _ := media["examples"].(object)
	if len(examples) == 0 {
		return nil
	}
	x := resolve(g.contract, examples[pick(g, sorted(examples))].(object))
	return clone(x["value"])
}

// document is a JSON body: an example, one varied, one spoilt, or a new one.
func (g *generator) document(media, schema object, spare bool) []byte {
	v := g.example(media)
	if v == nil || g.IntN(4) == 0 {
		v = g.value(schema, "", 0)
	} else {
		v = g.vary(v, schema)
	}
	if g.IntN(3) == 0 {
		v = g.spoil(v, schema)
	}
	if list, ok := v.([]any); ok && len(list) > 4 {
		v = list[:4]
	}
	if spare {
		v = spoilt(v)
	}
	text, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return text
}

// spoilt adds a field that there is not, so that nothing is computed.
func spoilt(v any) any {
	switch v := v.(type) {
	case object:
		v["no_such_field"] = 1.0
	case []any:
		for i := range v {
			v[i] = spoilt(v[i])
		}
	}
	return v
}

// row is one element of a batch.
func (g *generator) row(media object, spare bool) any {
	list, _ := g.example(media).([]any)
	schema := resolve(g.contract, media["schema"].(object))["items"].(object)
	v := g.value(schema, "", 0)
	if len(list) > 0 && g.IntN(3) > 0 {
		v = g.vary(pick(g, list), schema)
	}
	if spare {
		v = spoilt(v)
	}
	return v
}

// newGenerator makes the generator of the request of that number: any one
// can be made again alone.
func newGenerator(contract object, known map[string][]any, seed uint64, number int) *generator {
	return &generator{rand.New(rand.NewPCG(seed, uint64(number))), contract, known}
}
