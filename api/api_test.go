package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"

	"pourwright/api"
	"pourwright/internal/calc"
	"pourwright/internal/schema"
	"pourwright/internal/serve"
	"pourwright/internal/wire"
)

// One suite over every calculation: what the mechanism promises, each keeps.

var server = newServer()

func newServer() *serve.Server {
	if os.Getenv(role) != "" {
		return nil // a process of a load test: it is to weigh no more than the program
	}
	s, err := serve.New(patient(), suite(), api.Collections)
	if err != nil {
		panic(err)
	}
	return s
}

func send(method, target, contentType string, body []byte) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, target, bytes.NewReader(body))
	if contentType != "" {
		r.Header.Set("Content-Type", contentType)
	}
	w := httptest.NewRecorder()
	server.ServeHTTP(w, r)
	return w
}

func post(c calc.Calculation, body []byte) *httptest.ResponseRecorder {
	return send("POST", "/v1/"+c.Info().Name, "application/json", body)
}

func each(t *testing.T, f func(t *testing.T, c calc.Calculation)) {
	for _, c := range api.All {
		t.Run(c.Info().Name, func(t *testing.T) {
			t.Parallel()
			brief(t, c)
			f(t, c)
		})
	}
}

// slow are the calculations whose examples take seconds: a short run leaves them out.
var slow = map[string]bool{"pour-options": true, "classes": true, "calibrations": true, "test-pours": true, "fills": true}

func brief(t *testing.T, c calc.Calculation) {
	if testing.Short() && slow[c.Info().Name] {
		t.Skip("its example takes seconds")
	}
}

// schemas compiles the published schemas of a body of JSON, found by where the
// contract refers to them, so that answers are held against the contract as
// its readers see it.
func schemas(t *testing.T) (request, response func(method, path string) *jsonschema.Schema) {
	t.Helper()
	text, err := server.Contract("3.1", "json")
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	compiler := jsonschema.NewCompiler()
	require.NoError(t, compiler.AddResource("contract.json", doc))
	at := func(method, path string, steps ...string) *jsonschema.Schema {
		t.Helper()
		pointer := "contract.json#/paths/" + strings.ReplaceAll(path, "/", "~1") + "/" + method
		for _, step := range append(steps, "content", "application/json", "schema") {
			pointer += "/" + strings.ReplaceAll(step, "/", "~1")
		}
		s, err := compiler.Compile(pointer)
		require.NoError(t, err)
		return s
	}
	return func(method, path string) *jsonschema.Schema { return at(method, path, "requestBody") },
		func(method, path string) *jsonschema.Schema { return at(method, path, "responses", "200") }
}

func tree(t *testing.T, body []byte) any {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	require.NoError(t, err, "%s", body)
	return v
}

func TestExamplesSucceedAndTheirAnswersKeepTheContract(t *testing.T) {
	request, response := schemas(t)
	for _, c := range api.All {
		t.Run(c.Info().Name, func(t *testing.T) {
			brief(t, c)
			require.NotEmpty(t, c.Examples())
			in, out := request("post", "/v1/"+c.Info().Name), response("post", "/v1/"+c.Info().Name)
			for _, x := range c.Examples() {
				require.NoError(t, in.Validate(tree(t, []byte(x.JSON))), "the example %s breaks the contract", x.Name)
				w := post(c, []byte(x.JSON))
				require.Equal(t, http.StatusOK, w.Code, "%s: %s", x.Name, w.Body)
				require.NoError(t, out.Validate(tree(t, w.Body.Bytes())), "the answer to %s breaks the contract", x.Name)
			}
		})
	}
}

// TestSameInputSameAnswer asks the calculations themselves, not what the suite
// remembers of the heavy ones.
func TestSameInputSameAnswer(t *testing.T) {
	each(t, func(t *testing.T, c calc.Calculation) {
		if c.Info().Heavy && testing.Short() {
			t.Skip("works a heavy example out again")
		}
		in, err := wire.ShapeOf(c.In()).ReadJSON([]byte(c.Examples()[0].JSON))
		require.NoError(t, err)
		out, err := c.Run(t.Context(), in)
		require.NoError(t, err)
		again, err := wire.JSON(out)
		require.NoError(t, err)
		require.Equal(t, post(c, []byte(c.Examples()[0].JSON)).Body.String(), string(again))
	})
}

