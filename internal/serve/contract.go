package serve

import (
	"encoding/csv"
	"fmt"
	"maps"
	"net/http"
	"path"
	"reflect"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/go-json-experiment/json"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
	"pourwright/internal/unit"
	"pourwright/internal/wire"
)

const refPrefix = "#/components/schemas/"

// contract builds the OpenAPI document. Inputs and outputs
// have registries of their own, since a type that is read (with optional
// fields) and one that is written (with all of them) differ in the contract.
type contract struct {
	api     *huma.OpenAPI
	in, out huma.Registry
	shown   []shown
}

var problemType = reflect.TypeFor[Problem]()

func newContract(version string) *contract {
	k := &contract{
		in:  huma.NewMapRegistry(refPrefix, unique(inputName)),
		out: huma.NewMapRegistry(refPrefix, unique(outputName)),
	}
	k.api = &huma.OpenAPI{
		OpenAPI: "3.1.0",
		Info: &huma.Info{
			Title: "Pourwright", Version: version,
			Description: "Calculations for a studio that casts its clients' silver and gold, with their stones, in oil-bonded clay. Every answer carries its working, its cautions and its sources. Nothing is stored.",
			Contact:     &huma.Contact{Name: "The Pourwright authors"},
			License:     &huma.License{Name: "MIT", Identifier: "MIT"},
		},
		Servers: []*huma.Server{{URL: "/", Description: "This server"}},
		Components: &huma.Components{
			Schemas: k.out, Responses: map[string]*huma.Response{}, Examples: map[string]*huma.Example{},
			SecuritySchemes: map[string]*huma.SecurityScheme{"key": {Type: "http", Scheme: "bearer", Description: "Where the server asks for one; it is open by default"}},
		},
		Security: []map[string][]string{{}, {"key": {}}},
	}
	k.problemResponses()
	return k
}

// schemaName is the package and the type's name, so that types need not have
// names that no other package has taken: fill.In is FillIn.
func schemaName(t reflect.Type, hint string) string {
	name := huma.DefaultSchemaNamer(t, hint)
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	home := path.Base(t.PkgPath())
	if t.Kind() != reflect.Struct || home == "." || strings.Contains(t.Name(), "[") || strings.HasPrefix(strings.ToLower(name), home) {
		return name
	}
	return strings.ToUpper(home[:1]) + home[1:] + name
}

// inputName names the schema of a type that is read: it ends in In.
func inputName(t reflect.Type, hint string) string {
	name := schemaName(t, hint)
	if strings.HasSuffix(name, "In") {
		return name
	}
	return name + "In"
}

// outputName names the schema of a type that is written; an input that is
// given back has the name that inputs leave free.
func outputName(t reflect.Type, hint string) string {
	name := schemaName(t, hint)
	if strings.HasSuffix(name, "In") {
		return name + "GivenBack"
	}
	return name
}

// unique puts the package in front of a name that another package has taken.
func unique(namer func(reflect.Type, string) string) func(reflect.Type, string) string {
	taken := map[string]reflect.Type{}
	return func(t reflect.Type, hint string) string {
		name := namer(t, hint)
		if t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			return name
		}
		if other, ok := taken[name]; ok && other != t {
			home := path.Base(t.PkgPath())
			name = strings.ToUpper(home[:1]) + home[1:] + name
		}
		taken[name] = t
		return name
	}
}

// input returns a reference to the schema of an input type.
func (k *contract) input(t reflect.Type) *huma.Schema {
	ref := k.in.Schema(t, true, "")
	for name, s := range k.in.Map() {
		if _, done := k.out.Map()[name]; done {
			continue
		}
		k.refine(k.in.TypeFromRef(refPrefix+name), s)
		k.out.Map()[name] = s
	}
	return ref
}

// refine makes an input's schema say what its shape accepts.
func (k *contract) refine(t reflect.Type, s *huma.Schema) {
	s.Required = nil
	for _, f := range schema.Of(t).Fields {
		if f.Required {
			s.Required = append(s.Required, f.Name)
		}
		p := s.Properties[f.Name]
		p.Nullable = false
		if p.Type == huma.TypeNumber {
			p.Format = ""
			if _, example, ok := unit.Of(f.Name); ok {
				p.Description = strings.TrimSpace(p.Description + " Also accepted as text with a unit of the trade, such as " + strconv.Quote(example) + ".")
			}
		}
	}
}

// output returns a reference to the schema of an output type.
func (k *contract) output(t reflect.Type) *huma.Schema { return k.out.Schema(t, true, "") }

// responses are the answers of an operation: the success in its media types,
// and the problems it can meet.
func (k *contract) responses(description string, content map[string]*huma.MediaType, problems ...int) map[string]*huma.Response {
	r := map[string]*huma.Response{"200": {Description: description, Content: content}}
	for _, status := range append(problems, http.StatusUnauthorized, http.StatusTooManyRequests, http.StatusServiceUnavailable) {
		r[strconv.Itoa(status)] = &huma.Response{Ref: "#/components/responses/" + problemName(status)}
	}
	return r
}

