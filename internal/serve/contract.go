package serve

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
	"pourwright/internal/wire"
)

// contract builds the OpenAPI document: huma's operations, with the schemas
// that are given to them.
type contract struct {
	schemas
	api     *huma.OpenAPI
	answers map[string]json.RawMessage
}

const about = `Calculations for a studio that casts its clients' silver and gold, with their stones, in oil-bonded clay. Every answer carries its working, its cautions and its sources. Nothing is stored.

A number is a JSON number, or the same as decimal text: "0.95". Where its name ends in a unit, the text may carry a unit of the trade, for example _g: "2.5 ozt", "12 dwt", "10 ct"; _mm: "0.25 in", "14 B&S"; _mm2: "0.5 cm2"; _mm3: "2.4 ml"; _ct: "0.06 g"; _c: "1830 F"; _s: "2 min"; _min: "1.5 h"; _pct: "12 %"; _permil: "92.5 %". Money is answered as decimal text with the digits of its currency.

Fields that are not listed as required may be left out; what then holds is said in their descriptions. Every request can be answered with a problem (RFC 9457) that names the field, the value and what would be accepted. Besides JSON, answers come as CSV, as one value in plain text (pick=), and where it says so as pictures, prints and solids.`

func newContract(d *document, version string) *contract {
	k := &contract{schemas: schemas{old: version == "3.0"}, answers: d.answers}
	k.name(d.calculations, d.collections)
	registry := huma.NewMapRegistry(refPrefix, nil)
	k.made = registry.Map()
	k.api = &huma.OpenAPI{
		OpenAPI: "3.1.0",
		Info: &huma.Info{
			Title: "Pourwright", Version: d.version, Description: about,
			Contact: &huma.Contact{Name: "The Pourwright authors"},
			License: &huma.License{Name: "MIT", Identifier: "MIT"},
		},
		Servers: []*huma.Server{{URL: "/", Description: "This server."}},
		Components: &huma.Components{
			Schemas: registry, Responses: map[string]*huma.Response{}, Examples: map[string]*huma.Example{}, Parameters: map[string]*huma.Param{},
			SecuritySchemes: map[string]*huma.SecurityScheme{"key": {Type: "http", Scheme: "bearer", Description: "Where the server asks for one; it is open by default."}},
		},
		Security: []map[string][]string{{}, {"key": {}}},
	}
	if k.old {
		k.api.OpenAPI = "3.0.3"
		k.api.Info.License = &huma.License{Name: "MIT", URL: "https://spdx.org/licenses/MIT.html"}
	}
	k.problemResponses()
	return k
}

// responses are the answers of an operation: the success, and the problems it
// can meet. The success has one media type, so that a generated client has one
// type for it; other forms stand in its description.
func (k *contract) responses(description string, content map[string]*huma.MediaType, problems ...int) map[string]*huma.Response {
	r := map[string]*huma.Response{"200": {Description: description, Content: content}}
	for _, status := range append(problems, http.StatusUnauthorized, http.StatusTooManyRequests, http.StatusServiceUnavailable) {
		r[strconv.Itoa(status)] = &huma.Response{Ref: "#/components/responses/" + problemName(status)}
	}
	return r
}

func textSchema() *huma.Schema { return &huma.Schema{Type: huma.TypeString} }

// binarySchema is that of bytes, which 3.0 calls a format.
func (k *contract) binarySchema() *huma.Schema {
	if k.old {
		return &huma.Schema{Type: huma.TypeString, Extensions: map[string]any{"format": "binary"}}
	}
	return &huma.Schema{Type: huma.TypeString, Format: "binary"}
}

func jsonContent(s *huma.Schema) map[string]*huma.MediaType {
	return map[string]*huma.MediaType{mediaJSON: {Schema: s}}
}

// answer is the success of a calculation, with an example where it is light.
func (k *contract) answer(e *endpoint) (string, map[string]*huma.MediaType) {
	content := jsonContent(k.output(e.Out()))
	if ref := k.answerExample(e); ref != nil {
		content[mediaJSON].Examples = map[string]*huma.Example{"answer": ref}
	}
	forms := []string{"csv (" + mediaCSV + ")"}
	for _, f := range e.Formats() {
		forms = append(forms, f.Name+" ("+f.MediaType+")")
	}
	words := "The answer. With pick, a field of it as text/plain; with format or Accept, " + strings.Join(forms, ", ")
	if e.Info().Heavy {
		words += "; with Accept: " + mediaEvents + ", its progress as events"
	}
	return words + ".", content
}

