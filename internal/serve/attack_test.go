package serve

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"net"
	"net/http"
	"net/http/httptest"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

// allocated is how many bytes f allocates: what grows with the square of its
// input shows there whatever else the machine does.
func allocated(f func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

func TestTextsInManyPartsAreJoinedInOneGo(t *testing.T) {
	const parts = 40_000
	shared := []byte("<sst><si>" + strings.Repeat("<t>aaaaaaaa</t>", parts) + "</si></sst>")
	var texts []string
	bytes := allocated(func() { texts, _ = sharedTexts(shared) })
	require.Len(t, texts, 1)
	require.Len(t, texts[0], 8*parts)
	require.Less(t, bytes, uint64(200*len(shared)), "each part by itself is some hundred bytes; joined one by one they are 6 GB")

	cell := []byte(`<row r="1"><c r="A1" t="inlineStr"><is><t>` + strings.Repeat("aaaaaaaa<!-- -->", parts) + "</t></is></c></row>")
	bytes = allocated(func() {
		line, err := newSheetScanner(cell).next()
		require.NoError(t, err)
		require.Len(t, line.cells[0].text, 8*parts)
	})
	require.Less(t, bytes, uint64(200*len(cell)))
}

// dialed is a connection of a hostile client.
func dialed(t *testing.T, url string) net.Conn {
	conn, err := net.Dial("tcp", strings.TrimPrefix(url, "http://"))
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close() })
	return conn
}

func TestIdleBodiesHoldNothing(t *testing.T) {
	s := must(New(testSettings(), []calc.Calculation{toy}, nil))
	s.bodies.memory = newMemory(1 << 20)
	live := httptest.NewServer(s)
	t.Cleanup(live.Close) // when the hostile connections have been closed
	for range 20 {
		conn := dialed(t, live.URL)
		_, err := io.WriteString(conn, "POST /v1/toys/rows HTTP/1.1\r\nHost: x\r\nContent-Type: "+mediaXLSX+"\r\nTransfer-Encoding: chunked\r\n\r\n")
		require.NoError(t, err)
	}
	r, err := http.Post(live.URL+"/v1/toys/rows", mediaJSON, strings.NewReader(`[{"length_mm": 3}]`))
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	require.Equal(t, 200, r.StatusCode)
}

func TestSlowBodiesAreGivenUp(t *testing.T) {
	s := must(New(testSettings(), []calc.Calculation{toy}, nil))
	s.bodies.grace = 10 * time.Millisecond
	live := httptest.NewServer(s)
	t.Cleanup(live.Close) // when the hostile connections have been closed
	conn := dialed(t, live.URL)
	_, err := io.WriteString(conn, "POST /v1/toys HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 100000\r\n\r\n{"+strings.Repeat(" ", 3*firstRead))
	require.NoError(t, err)
	answer, _ := io.ReadAll(conn) // the connection is closed behind it
	require.Contains(t, string(answer), "408 Request Timeout")
	require.Contains(t, string(answer), "came too slowly")
	require.Equal(t, s.bodies.memory.total, s.bodies.memory.left)
}

// TestSlowBeginningsAreGivenUp: the server's own time limit ends a body that
// does not even begin.
func TestSlowBeginningsAreGivenUp(t *testing.T) {
	live := httptest.NewUnstartedServer(must(New(testSettings(), []calc.Calculation{toy}, nil)))
	live.Config.ReadTimeout = 20 * time.Millisecond
	live.Start()
	t.Cleanup(live.Close)
	for _, path := range []string{"/v1/toys", "/v1/toys/rows"} {
		conn := dialed(t, live.URL)
		_, err := io.WriteString(conn, "POST "+path+" HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{")
		require.NoError(t, err)
		answer, _ := io.ReadAll(conn)
		require.Contains(t, string(answer), "408 Request Timeout")
		require.Contains(t, string(answer), "too slowly: 1 bytes")
	}
}

func TestTheSlowestBodyLosesItsMemory(t *testing.T) {
	m := newMemory(1000)
	gone := 0
	slow, fast := m.open(func() { gone++ }), m.open(func() { t.Error("the faster one is given up") })
	slow.begun = slow.begun.Add(-time.Minute)
	require.True(t, slow.grow(400))
	require.False(t, slow.grow(200), "bodies that are coming share half")
	require.Zero(t, gone, "there is no slower one")
	require.True(t, fast.grow(450))
	require.Equal(t, 1, gone)
	require.True(t, slow.lost)
	require.False(t, slow.grow(1))
	slow.close()
	fast.close()
	require.EqualValues(t, 1000, m.left)
}