func textSchema() *huma.Schema   { return &huma.Schema{Type: huma.TypeString} }
func binarySchema() *huma.Schema { return &huma.Schema{Type: huma.TypeString, Format: "binary"} }

// answers lists what a calculation's answer can be given in.
func (k *contract) answers(e *endpoint) map[string]*huma.MediaType {
	content := map[string]*huma.MediaType{
		mediaJSON: {Schema: k.output(e.Out())},
		mediaCSV:  {Schema: textSchema()},
		mediaText: {Schema: textSchema()},
	}
	k.shown = append(k.shown, shown{endpoint: e, media: content[mediaJSON]})
	for _, f := range e.Formats() {
		schema := binarySchema()
		if strings.HasPrefix(f.MediaType, "text/") || strings.HasSuffix(f.MediaType, "xml") {
			schema = textSchema()
		}
		content[f.MediaType] = &huma.MediaType{Schema: schema}
	}
	if e.Info().Heavy {
		content[mediaEvents] = &huma.MediaType{Schema: textSchema()}
	}
	return content
}

func describe(i calc.Info, formats []calc.Format) string {
	d := i.Description
	if d == "" {
		d = i.Summary + "."
	}
	for _, f := range formats {
		d += "\n\n`format=" + f.Name + "`: " + f.Summary
	}
	return d
}

// optionParams are the query parameters that say how to answer.
func optionParams(e *endpoint) []*huma.Param {
	formats := []any{"json", "csv"}
	for _, f := range e.Formats() {
		if f.Name != "csv" {
			formats = append(formats, f.Name)
		}
	}
	return []*huma.Param{
		{Name: "pick", In: "query", Description: "Answer only this field, as plain text; nested ones with dots", Schema: textSchema()},
		{Name: "format", In: "query", Description: "Form of the answer, for clients that cannot set Accept", Schema: &huma.Schema{Type: huma.TypeString, Enum: formats}},
		workingParam("true"),
		errorsParam(),
	}
}

func workingParam(fallback string) *huma.Param {
	return &huma.Param{Name: "working", In: "query", Description: "Whether to show the working; " + fallback + " unless said", Schema: &huma.Schema{Type: huma.TypeBoolean}}
}

func errorsParam() *huma.Param {
	return &huma.Param{Name: "errors", In: "query", Description: "text: answer a problem as 200 with one short line that begins with !, for spreadsheet cells", Schema: &huma.Schema{Type: huma.TypeString, Enum: []any{"problem", "text"}}}
}

func operation(i calc.Info, id, method, path, summary string) huma.Operation {
	return huma.Operation{OperationID: id, Method: method, Path: path, Summary: summary, Tags: []string{i.Subject}}
}

// post describes the operation that takes one input.
func (k *contract) post(op *huma.Operation, e *endpoint) {
	i := e.Info()
	op.Description = describe(i, e.Formats())
	op.Parameters = optionParams(e)
	examples := map[string]*huma.Example{}
	for _, x := range e.Examples() {
		examples[x.Name] = &huma.Example{Summary: x.Summary, Value: parsed(x.JSON)}
	}
	op.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{
		mediaJSON: {Schema: k.input(e.In()), Examples: examples},
	}}
	if e.shape.HasFile() {
		form := &huma.Schema{Type: huma.TypeObject, AdditionalProperties: true, Properties: map[string]*huma.Schema{}, Description: "The fields as texts, nested ones with dots, and the files"}
		for _, name := range e.shape.Files() {
			form.Properties[name] = binarySchema()
		}
		op.RequestBody.Content[mediaForm] = &huma.MediaType{Schema: form}
	}
	for _, r := range e.Readers() {
		op.RequestBody.Content[r.MediaType] = &huma.MediaType{Schema: binarySchema()}
	}
	op.Responses = k.responses("The answer", k.answers(e), 400, 406, 413, 415, 422)
}

// get describes the operation that takes its input from a query.
func (k *contract) get(op *huma.Operation, e *endpoint) {
	i := e.Info()
	op.Description = describe(i, e.Formats())
	given, _ := parsed(e.Examples()[0].JSON).(map[string]any)
	for _, f := range e.shape.Leaves() {
		p, example := k.property(k.input(e.In()), f.Path), at(given, f.Path)
		param := &huma.Param{Name: f.Path, In: "query", Description: p.Description, Required: f.Required && f.Optional == nil, Schema: p, Example: example}
		if p.Type == huma.TypeArray {
			param.Explode = new(bool) // one parameter, items parted by commas
		}
		op.Parameters = append(op.Parameters, param)
	}
	op.Parameters = append(op.Parameters, optionParams(e)...)
	op.Responses = k.responses("The answer", k.answers(e), 400, 406, 422)
}

