// Package web is the class page: one page that works a commission through in
// the order of the job. It holds no calculation; its answers come from the
// API of the same server, and what is typed stays in the reader's address bar.
package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"mime"
	"net/http"
	"path"
	"strings"

	"pourwright/testdata"
)

//go:embed page
var files embed.FS

// policy lets the page run its own script and style, ask this server, and
// show the pictures that it answers; nothing else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'"

// asset is a file of the page, plain and compressed.
type asset struct {
	mediaType, tag string
	plain, packed  []byte
}

// Page is the handler of / and /page/.
func Page() http.Handler {
	assets := map[string]asset{}
	for _, name := range []string{"entries.js", "asking.js", "answers.js", "plan.js", "style.css", "icon.svg"} {
		b, err := files.ReadFile("page/" + name)
		if err != nil {
			panic("web: " + err.Error())
		}
		assets["/page/"+name] = newAsset(name, b)
	}
	assets["/page/example.json"] = newAsset("example.json", []byte(testdata.Commission))
	assets["/"] = newAsset("index.html", index())
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a, ok := assets[r.URL.Path]
		if !ok {
			http.NotFound(w, r)
			return
		}
		a.serve(w, r)
	})
}

// index fills the page in: its fields with what the tags of the inputs say.
func index() []byte {
	var b bytes.Buffer
	t := template.Must(template.New("index.html").Funcs(template.FuncMap{"f": field, "yes": tick, "many": choices, "topics": topics}).ParseFS(files, "page/index.html"))
	if err := t.Execute(&b, nil); err != nil {
		panic("web: " + err.Error())
	}
	return b.Bytes()
}

func newAsset(name string, b []byte) asset {
	sum := sha256.Sum256(b)
	a := asset{mediaType: mime.TypeByExtension(path.Ext(name)), tag: hex.EncodeToString(sum[:8]), plain: b}
	var packed bytes.Buffer
	z, _ := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	_, _ = z.Write(b)
	_ = z.Close()
	a.packed = packed.Bytes()
	return a
}

func (a asset) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("Cache-Control", "no-cache") // asked for again, and answered 304 until the program changes
	h.Set("Vary", "Accept-Encoding")
	body, tag := a.plain, a.tag
	if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		body, tag = a.packed, a.tag+"z"
		h.Set("Content-Encoding", "gzip")
	}
	tag = `"` + tag + `"`
	h.Set("ETag", tag)
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", a.mediaType)
	h.Set("Content-Length", fmt.Sprint(len(body)))
	_, _ = w.Write(body)
}
