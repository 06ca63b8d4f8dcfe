package web

import (
	"fmt"
	"html/template"
	"strings"

	"pourwright/internal/commission"
	"pourwright/internal/exercise"
	"pourwright/internal/metal"
	"pourwright/internal/schema"
	"pourwright/internal/stone"
)

// about is what the tags of an input say of one field.
type about struct {
	Name, Label, Unit, Hint, Default string
	Options                          []option
	Optional                         bool // has a blank choice
	Number                           bool
}

type option struct{ Value, Text string }

// find follows a path such as "pieces[].head.thickness_mm" through the
// description of an order. It panics on a name that is none: a mistake in the
// page.
func find(path, label string) about {
	t := schema.For[commission.In]()
	var f *schema.Field
	for step := range strings.SplitSeq(strings.ReplaceAll(path, "[]", ""), ".") {
		if f = t.Field(step); f == nil {
			panic("web: an order has no " + path)
		}
		t = f.Scalar()
	}
	name := path[strings.LastIndex(path, "[].")+1:]
	name = strings.TrimPrefix(name, "].")
	a := about{Name: name, Label: label, Unit: unitOf(name), Hint: f.Doc, Optional: f.OmitEmpty, Number: t.Kind <= schema.Integer}
	if f.Default != nil {
		a.Default = fmt.Sprint(f.Default)
	}
	switch {
	case strings.HasSuffix(path, "gem"):
		a.Options = gems()
	case path == "alloy":
		a.Options = alloys()
	case path == "lots[].alloy":
		a.Options = alloys()
	default:
		a.Options = choicesOf(t)
	}
	return a
}

func choicesOf(t *schema.Type) (list []option) {
	for _, v := range t.Enum {
		list = append(list, option{v, words(v)})
	}
	return list
}

// units by the ending of a name.
var units = []struct{ ending, unit string }{
	{"_mm", "mm"}, {"_permil", "‰"}, {"_pct", "%"}, {"_ct", "ct"}, {"_kw", "kW"}, {"_min", "minutes"}, {"_g", "g"}, {"_c", "°C"}, {"_s", "s"},
	{"price_per_gram", "per g"}, {"price_per_kg", "per kg"},
}

func unitOf(name string) string {
	for _, u := range units {
		if strings.HasSuffix(name, u.ending) {
			return u.unit
		}
	}
	return ""
}

// trade are the words for values whose names alone would not do.
var trade = map[string]string{
	"us": "US and Canada", "uk": "UK and Ireland", "japan": "Japan", "circumference": "Circumference, mm (ISO 8653)",
	"diameter": "Inside diameter, mm", "continental": "Continental (circumference less 40)", "swiss": "Swiss", "italian": "Italian", "spanish": "Spanish", "indian": "Indian", "hong_kong": "Hong Kong", "d": "D, low dome",
	"least_bought": "Buy the least", "least_cost": "Cost the least", "most_client": "Use the most of the client's", "least_change": "Change the metal least",
	"xray": "X-ray", "whole_or_none": "Whole or not at all", "part": "Any part of it", "lab": "Laboratory-grown",
	"not_looked": "Not looked at yet", "not_known": "Not known", "work": "The work only", "all": "All costs",
	"inclusive": "With tax", "exclusive": "Before tax", "a4": "A4", "letter": "Letter",
}

func words(value string) string {
	if w := trade[value]; w != "" {
		return w
	}
	w := strings.ReplaceAll(value, "_", " ")
	return strings.ToUpper(w[:1]) + w[1:]
}

func gems() (list []option) {
	all, err := stone.List(stone.GemFilter{})
	if err != nil {
		panic("web: " + err.Error())
	}
	for _, g := range all {
		list = append(list, option{g.ID, g.Name})
	}
	return list
}

func alloys() (list []option) {
	all, err := metal.List(metal.AlloyFilter{})
	if err != nil {
		panic("web: " + err.Error())
	}
	for _, a := range all {
		if a.Metal == "silver" || a.Metal == "gold" {
			list = append(list, option{a.ID, a.Name})
		}
	}
	return list
}

var frame = template.Must(template.New("field").Parse(`<div class="f" data-f="{{.Name}}"><label>{{.Label}}{{with .Unit}} <span class="u">{{.}}</span>{{end}}</label>` +
	`{{if .Options}}<select data-default="{{.Default}}">{{if .Optional}}<option value="">–</option>{{end}}{{$d := .Default}}{{range .Options}}<option value="{{.Value}}"{{if eq .Value $d}} selected{{end}}>{{.Text}}</option>{{end}}</select>` +
	`{{else}}<input type="text" autocomplete="off"{{if .Number}} inputmode="decimal" data-number{{end}} placeholder="{{or .Default " "}}">{{end}}` +
	`<p class="hint">{{.Hint}}</p><p class="bad"></p></div>`))

// field is a labelled entry of the order.
func field(path, label string) template.HTML { return render(frame, find(path, label)) }

var tickbox = template.Must(template.New("tick").Parse(`<div class="f tick" data-f="{{.Name}}"><input type="checkbox"><label>{{.Label}}</label><p class="hint">{{.Hint}}</p><p class="bad"></p></div>`))

// tick is a box to tick.
func tick(path, label string) template.HTML { return render(tickbox, find(path, label)) }

var group = template.Must(template.New("many").Parse(`<details class="many" data-f="{{.Name}}"><summary>{{.Label}} <span class="picked"></span></summary><fieldset><legend>{{.Label}}</legend><p class="hint">{{.Hint}}</p>` +
	`{{range .Options}}<label><input type="checkbox" value="{{.Value}}"> {{.Text}}</label>{{end}}</fieldset><p class="bad"></p></details>`))

// choices are boxes of which any number may be ticked.
func choices(path, label string) template.HTML { return render(group, find(path, label)) }

func render(t *template.Template, a about) template.HTML {
	var b strings.Builder
	if err := t.Execute(&b, a); err != nil {
		panic(fmt.Sprintf("web: %s: %v", a.Name, err))
	}
	return template.HTML(b.String()) // made by html/template
}

// topics are the subjects of practice.
func topics() []option { return choicesOf(schema.For[exercise.In]().Field("topic").Type) }