func describe(i calc.Info, formats []calc.Format) string {
	d := sentence(i.Description)
	if d == "" {
		d = i.Summary + "."
	}
	for _, f := range formats {
		d += "\n\n`format=" + f.Name + "`: " + sentence(f.Summary)
	}
	return d
}

// shared puts a parameter among the components and returns a reference to it.
func (k *contract) shared(name string, p *huma.Param) *huma.Param {
	p.Schema.Description = ""
	k.api.Components.Parameters[name] = p
	return &huma.Param{Ref: "#/components/parameters/" + name}
}

// optionParams are the query parameters that say how to answer.
func (k *contract) optionParams(e *endpoint) []*huma.Param {
	formats, name := []any{"json", "csv"}, "format"
	for _, f := range e.Formats() {
		if f.Name != "csv" {
			formats, name = append(formats, f.Name), name+camel(f.Name)
		}
	}
	return []*huma.Param{
		k.pickParam(),
		k.shared(name, &huma.Param{Name: "format", In: "query", Description: "Form of the answer, for clients that cannot set Accept.", Schema: &huma.Schema{Type: huma.TypeString, Enum: formats}}),
		k.workingParam("working", "true"),
		k.errorsParam(),
	}
}

func (k *contract) pickParam() *huma.Param {
	return k.shared("pick", &huma.Param{Name: "pick", In: "query", Description: "Answer only these fields, as plain text, each on its line; nested ones with dots.", Schema: textSchema()})
}

func (k *contract) workingParam(name, fallback string) *huma.Param {
	return k.shared(name, &huma.Param{Name: "working", In: "query", Description: "Whether to show the working and its sources; " + fallback + " unless said.", Schema: &huma.Schema{Type: huma.TypeBoolean}})
}

func (k *contract) errorsParam() *huma.Param {
	return k.shared("errors", &huma.Param{Name: "errors", In: "query", Description: "text: answer a problem as 200 with one short line that begins with !, for spreadsheet cells.", Schema: &huma.Schema{Type: huma.TypeString, Enum: []any{"problem", "text"}}})
}

func (k *contract) rowFormatParam(e *endpoint) *huma.Param {
	names, name := []any{}, "rowsFormat"
	for _, f := range rowForms {
		if e.flat || f.mediaType != mediaXLSX {
			names = append(names, f.name)
		}
	}
	if e.flat {
		name += "Xlsx"
	}
	return k.shared(name, &huma.Param{Name: "format", In: "query", Description: "Form of the answer, for clients that cannot set Accept; the form of the body unless said. A workbook only comes out where one went in.", Schema: &huma.Schema{Type: huma.TypeString, Enum: names}})
}

func (k *contract) decimalParam() *huma.Param {
	return k.shared("decimal", &huma.Param{Name: "decimal", In: "query", Description: "Decimal mark of all numbers in a CSV table, there and back; point unless said. The mark between its columns is found in the header.", Schema: &huma.Schema{Type: huma.TypeString, Enum: []any{"point", "comma"}}})
}

func (k *contract) sheetParam() *huma.Param {
	return k.shared("sheet", &huma.Param{Name: "sheet", In: "query", Description: "Name of the workbook's sheet to read; the active one unless said.", Schema: textSchema()})
}

func operation(i calc.Info, id, method, path, summary string) huma.Operation {
	return huma.Operation{OperationID: id, Method: method, Path: path, Summary: summary, Tags: []string{i.Subject}}
}

// post describes the operation that takes one input.
func (k *contract) post(op *huma.Operation, e *endpoint) {
	i := e.Info()
	op.Description = describe(i, e.Formats())
	op.Parameters = k.optionParams(e)
	examples := map[string]*huma.Example{}
	for _, x := range e.Examples() {
		name := i.Name + "-" + x.Name
		k.api.Components.Examples[name] = &huma.Example{Summary: x.Summary, Value: parsed(x.JSON)}
		examples[x.Name] = exampleRef(name)
	}
	op.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{
		mediaJSON: {Schema: k.input(e.In()), Examples: examples},
	}}
	if e.shape.HasFile() {
		form := &huma.Schema{Type: huma.TypeObject, AdditionalProperties: true, Properties: map[string]*huma.Schema{}, Description: "The fields as texts, nested ones with dots, and the files."}
		for _, name := range e.shape.Files() {
			form.Properties[name] = k.binarySchema()
		}
		op.RequestBody.Content[mediaForm] = &huma.MediaType{Schema: form}
	}
	for _, r := range e.Readers() {
		op.RequestBody.Content[r.MediaType] = &huma.MediaType{Schema: k.binarySchema()}
	}
	words, content := k.answer(e)
	op.Responses = k.responses(words, content, 400, 406, 408, 413, 415, 422)
}

