package serve

import (
	"net/http"
	"net/netip"
	"regexp"
	"slices"

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

// addressOf is the address that the client has called: the one that the server
// was told (public), else what the request says. Whether a proxy was called
// over TLS is believed of trusted proxies only.
func addressOf(r *http.Request, public string, proxies []netip.Prefix) (string, error) {
	if public != "" {
		return public, nil
	}
	if !plainHost.MatchString(r.Host) {
		return "", problem(http.StatusBadRequest, "the Host %q is no host", clip(r.Host, 100))
	}
	if r.TLS != nil || r.Header.Get("X-Forwarded-Proto") == "https" && comesFrom(r, proxies) {
		return "https://" + r.Host, nil
	}
	return "http://" + r.Host, nil
}

// comesFrom reports whether the peer is in one of the networks.
func comesFrom(r *http.Request, networks []netip.Prefix) bool {
	peer, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && slices.ContainsFunc(networks, func(n netip.Prefix) bool { return n.Contains(peer.Addr().Unmap()) })
}

// servedFile is a file with what its server knows of its own address.
type servedFile struct {
	File
	public  string
	proxies []netip.Prefix
}

func (f servedFile) get(c huma.Context) (reply, error) {
	u := c.URL()
	if query := u.RawQuery; query != "" {
		return reply{}, underQuery(calc.Refuse("", query, "ask for the file without a query"))
	}
	r, _ := humachi.Unwrap(c)
	address, err := addressOf(r, f.public, f.proxies)
	if err != nil {
		return reply{}, err
	}
	b, err := f.Make(address)
	if f.public == "" { // it holds what this request said; no cache between may give it to others
		c.SetHeader("Cache-Control", "private, no-cache")
	}
	c.SetHeader("Content-Disposition", `attachment; filename="pourwright-`+f.Info.Name+`"`)
	return reply{mediaType: f.MediaType, body: b}, err
}

// file describes the operation that gives a file.
func (k *contract) file(op *huma.Operation, f File) {
	op.Description = describe(f.Info, nil)
	op.Responses = k.responses("The file.", map[string]*huma.MediaType{f.MediaType: {Schema: k.binarySchema()}}, 400, 422)
}