func TestWorkWaitsForItsMemory(t *testing.T) {
	m := newMemory(1000)
	first, second := m.open(nothing), m.open(nothing)
	require.NoError(t, first.work(t.Context(), 900))
	require.ErrorContains(t, second.work(t.Context(), 1001), "this server has")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, second.work(ctx, 200), context.Canceled)
	done := make(chan error)
	go func() { done <- second.work(t.Context(), 200) }()
	first.close()
	require.NoError(t, <-done)
	second.close()
	require.EqualValues(t, 1000, m.left)
	require.EqualValues(t, defaultMemory, memoryFor(math.MaxInt64))
	require.EqualValues(t, 304<<20, memoryFor(400<<20))
}

func TestCompressedBodiesAreRefused(t *testing.T) {
	w := do(toyServer, "POST", "/v1/toys", "\x1f\x8b", "Content-Encoding", "gzip")
	require.Equal(t, http.StatusUnsupportedMediaType, w.Code)
	require.Contains(t, w.Body.String(), "gzip")
}

func TestAnswersAreInProportion(t *testing.T) {
	rows := "[{\"length_mm\":3}" + strings.Repeat(",{\"length_mm\":3}", maxRows) + "]"
	w := do(toyServer, "POST", "/v1/toys/rows?format=ndjson", rows)
	require.Equal(t, 200, w.Code)
	require.Contains(t, w.Body.String()[w.Body.Len()-200:], fmt.Sprintf("at most %d rows", maxRows))
}

func TestWorkbooksOfManyPartsAreRefused(t *testing.T) {
	for says, fillIn := range map[string]func(z *zip.Writer){
		"more than 2000 parts": func(z *zip.Writer) {
			for i := range maxEntries + 1 {
				_, _ = z.Create(fmt.Sprint("xl/worksheets/", i))
			}
		},
		"xl/styles.xml unpacks to more": func(z *zip.Writer) {
			w, _ := z.Create("xl/styles.xml")
			_, _ = w.Write(make([]byte, maxPart+1))
		},
	} {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		fillIn(z)
		require.NoError(t, z.Close())
		w := postWorkbook(b.Bytes())
		require.Equal(t, http.StatusRequestEntityTooLarge, w.Code)
		require.Contains(t, w.Body.String(), says)
	}
}

func TestLongFieldsOfFormsAreNotCut(t *testing.T) {
	files := calc.Define(calc.Info{Name: "files", Subject: "Toys", Summary: "Length of a file"},
		[]calc.Example{calc.Sample("file", "A file", `{"name": "a", "data_base64": "YWJj"}`)},
		func(ctx context.Context, in filedIn) (filedOut, error) {
			return filedOut{len(in.Data), in.Name, calc.Noting(ctx)}, nil
		})
	s := must(New(testSettings(), []calc.Calculation{files}, nil))
	form := func(n int, field string) *httptest.ResponseRecorder {
		part := "--B\r\nContent-Disposition: form-data; name=\"name\"\r\n\r\n" + field + "\r\n"
		return do(s, "POST", "/v1/files", strings.Repeat(part, n)+"--B--\r\n", "Content-Type", "multipart/form-data; boundary=B")
	}
	w := form(1, strings.Repeat("a", maxField+1))
	require.Equal(t, 422, w.Code)
	require.Contains(t, w.Body.String(), fmt.Sprintf("give at most %d bytes", maxField))
	require.Equal(t, http.StatusRequestEntityTooLarge, form(maxParts+1, "a").Code)
}

func TestRequestsCarryAnID(t *testing.T) {
	require.Equal(t, "proxy-1.a_B", do(toyServer, "GET", "/healthz", "", "X-Request-Id", "proxy-1.a_B").Header().Get("X-Request-Id"))
	for _, id := range []string{"", "a b", "a\nb", strings.Repeat("a", 65), "\xff"} {
		given := do(toyServer, "GET", "/healthz", "", "X-Request-Id", id).Header().Get("X-Request-Id")
		require.Regexp(t, `^[A-Z2-7]{16}$`, given)
	}
}

func TestLongRecordsOfTablesAreRefused(t *testing.T) {
	for table, says := range map[string]string{
		strings.Repeat(",", maxRecord+1) + "\n":                             "longer than",
		strings.Repeat(",", maxColumns) + "length_mm\n":                     fmt.Sprintf("at most %d", maxColumns),
		"length_mm\n3\n" + strings.Repeat("\"\n\",", maxRecord/3) + "\n4\n": "row 2 cannot be read",
	} {
		w := do(toyServer, "POST", "/v1/toys/rows", table, "Content-Type", mediaCSV)
		require.Equal(t, http.StatusBadRequest, w.Code)
		require.Contains(t, w.Body.String(), says)
	}
}