func exampleRef(name string) *huma.Example {
	return &huma.Example{Ref: "#/components/examples/" + name}
}

// get describes the operation that takes its input from a query.
func (k *contract) get(op *huma.Operation, e *endpoint) {
	i := e.Info()
	op.Description = describe(i, e.Formats())
	given, _ := parsed(e.Examples()[0].JSON).(map[string]any)
	for _, l := range e.shape.Leaves() {
		op.Parameters = append(op.Parameters, k.queryParam(l, at(given, l.Path)))
	}
	op.Parameters = append(op.Parameters, k.optionParams(e)...)
	words, content := k.answer(e)
	op.Responses = k.responses(words, content, 400, 406, 422)
}

// queryParam is a field of an input as a parameter of a query.
func (k *contract) queryParam(l *schema.Leaf, example any) *huma.Param {
	p := k.property(l.Field, true)
	param := &huma.Param{Name: l.Path, In: "query", Description: p.Description, Required: l.Required && l.Optional == nil, Schema: p, Example: example}
	p.Description, p.Examples = "", nil
	delete(p.Extensions, "example")
	if l.Kind == schema.List {
		param.Explode = new(bool) // one parameter, items parted by commas
	}
	return param
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
	i := e.Info()
	op.Description = "As many rows come back as were sent, in the same order, each an answer or a problem; one bad row never loses another."
	op.Parameters = []*huma.Param{k.workingParam("rowsWorking", "false"), k.errorsParam(), k.rowFormatParam(e)}
	first := parsed(e.Examples()[0].JSON)
	op.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{
		mediaJSON:   {Schema: &huma.Schema{Type: huma.TypeArray, Items: k.input(e.In())}, Examples: rowExample(e.Examples()[0].JSON, first)},
		mediaNDJSON: {Schema: &huma.Schema{Type: huma.TypeString, Description: "One object a line."}},
	}}
	forms := "ndjson (" + mediaNDJSON + "), csv (" + mediaCSV + "), with errors=text why the batch was refused, as text/plain"
	if e.flat {
		op.Parameters = append(op.Parameters, k.decimalParam(), k.sheetParam())
		op.RequestBody.Content[mediaCSV] = &huma.MediaType{Schema: textSchema(), Examples: map[string]*huma.Example{"table": {Summary: "A row under its header", Value: tableExample(e, first)}}}
		op.RequestBody.Content[mediaXLSX] = &huma.MediaType{Schema: k.binarySchema()}
		forms += ", xlsx (" + mediaXLSX + ")"
	}
	name := camel(i.Name) + "Row"
	k.made[name] = k.rowAnswer(e)
	row := &huma.Schema{Ref: refPrefix + name}
	op.Responses = k.responses("The rows in their order; with format or Accept, "+forms+".", jsonContent(&huma.Schema{Type: huma.TypeArray, Items: row}), 400, 406, 408, 413, 415, 422)
}

// shortRow is how long an example may be, in characters, to stand once more as a
// batch of one row: longer ones are told with their calculation alone.
const shortRow = 400

func rowExample(text string, row any) map[string]*huma.Example {
	if len(text) > shortRow {
		return nil
	}
	return map[string]*huma.Example{"rows": {Summary: "A batch of one row", Value: []any{row}}}
}

// tableExample is an example as a table of one row.
func tableExample(e *endpoint, example any) string {
	fields, _ := example.(map[string]any)
	var names, cells []string
	for _, l := range e.shape.Leaves() {
		if v := at(fields, l.Path); v != nil {
			names, cells = append(names, l.Path), append(cells, said(v, ";"))
		}
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	_ = w.WriteAll([][]string{names, cells}) // a Builder takes everything
	return b.String()
}

// said writes a value of a default or an example as it would be typed.
func said(v any, between string) string {
	switch v := v.(type) {
	case []any:
		texts := make([]string, len(v))
		for i := range v {
			texts[i] = said(v[i], between)
		}
		return strings.Join(texts, between)
	case float64:
		return wire.Number(v)
	}
	return fmt.Sprint(v)
}

// rowAnswer is the schema of RowAnswer with the calculation's own answer.
func (k *contract) rowAnswer(e *endpoint) *huma.Schema {
	o := &huma.Schema{Type: huma.TypeObject, Properties: map[string]*huma.Schema{}, Required: []string{"row"}}
	for _, f := range schema.For[RowAnswer]().Fields {
		o.Properties[f.Name] = k.property(f, false)
	}
	o.Properties["answer"] = k.output(e.Out())
	return o
}

func parsed(text string) any {
	var v any
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		panic("serve: an example is not JSON: " + err.Error())
	}
	return v
}
