package serve

import (
	"context"
	"math"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

type toyIn struct {
	LengthMM float64 `json:"length_mm" minimum:"0" maximum:"1000" doc:"Length"`
	WidthMM  float64 `json:"width_mm" minimum:"0" maximum:"1000" default:"2" doc:"Width"`
	Name     string  `json:"name,omitempty" maxLength:"20" doc:"Name"`
}

type toyOut struct {
	AreaMM2 float64 `json:"area_mm2" doc:"Area"`
	Label   string  `json:"label" doc:"Label"`
	calc.Notes
}

func toyArea(ctx context.Context, in toyIn) (toyOut, error) {
	switch in.Name {
	case "nan":
		return toyOut{AreaMM2: math.NaN(), Notes: calc.Noting(ctx)}, nil
	case "panic":
		panic("toy")
	case "refuse":
		return toyOut{}, &calc.Refusal{Detail: "no", Faults: []calc.Fault{{Field: "name", Value: in.Name, Accepts: "give another"}}, Explain: map[string]any{"nearest": 3}}
	}
	out := toyOut{AreaMM2: in.LengthMM * in.WidthMM, Label: in.Name, Notes: calc.Noting(ctx)}
	out.Step("area", out.AreaMM2, "mm²", "%g × %g", in.LengthMM, in.WidthMM)
	out.Cite(calc.Source{For: "area", Text: "Euclid", Status: calc.Confirmed})
	return out, nil
}

var toy = calc.Define(calc.Info{Name: "toys", Subject: "Toys", Summary: "Area of a toy"},
	[]calc.Example{{Name: "plain", Summary: "A toy", JSON: `{"length_mm": 3}`}}, toyArea,
	calc.As("image/svg+xml", "svg", "a picture", func(context.Context, toyIn, toyOut) ([]byte, error) { return []byte("<svg/>"), nil }))

var toyServer = must(New(testSettings(), []calc.Calculation{toy}, nil))

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// testSettings are the defaults without the limit on one client's rate.
func testSettings() Settings {
	s := DefaultSettings("test")
	s.LightTime, s.HeavyTime = time.Hour, time.Hour // the machine may be busy
	s.RatePerMinute = 0
	return s
}

func ask(t *testing.T, method, target, body string, header ...string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(method, target, strings.NewReader(body))
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	toyServer.ServeHTTP(w, r)
	return w
}

func TestAnswers(t *testing.T) {
	for _, c := range []struct {
		method, target, body string
		header               []string
		status               int
		mediaType, contains  string
	}{
		{"POST", "/v1/toys", `{"length_mm": 3}`, nil, 200, "application/json", `{"area_mm2":6,"label":"","working":[{"what":"area","expression":"3 × 2","value":6,"unit":"mm²"}],"cautions":[],"sources":[{"for":"area","text":"Euclid","status":"confirmed"}]}`},
		{"POST", "/v1/toys", `{"length_mm": 3, "width_mm": 0}`, nil, 200, "application/json", `{"area_mm2":0,`},
		{"POST", "/v1/toys?working=false", `{"length_mm": 3}`, nil, 200, "application/json", `{"area_mm2":6,"label":"","cautions":[],"sources":[]}`},
		{"POST", "/v1/toys?pick=area_mm2", `{"length_mm": 3}`, nil, 200, "text/plain; charset=utf-8", `6`},
		{"GET", "/v1/toys?length_mm=3&pick=area_mm2", "", nil, 200, "text/plain; charset=utf-8", `6`},
		{"GET", "/v1/toys?length_mm=1cm", "", nil, 200, "application/json", `{"area_mm2":20,`},
		{"GET", "/v1/toys?length_mm=3&format=csv", "", nil, 200, "text/csv; charset=utf-8", "area_mm2,label,cautions\n6,,\n"},
		{"GET", "/v1/toys?length_mm=3", "", []string{"Accept", "text/csv"}, 200, "text/csv; charset=utf-8", "6,,\n"},
		{"GET", "/v1/toys?length_mm=3&format=svg", "", nil, 200, "image/svg+xml", "<svg/>"},
		{"GET", "/v1/toys?length_mm=3", "", []string{"Accept", "text/html, */*;q=0.1"}, 200, "application/json", "area"},
		{"HEAD", "/v1/toys?length_mm=3", "", nil, 200, "application/json", ""},
		{"OPTIONS", "/v1/toys", "", nil, 204, "", ""},
		{"GET", "/healthz", "", nil, 200, "text/plain; charset=utf-8", "ok"},
		{"GET", "/openapi.json", "", nil, 200, "application/openapi+json", `"openapi":"3.1.0"`},
		{"GET", "/openapi-3.0.yaml", "", nil, 200, "application/openapi+yaml", "openapi: 3.0.3"},
		{"GET", "/docs", "", nil, 200, "text/html", "Pourwright"},

		{"GET", "/v1/toys?length_mm=3", "", []string{"Accept", "application/pdf"}, 406, mediaProblem, "application/pdf"},
		{"POST", "/v1/toys", ``, []string{"Content-Type", "application/json"}, 400, mediaProblem, "the body is empty"},
		{"POST", "/v1/toys", `[]`, nil, 422, mediaProblem, "give an object"},
		{"POST", "/v1/toys", `{"length_mm": 3, "length_mm": 4}`, nil, 400, mediaProblem, "given twice"},
		{"POST", "/v1/toys", `{"length_mm": -3}`, nil, 422, mediaProblem, `"location":"body.length_mm"`},
		{"POST", "/v1/toys", `{"Length_mm": 3}`, nil, 422, mediaProblem, `did you mean length_mm?`},
		{"POST", "/v1/toys", `{"length_mm": 3}`, []string{"Content-Type", "text/plain"}, 415, mediaProblem, `curl: --json`},
		{"POST", "/v1/toys?length_mm=3", `{"length_mm": 3}`, nil, 422, mediaProblem, `"location":"query.length_mm"`},
		{"POST", "/v1/toys?pick=are_mm2", `{"length_mm": 3}`, nil, 422, mediaProblem, `did you mean area_mm2?`},
		{"GET", "/v1/toys?length_mm=3&working=no", "", nil, 422, mediaProblem, `query.working`},
		{"GET", "/v1/toys?length_mm=3&length_mm=4", "", nil, 422, mediaProblem, `given more than once`},
		{"GET", "/v1/toys?length_mm=3;width_mm=4", "", nil, 400, mediaProblem, `semicolon`},
		{"GET", "/v1/toys?length_mm=%zz", "", nil, 400, mediaProblem, `cannot be read`},
		{"GET", "/v1/toys?length_mm=inf", "", nil, 422, mediaProblem, `query.length_mm`},
		{"GET", "/v1/toys?length_mm=x&errors=text", "", nil, 200, "text/plain; charset=utf-8", "! length_mm: give a number"},
		{"GET", "/v1/toys?length_mm=3&format=doc", "", nil, 422, mediaProblem, "give one of json, csv, svg"},
		{"POST", "/v1/toys", `{"length_mm": 3, "name": "nan"}`, nil, 422, mediaProblem, "no finite answer"},
		{"POST", "/v1/toys", `{"length_mm": 3, "name": "refuse"}`, nil, 422, mediaProblem, `"explanation":{"nearest":3}`},
		{"POST", "/v1/toys", `{"length_mm": 3, "name": "panic"}`, nil, 500, mediaProblem, "the fault is ours"},
		{"GET", "/v1/trains", "", nil, 404, mediaProblem, "/v1/trains"},
		{"DELETE", "/v1/toys", "", nil, 405, mediaProblem, "use GET or HEAD or OPTIONS or POST"},
		{"POST", "/v1/toys", `{"name": "` + strings.Repeat("x", maxBody) + `"}`, nil, 413, mediaProblem, "larger than"},
	} {
		w := ask(t, c.method, c.target, c.body, c.header...)
		require.Equal(t, c.status, w.Code, "%s %s %s", c.method, c.target, w.Body)
		require.Contains(t, w.Header().Get("Content-Type"), c.mediaType, "%s %s", c.method, c.target)
		require.Contains(t, w.Body.String(), c.contains, "%s %s", c.method, c.target)
	}
}

func TestAnswersTellTheirLength(t *testing.T) {
	w := ask(t, "POST", "/v1/toys", `{"length_mm": 3}`)
	require.Equal(t, strconv.Itoa(w.Body.Len()), w.Header().Get("Content-Length"))
	require.Empty(t, w.Header().Get("ETag"), "the answer to a POST is nobody's to reuse")
}

func TestUnchangedAnswersAreNotSentAgain(t *testing.T) {
	first := ask(t, "GET", "/v1/toys?length_mm=3", "")
	again := ask(t, "GET", "/v1/toys?length_mm=3", "", "If-None-Match", first.Header().Get("ETag"))
	require.Equal(t, http.StatusNotModified, again.Code)
	require.Empty(t, again.Body.String())
	other := ask(t, "GET", "/v1/toys?length_mm=4", "", "If-None-Match", first.Header().Get("ETag"))
	require.Equal(t, http.StatusOK, other.Code)
}

func TestRows(t *testing.T) {
	const json = "application/json"
	for _, c := range []struct {
		mediaType, body, want string
		status                int
	}{
		{json, `[{"length_mm": 3}, {"length_mm": -1}, {"length_mm": 4}]`, `[
{"row":1,"answer":{"area_mm2":6,"label":"","cautions":[],"sources":[]}},
{"row":2,"problem":{"title":"Unprocessable Entity","status":422,"detail":"length_mm: -1 refused; give a number from 0 to 1000 in mm, or a text with a unit such as \"0.25 in\"","errors":[{"location":"row.length_mm","message":"give a number from 0 to 1000 in mm, or a text with a unit such as \"0.25 in\"","value":-1}]}},
{"row":3,"answer":{"area_mm2":8,"label":"","cautions":[],"sources":[]}}
]
`, 200},
		{json, `[]`, "[\n\n]\n", 200},
		{json, `{"length_mm": 3}`, `not a JSON array`, 400},
		{json, `[{"length_mm": 3}, `, `the JSON array is broken`, 400},
		{mediaNDJSON, "{\"length_mm\": 3}\n\nnot json\n", `"row":2,"problem"`, 200},
		{mediaCSV, "order,width_mm,length_mm\n=7,,3\nB,1,\nC,x,3\n", "order,width_mm,length_mm,area_mm2,label,cautions,error\n" +
			"'=7,,3,6,,,\n" +
			"B,1,,,,,\"length_mm: missing; give a number from 0 to 1000 in mm, or a text with a unit such as \"\"0.25 in\"\"\"\n" +
			"C,x,3,,,,\"width_mm: give a number in mm, or with one of the units B&S, cm, ft, in, inch, m, mm, um, µm (\"\"0.25 in\"\")\"\n", 200},
		{mediaCSV, "\ufefflength_mm,name\n3,a\n", "area_mm2", 200},
		{mediaCSV, "lenght_mm,width_mm\n3,2\n", "did you mean the column length_mm?", 422},
		{mediaCSV, "length_mm\n", "length_mm,area_mm2,label,cautions,error\n", 200},
		{"image/png", "x", "not \\\"image/png\\\"", 415},
	} {
		w := ask(t, "POST", "/v1/toys/rows", c.body, "Content-Type", c.mediaType)
		require.Equal(t, c.status, w.Code, w.Body)
		require.Contains(t, w.Body.String(), c.want, c.body)
	}
}

func TestFilesAreMadeForTheAddressThatWasCalled(t *testing.T) {
	settings := testSettings()
	settings.TrustedProxies = []string{"192.0.2.0/24"} // httptest's peer is 192.0.2.1
	note := File{
		Info: calc.Info{Name: "note.txt", Subject: "Toys", Summary: "A note"}, MediaType: mediaText,
		Make: func(address string) ([]byte, error) { return []byte("at " + address), nil },
	}
	get := func(s http.Handler, host, proto, peer string) *httptest.ResponseRecorder {
		r := httptest.NewRequest("GET", "/v1/note.txt", nil)
		r.Host, r.RemoteAddr = host, peer
		r.Header.Set("X-Forwarded-Proto", proto)
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		return w
	}
	const proxy, stranger = "192.0.2.1:1234", "198.51.100.1:1234"
	s := must(New(settings, nil, nil, note))
	for _, c := range []struct{ host, proto, peer, want string }{
		{"studio.example:8080", "", stranger, "at http://studio.example:8080"},
		{"[::1]:80", "", stranger, "at http://[::1]:80"},
		{"studio.example", "https", proxy, "at https://studio.example"},
		{"studio.example", "https", stranger, "at http://studio.example"},
		{`x"y`, "", stranger, "is no host"},
	} {
		w := get(s, c.host, c.proto, c.peer)
		require.Contains(t, w.Body.String(), c.want)
		require.NotContains(t, w.Header().Get("Cache-Control"), "public")
	}
	settings.PublicURL = "https://calculator.example"
	s = must(New(settings, nil, nil, note))
	require.Equal(t, "at https://calculator.example", get(s, "other.example", "", stranger).Body.String())
}
