// Command hosting is hard on servers: hostile clients at one of them, and
// load on replicas behind a proxy while two of them are stopped.
package main

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"os"
	"strconv"
	"strings"
	"time"
)

const (
	maxRSS    = 256 << 20 // bytes
	idleCount = 5000
	light     = `{"system": "us", "size": "7"}`
)

func main() {
	log.SetFlags(0)
	switch os.Args[1] {
	case "hostile":
		hostile(os.Args[2], os.Args[3])
	case "churn":
		churn(os.Args[2], os.Args[3], os.Args[4], os.Args[5:])
	}
}

// rss is the memory of a process in bytes.
func rss(pid string) int {
	text, err := os.ReadFile("/proc/" + pid + "/status")
	if err != nil {
		log.Fatalf("the server has gone: %v", err)
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kib, _ := strconv.Atoi(strings.Fields(rest)[0])
			return kib << 10
		}
	}
	return 0
}

func post(url, mediaType string, body io.Reader) (int, error) {
	client := http.Client{Timeout: 30 * time.Second}
	response, err := client.Post(url, mediaType, body)
	if err != nil {
		return 0, err
	}
	defer response.Body.Close()
	_, err = io.Copy(io.Discard, response.Body)
	return response.StatusCode, err
}

// hostile sends one server what it must bear, and asks after each whether it
// still answers within its memory.
func hostile(addr, pid string) {
	url := "http://" + addr + "/v1/ring-sizes"
	still := func(after string) {
		status, err := post(url, "application/json", strings.NewReader(light))
		if status != http.StatusOK || err != nil {
			log.Fatalf("after %s: %d %v", after, status, err)
		}
		most := rss(pid)
		fmt.Printf("%-28s still answers; most memory so far %d MiB\n", after, most>>20)
		if most > maxRSS {
			log.Fatalf("more than %d MiB", maxRSS>>20)
		}
	}
	refused := func(what, mediaType, target string, body io.Reader) {
		status, err := post(target, mediaType, body)
		// A connection that is cut while the body is still being sent is a refusal too.
		if err == nil && (status < 400 || status >= 500) {
			log.Fatalf("%s: %d", what, status)
		}
		still(what)
	}
	refused("a body of 100 MB", "application/json", url, io.LimitReader(zeros{}, 100<<20))
	refused("nesting 100,000 deep", "application/json", url, strings.NewReader(strings.Repeat("[", 100_000)))
	refused("nesting inside a field", "application/json", url, strings.NewReader(`{"size":`+strings.Repeat(`{"a":`, 20_000)))
	refused("a header of 1 MB", "application/json; x="+strings.Repeat("x", 1<<20), url, strings.NewReader(light))
	refused("a workbook of 2 GB, zipped", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", url+"/rows", bytes.NewReader(bomb()))

	open := make([]net.Conn, 0, idleCount)
	for range idleCount {
		c, err := net.Dial("tcp", addr)
		if err != nil {
			log.Fatalf("connection %d: %v", len(open), err)
		}
		open = append(open, c)
	}
	still("5,000 idle connections")
	for _, c := range open {
		_, _ = io.WriteString(c, "POST /v1/ring-sizes HTTP/1.1\r\nHost: x\r\nX-Slow: ")
	}
	for range 6 { // a byte a second, past the time for headers
		time.Sleep(time.Second)
		for _, c := range open {
			_, _ = io.WriteString(c, "a")
		}
	}
	still("5,000 that send slowly")
	closed := 0
	for _, c := range open {
		_ = c.SetReadDeadline(time.Now().Add(5 * time.Second))
		if _, err := io.Copy(io.Discard, c); err == nil || !isTimeout(err) {
			closed++
		}
		_ = c.Close()
	}
	if closed < idleCount {
		log.Fatalf("%d of %d slow connections are still open", idleCount-closed, idleCount)
	}
	still("the slow ones are closed")
}

func isTimeout(err error) bool {
	e, ok := err.(net.Error)
	return ok && e.Timeout()
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// bomb is a workbook whose sheet unpacks to 2 GB.
func bomb() []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, part := range []struct {
		name, text string
		spaces     int64
	}{
		{"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>`, 0},
		{"_rels/.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="a" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`, 0},
		{"xl/workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheets/></workbook>`, 0},
		{"xl/worksheets/sheet1.xml", `<worksheet>`, 2 << 30},
	} {
		w, err := z.Create(part.name)
		if err == nil {
			_, err = io.WriteString(w, part.text)
		}
		if err == nil && part.spaces > 0 {
			_, err = io.CopyN(w, zeros{}, part.spaces)
		}
		if err != nil {
			log.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		log.Fatal(err)
	}
	return b.Bytes()
}
