package serve

import (
	"net/http"
	"regexp"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"

	"pourwright/internal/calc"
)

// File is a file that the program makes for whoever asks, such as a workbook
// that calls this server.
type File struct {
	Info      calc.Info // its name is the last part of the path
	MediaType string
	// Make makes it for a server at that address.
	Make func(address string) ([]byte, error)
}

// plainHost is a host as it may stand in an address; no other is written into a file.
var plainHost = regexp.MustCompile(`^[A-Za-z0-9.-]+(:\d+)?$|^\[[0-9a-fA-F:]+\](:\d+)?$`)

// addressOf is the address that the client has called.
func addressOf(r *http.Request) (string, error) {
	if !plainHost.MatchString(r.Host) {
		return "", problem(http.StatusBadRequest, "the Host %q is no host", clip(r.Host, 100))
	}
	if r.TLS != nil || r.Header.Get("X-Forwarded-Proto") == "https" {
		return "https://" + r.Host, nil
	}
	return "http://" + r.Host, nil
}

func (f File) get(c huma.Context) (reply, error) {
	u := c.URL()
	if query := u.RawQuery; query != "" {
		return reply{}, underQuery(calc.Refuse("", query, "ask for the file without a query"))
	}
	r, _ := humachi.Unwrap(c)
	address, err := addressOf(r)
	if err != nil {
		return reply{}, err
	}
	b, err := f.Make(address)
	c.SetHeader("Content-Disposition", `attachment; filename="pourwright-`+f.Info.Name+`"`)
	return reply{mediaType: f.MediaType, body: b}, err
}

// file describes the operation that gives a file.
func (k *contract) file(op *huma.Operation, f File) {
	op.Description = describe(f.Info, nil)
	op.Responses = k.responses("The file.", map[string]*huma.MediaType{f.MediaType: {Schema: k.binarySchema()}}, 400, 422)
}