func TestAnswersCarryWorkingCautionsAndSources(t *testing.T) {
	each(t, func(t *testing.T, c calc.Calculation) {
		for i, x := range c.Examples() {
			w := post(c, []byte(x.JSON))
			require.Equal(t, http.StatusOK, w.Code, "%s: %s", x.Name, w.Body)
			var notes calc.Notes
			require.NoError(t, json.Unmarshal(w.Body.Bytes(), &notes))
			if i == 0 { // a later one may ask for less, as an exercise without its solution
				require.NotEmpty(t, notes.Working)
			}
			require.NotEmpty(t, notes.Sources)
			for _, s := range notes.Sources {
				require.NotEmpty(t, s.For)
				require.NotEmpty(t, s.Text)
				require.Contains(t, []calc.Status{calc.Confirmed, calc.Computed, calc.FromMemory, calc.Practice, calc.Choice, calc.YourInput}, s.Status)
				requireNamed(t, c.Info().Name+" "+x.Name, s)
			}
			checkCautions(t, c.Info().Name, w.Body.Bytes(), notes.Cautions)
		}
	})
}

func TestFormatsAreGiven(t *testing.T) {
	each(t, func(t *testing.T, c calc.Calculation) {
		for _, f := range c.Formats() {
			w := send("POST", "/v1/"+c.Info().Name+"?format="+f.Name, "application/json", []byte(c.Examples()[0].JSON))
			require.Equal(t, http.StatusOK, w.Code, "%s: %s", f.Name, w.Body)
			require.Contains(t, w.Header().Get("Content-Type"), f.MediaType)
			require.NotEmpty(t, w.Body.Bytes())
		}
		w := send("POST", "/v1/"+c.Info().Name+"?format=csv", "application/json", []byte(c.Examples()[0].JSON))
		require.Equal(t, http.StatusOK, w.Code, w.Body)
	})
}

func TestGetAndRowsAgreeWithPost(t *testing.T) {
	each(t, func(t *testing.T, c calc.Calculation) {
		// A calculation whose first example only a body can say has no GET form.
		flat := wire.ShapeOf(c.In()).Flat() && !isListed(c) && !bodyOnly(query(t, c.Examples()[0].JSON))
		for _, x := range c.Examples() {
			// Of a heavy one the answer that the suite has already.
			working := fmt.Sprintf("?working=%v", c.Info().Heavy)
			whole := send("POST", "/v1/"+c.Info().Name+working, "application/json", []byte(x.JSON))
			rows := send("POST", "/v1/"+c.Info().Name+"/rows"+working, "application/json", []byte("["+x.JSON+"]"))
			var answered []struct{ Answer json.RawMessage }
			require.NoError(t, json.Unmarshal(rows.Body.Bytes(), &answered), "%s", rows.Body)
			require.Equal(t, whole.Body.String(), string(answered[0].Answer))

			q := query(t, x.JSON)
			if !flat || bodyOnly(q) {
				continue
			}
			target := "/v1/" + c.Info().Name + "?" + q
			require.Less(t, len(target), 1900, "a spreadsheet's URL has 2,000 characters with its server")
			get := send("GET", target+strings.Replace(working, "?", "&", 1), "", nil)
			require.Equal(t, http.StatusOK, get.Code, get.Body)
			require.Equal(t, whole.Body.String(), get.Body.String())
		}
	})
}

func bodyOnly(query string) bool {
	return strings.Contains(query, "=nested") || strings.Contains(query, "_base64=")
}

// isListed reports whether GET of the calculation's name lists a catalogue.
func isListed(c calc.Calculation) bool {
	return slices.ContainsFunc(api.Collections, func(l calc.Collection) bool { return l.Info().Name == c.Info().Name })
}