// property follows a dotted name through the schemas of an input.
func (k *contract) property(s *huma.Schema, name string) *huma.Schema {
	for step := range strings.SplitSeq(name, ".") {
		for s.Ref != "" {
			s = k.in.SchemaFromRef(s.Ref)
		}
		s = s.Properties[step]
	}
	return s
}

// at follows a dotted name into an example; nil where it has no such field.
func at(example map[string]any, name string) any {
	var v any = example
	for step := range strings.SplitSeq(name, ".") {
		m, ok := v.(map[string]any)
		if !ok {
			return nil
		}
		v = m[step]
	}
	return v
}

// rows describes the operation that takes many.
func (k *contract) rows(op *huma.Operation, e *endpoint) {
	op.Description = "As many rows come back as were sent, in the same order, each an answer or a problem; one bad row never loses another."
	op.Parameters = []*huma.Param{workingParam("false"), errorsParam(), rowFormatParam(e)}
	if e.flat {
		op.Parameters = append(op.Parameters, decimalParam())
	}
	list := &huma.Schema{Type: huma.TypeArray, Items: k.input(e.In())}
	values := make([]any, 0, len(e.Examples()))
	lines := ""
	for _, x := range e.Examples() {
		v := parsed(x.JSON)
		values = append(values, v)
		line, _ := json.Marshal(v, json.Deterministic(true))
		lines += string(line) + "\n"
	}
	op.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{
		mediaJSON:   {Schema: list, Examples: map[string]*huma.Example{"rows": {Summary: "The examples as a batch", Value: values}}},
		mediaNDJSON: {Schema: textSchema(), Examples: map[string]*huma.Example{"lines": {Summary: "One object a line", Value: lines}}},
	}}
	content := map[string]*huma.MediaType{
		mediaJSON:   {Schema: &huma.Schema{Type: huma.TypeArray, Items: k.rowAnswer(e)}},
		mediaNDJSON: {Schema: textSchema()},
		mediaCSV:    {Schema: textSchema()},
		mediaText:   {Schema: textSchema()},
	}
	k.shown = append(k.shown, shown{endpoint: e, media: content[mediaJSON], rows: true})
	if e.flat {
		op.RequestBody.Content[mediaCSV] = &huma.MediaType{Schema: textSchema(), Examples: map[string]*huma.Example{"table": {Summary: "A row under its header", Value: tableExample(e, values[0])}}}
		op.RequestBody.Content[mediaXLSX] = &huma.MediaType{Schema: binarySchema()}
		content[mediaXLSX] = &huma.MediaType{Schema: binarySchema()}
	}
	op.Responses = k.responses("The rows in their order", content, 400, 406, 413, 415, 422)
}

// tableExample is an example as a table of one row.
func tableExample(e *endpoint, example any) string {
	fields, _ := example.(map[string]any)
	var names, cells []string
	for _, f := range e.shape.Leaves() {
		switch v := at(fields, f.Path).(type) {
		case nil:
		case []any:
			texts := make([]string, len(v))
			for i := range v {
				texts[i] = fmt.Sprint(v[i])
			}
			names, cells = append(names, f.Path), append(cells, strings.Join(texts, ";"))
		case float64:
			names, cells = append(names, f.Path), append(cells, wire.Number(v))
		default:
			names, cells = append(names, f.Path), append(cells, fmt.Sprint(v))
		}
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	_ = w.WriteAll([][]string{names, cells}) // a Builder takes everything
	return b.String()
}

func rowFormatParam(e *endpoint) *huma.Param {
	names := []any{}
	for _, f := range rowForms {
		if e.flat || f.mediaType != mediaXLSX {
			names = append(names, f.name)
		}
	}
	return &huma.Param{Name: "format", In: "query", Description: "Form of the answer, for clients that cannot set Accept; the form of the body unless said. A workbook only comes out where one went in", Schema: &huma.Schema{Type: huma.TypeString, Enum: names}}
}

func decimalParam() *huma.Param {
	return &huma.Param{Name: "decimal", In: "query", Description: "Decimal mark of all numbers in a CSV table, there and back; point unless said. The mark between its columns is found in the header", Schema: &huma.Schema{Type: huma.TypeString, Enum: []any{"point", "comma"}}}
}

// rowAnswer is the schema of RowAnswer with the calculation's own answer.
func (k *contract) rowAnswer(e *endpoint) *huma.Schema {
	s := *k.out.Schema(reflect.TypeFor[RowAnswer](), false, "")
	s.Properties = maps.Clone(s.Properties)
	s.Properties["answer"] = k.output(e.Out())
	return &s
}

func parsed(text string) any {
	var v any
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		panic("serve: an example is not JSON: " + err.Error())
	}
	return v
}