func query(t *testing.T, body string) string {
	t.Helper()
	var fields map[string]any
	require.NoError(t, json.Unmarshal([]byte(body), &fields))
	q := url.Values{}
	var add func(prefix string, fields map[string]any)
	add = func(prefix string, fields map[string]any) {
		for name, v := range fields {
			switch v := v.(type) {
			case map[string]any:
				add(prefix+name+".", v)
			case []any:
				texts := []string{}
				for _, item := range v {
					if _, nested := item.(map[string]any); nested {
						q.Set(prefix+name, "nested")
					}
					texts = append(texts, fmt.Sprint(item))
				}
				if !q.Has(prefix + name) {
					q.Set(prefix+name, strings.Join(texts, ","))
				}
			case float64:
				q.Set(prefix+name, wire.Number(v))
			default:
				q.Set(prefix+name, fmt.Sprint(v))
			}
		}
	}
	add("", fields)
	return q.Encode()
}

func problemFields(t *testing.T, w *httptest.ResponseRecorder) []string {
	t.Helper()
	require.GreaterOrEqual(t, w.Code, 400, "%s", w.Body)
	require.Less(t, w.Code, 500, "%s", w.Body)
	require.Equal(t, "application/problem+json", w.Header().Get("Content-Type"))
	var p serve.Problem
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &p))
	require.NotEmpty(t, p.Title)
	require.NotEmpty(t, p.Detail)
	fields := []string{}
	for _, e := range p.Errors {
		require.NotEmpty(t, e.Message)
		fields = append(fields, strings.TrimPrefix(e.Location, "body."))
	}
	return fields
}

func TestEmptyBodiesAreRefused(t *testing.T) {
	each(t, func(t *testing.T, c calc.Calculation) {
		problemFields(t, post(c, nil))
		w := post(c, []byte(`{}`))
		if len(problemFieldsIfAny(t, w)) == 0 && w.Code != http.StatusOK {
			t.Fatalf("an empty object was refused without naming a field: %s", w.Body)
		}
	})
}

func problemFieldsIfAny(t *testing.T, w *httptest.ResponseRecorder) []string {
	if w.Code == http.StatusOK {
		return nil
	}
	return problemFields(t, w)
}

func TestUnknownFieldsAreRefusedByName(t *testing.T) {
	each(t, func(t *testing.T, c calc.Calculation) {
		var in map[string]any
		require.NoError(t, json.Unmarshal([]byte(c.Examples()[0].JSON), &in))
		in["no_such_field"] = 1
		body, _ := json.Marshal(in)
		require.Contains(t, problemFields(t, post(c, body)), "no_such_field")
	})
}

// mutate calls f with a body for each leaf of the example, that leaf replaced.
func mutate(t *testing.T, example string, replace func(leaf any) (any, bool), f func(path string, body []byte)) {
	t.Helper()
	var root any
	require.NoError(t, json.Unmarshal([]byte(example), &root))
	var walk func(v any, path string, set func(any))
	walk = func(v any, path string, set func(any)) {
		switch v := v.(type) {
		case map[string]any:
			for _, k := range slices.Sorted(maps.Keys(v)) {
				walk(v[k], strings.TrimPrefix(path+"."+k, "."), func(x any) { v[k] = x })
			}
		case []any:
			for i := range v {
				walk(v[i], fmt.Sprintf("%s[%d]", path, i), func(x any) { v[i] = x })
			}
		default:
			if bad, ok := replace(v); ok {
				set(bad)
				body, err := json.Marshal(root)
				require.NoError(t, err)
				f(path, body)
				set(v)
			}
		}
	}
	walk(root, "", nil)
}

func TestBadValuesAreRefusedByName(t *testing.T) {
	number := func(bad any) func(any) (any, bool) {
		return func(leaf any) (any, bool) { _, ok := leaf.(float64); return bad, ok }
	}
	each(t, func(t *testing.T, c calc.Calculation) {
		example := c.Examples()[0].JSON
		check := func(path string, body []byte) {
			fields := problemFields(t, post(c, body))
			require.Contains(t, fields, path, "%s", body)
		}
		mutate(t, example, number(-1e9), check)
		mutate(t, example, number(1e30), check)
		mutate(t, example, func(leaf any) (any, bool) { return []any{map[string]any{}}, true }, check)
		mutate(t, example, func(leaf any) (any, bool) { return nil, true }, check)
		mutate(t, example, func(leaf any) (any, bool) {
			if _, text := leaf.(string); text {
				return 12345, true
			}
			return "?", true
		}, check)
	})
}

func TestCollections(t *testing.T) {
	_, response := schemas(t)
	for _, c := range api.Collections {
		t.Run(c.Info().Name, func(t *testing.T) {
			w := send("GET", "/v1/"+c.Info().Name, "", nil)
			require.Equal(t, http.StatusOK, w.Code, w.Body)
			require.NoError(t, response("get", "/v1/"+c.Info().Name).Validate(tree(t, w.Body.Bytes())))
			var page struct{ Count int }
			require.NoError(t, json.Unmarshal(w.Body.Bytes(), &page))
			require.Positive(t, page.Count)

			w = send("GET", "/v1/"+c.Info().Name+"/"+c.AnyID(), "", nil)
			require.Equal(t, http.StatusOK, w.Code, w.Body)
			require.NoError(t, response("get", "/v1/"+c.Info().Name+"/{id}").Validate(tree(t, w.Body.Bytes())))

			w = send("GET", "/v1/"+c.Info().Name+"/"+c.AnyID()+"x", "", nil)
			require.Equal(t, http.StatusNotFound, w.Code, w.Body)
			require.Contains(t, w.Body.String(), c.AnyID(), "the nearest id is offered")
			w = send("GET", "/v1/"+c.Info().Name+"?no_such_filter=1", "", nil)
			require.Equal(t, http.StatusUnprocessableEntity, w.Code, w.Body)
		})
	}
}

// described holds every input and output: f is called once with each object.
func described(f func(t *schema.Type, in bool)) {
	seen := map[*schema.Type]bool{}
	var walk func(t *schema.Type, in bool)
	walk = func(t *schema.Type, in bool) {
		for t.Item != nil {
			t = t.Item
		}
		if t.Kind != schema.Object || seen[t] {
			return
		}
		seen[t] = true
		f(t, in)
		for _, field := range t.Fields {
			walk(field.Type, in)
		}
	}
	for _, c := range api.All {
		walk(schema.Of(c.In()), true)
	}
	for _, c := range api.Collections {
		walk(schema.Of(c.Filter()), true)
	}
	for _, c := range api.All {
		walk(schema.Of(c.Out()), false)
	}
	for _, c := range api.Collections {
		walk(schema.Of(c.Entry()), false)
	}
}

var slug = regexp.MustCompile(`^[a-z0-9]+(_[a-z0-9]+)*$`)

// TestTagsSayWhatIsAccepted holds every input and output to the conventions.
func TestTagsSayWhatIsAccepted(t *testing.T) {
	described(func(o *schema.Type, in bool) {
		for _, f := range o.Fields {
			at := o.Go.String() + "." + f.Name
			if f.Doc == "" {
				t.Errorf("%s has no doc", at)
			}
			for _, v := range f.Scalar().Enum {
				if !slug.MatchString(v) {
					t.Errorf("%s has the choice %q, of which clients cannot make a name", at, v)
				}
			}
			if !in {
				continue
			}
			if f.Kind == schema.Number && (math.IsInf(f.Min, 0) || math.IsInf(f.Max, 0)) {
				t.Errorf("%s needs a minimum and a maximum", at)
			}
			if f.Kind == schema.List && f.MaxLen == math.MaxInt {
				t.Errorf("%s needs maxItems", at)
			}
			if f.Kind == schema.Map && f.MaxLen == math.MaxInt {
				t.Errorf("%s needs maxProperties", at)
			}
		}
	})
}
