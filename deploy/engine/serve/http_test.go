package serve

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"testing"

	chproto "github.com/ClickHouse/ch-go/proto"
	"github.com/ClickHouse/clickhouse-go/v2/lib/column"
	"github.com/ClickHouse/clickhouse-go/v2/lib/proto"

	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
)

// post sends a statement as curl does.
func post(t *testing.T, db *enginetest.Database, parameters, body string, change ...func(*http.Request)) (int, string, error) {
	t.Helper()
	req, err := http.NewRequest(http.MethodPost, "http://"+db.Process.Addr()+"/?database="+db.Name+"&"+parameters, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("X-ClickHouse-Key", db.Process.Token())
	for _, c := range change {
		c(req)
	}
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	resp, err := client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	return resp.StatusCode, string(text), err
}

func TestPlainHTTP(t *testing.T) {
	db := enginetest.New(t)
	for _, c := range []struct {
		parameters, body string
		status           int
		want             string
	}{
		{"", "CREATE TABLE t (a UInt32, s String) ENGINE = MergeTree ORDER BY a", 200, ""},
		{"query=INSERT+INTO+t+FORMAT+CSV", "1,x\n2,y\n", 200, ""},
		{"", "INSERT INTO t FORMAT JSONEachRow\n{\"a\":3,\"s\":\"z\"}", 200, ""},
		{"", "INSERT INTO t VALUES (4, 'w'), (5, 'VALUES')", 200, ""},
		{"query=INSERT+INTO+t+VALUES+(6,'u')", "", 200, ""},
		{"query=INSERT+INTO+t+VALUES", "(7,'v')", 200, ""},
		{"param_a=100", "INSERT INTO t SELECT {a:UInt32}, 'p'", 200, ""},
		{"", "SELECT groupArray(a) FROM (SELECT a FROM t ORDER BY a)", 200, "[1,2,3,4,5,6,7,100]\n"},
		{"query=SELECT+s", "FROM t WHERE a = 3", 200, "z\n"},
		{"max_block_size=1", "SELECT a FROM t WHERE a < 3 ORDER BY a FORMAT CSVWithNames", 200, "\"a\"\n1\n2\n"},
		{"", "SHOW TABLES", 200, "t\n"},
		{"default_format=JSONEachRow", "SELECT 1 AS x", 200, "{\"x\":1}\n"},
		{"", "SELECT nosuch", 500, "UNKNOWN_IDENTIFIER"},
		{"nosuch=1", "SELECT 1", 500, "UNKNOWN_SETTING"},
		{"session_id=1", "SELECT 1", 400, "session_id is not supported"},
		{"", "", 400, "Empty query"},
		{"", "INSERT INTO t FORMAT CSV\n1,x\nnot a number,y\n", 500, "CANNOT_PARSE"},
		{"", "INSERT INTO t FORMAT NoSuchFormat\n1", 500, "NoSuchFormat"},
		{"", "INSERT INTO nosuch FORMAT CSV\n1", 500, "UNKNOWN_TABLE"},
		{"query=SELECT+1", strings.Repeat(" ", 9<<20), 400, "too long"},
		{"", "SELECT count() FROM t", 200, "8\n"},
	} {
		status, text, err := post(t, db, c.parameters, c.body)
		good := text == c.want || status >= 400 && strings.Contains(text, c.want)
		if err != nil || status != c.status || !good {
			t.Errorf("?%s %.60q: status %d, %.300q, %v; want %d, %q", c.parameters, c.body, status, text, err, c.status, c.want)
		}
	}
}

func TestToken(t *testing.T) {
	db := enginetest.New(t)
	for name, c := range map[string]struct {
		change func(*http.Request)
		want   int
	}{
		"none":  {func(r *http.Request) { r.Header.Del("X-ClickHouse-Key") }, 403},
		"wrong": {func(r *http.Request) { r.Header.Set("X-ClickHouse-Key", db.Process.Token()+"x") }, 403},
		"empty": {func(r *http.Request) { r.Header.Set("X-ClickHouse-Key", "") }, 403},
		"in the URL": {func(r *http.Request) {
			r.Header.Del("X-ClickHouse-Key")
			r.URL.RawQuery += "&password=" + db.Process.Token()
		}, 403},
		"as a key":      {func(*http.Request) {}, 200},
		"as a password": {func(r *http.Request) { r.Header.Del("X-ClickHouse-Key"); r.SetBasicAuth("x", db.Process.Token()) }, 200},
		"as a bearer": {func(r *http.Request) {
			r.Header.Del("X-ClickHouse-Key")
			r.Header.Set("Authorization", "Bearer "+db.Process.Token())
		}, 200},
	} {
		if status, text, _ := post(t, db, "", "SELECT 1", c.change); status != c.want {
			t.Errorf("%s: status %d, %s", name, status, text)
		}
	}
}

func TestGetCannotWrite(t *testing.T) {
	db := enginetest.New(t)
	get := func(r *http.Request) { r.Method, r.Body, r.ContentLength = http.MethodGet, nil, 0 }
	if status, text, _ := post(t, db, "query=SELECT+7", "", get); status != 200 || text != "7\n" {
		t.Errorf("a SELECT by GET: %d, %s", status, text)
	}
	for _, sql := range []string{"CREATE TABLE g (a Int8) ENGINE = Memory", "DROP DATABASE " + db.Name, "SET readonly = 0"} {
		if status, text, _ := post(t, db, "query="+url.QueryEscape(sql), "", get); status != 500 || !strings.Contains(text, "READONLY") {
			t.Errorf("%s by GET: %d, %s", sql, status, text)
		}
	}
}

func TestErrorAfterTheFirstRowsBreaksTheResponseOff(t *testing.T) {
	db := enginetest.New(t)
	for _, parameters := range []string{"", "enable_http_compression=1"} {
		status, text, err := post(t, db, parameters,
			"SELECT number, throwIf(number = 300000) FROM numbers(400000) SETTINGS max_block_size = 10000")
		if status != 200 || err == nil {
			t.Errorf("status %d, error of reading %v: the client cannot tell", status, err)
		}
		if !strings.Contains(text, "\r\n__exception__\r\n") || !strings.Contains(text, "Code: 395. DB::Exception") {
			t.Errorf("no exception at the end: %q", text[max(0, len(text)-300):])
		}
	}
}

func TestPingAndMetrics(t *testing.T) {
	db := enginetest.New(t)
	if _, _, err := post(t, db, "", "SELECT 1"); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{"/ping": "Ok.\n", "/metrics": `fairlead_engine_requests_total{kind="select",outcome="ok"}`} {
		resp, err := http.Get("http://" + db.Process.Addr() + path)
		if err != nil {
			t.Fatal(err)
		}
		text, _ := io.ReadAll(resp.Body)
		resp.Body.Close()
		if !strings.Contains(string(text), want) {
			t.Errorf("%s: %s", path, text)
		}
	}
	http.DefaultClient.CloseIdleConnections()
}

// nativeBlocks are n blocks of rows of one column each, as a client would send them.
func nativeBlocks(t testing.TB, n, rows int) []byte {
	t.Helper()
	var buf chproto.Buffer
	for b := range n {
		block := proto.NewBlock()
		if err := block.AddColumn("a", column.Type("UInt64")); err != nil {
			t.Fatal(err)
		}
		for i := range rows {
			if err := block.Append(uint64(b*rows + i)); err != nil {
				t.Fatal(err)
			}
		}
		if err := block.Encode(&buf, 0); err != nil {
			t.Fatal(err)
		}
	}
	return buf.Buf
}

// A body that breaks off leaves no row, wherever it breaks, also at the border of two blocks, also when the
// engine would long since have written the first ones.
func TestBrokenOffInsertLeavesNoRow(t *testing.T) {
	ctx := context.Background()
	db := enginetest.New(t)
	conn := db.Open(t)
	if err := conn.Exec(ctx, "CREATE TABLE t (a UInt64) ENGINE = MergeTree ORDER BY a"); err != nil {
		t.Fatal(err)
	}
	body := nativeBlocks(t, 20, 100000)
	oneBlock := len(body) / 20
	for _, chunked := range []bool{true, false} {
		for _, cut := range []int{0, 1, 1000, oneBlock, 7 * oneBlock, 19 * oneBlock, len(body) - 1} {
			// Blocks are written one by one, so that what a streaming insert would commit early is seen.
			sendCut(t, db, "query=INSERT+INTO+t+FORMAT+Native&min_insert_block_size_rows=1&min_insert_block_size_bytes=1", body, cut, chunked)
		}
	}
	proof.Until(t, "the broken-off requests are over", func() bool {
		resp, err := http.Get("http://" + db.Process.Addr() + "/metrics")
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		text, _ := io.ReadAll(resp.Body)
		return strings.Contains(string(text), "fairlead_engine_requests_running 0")
	})
	http.DefaultClient.CloseIdleConnections()
	var n uint64
	if err := conn.QueryRow(ctx, "SELECT count() FROM t").Scan(&n); err != nil || n != 0 {
		t.Fatalf("%d rows of broken-off inserts, %v", n, err)
	}
	status, text, err := post(t, db, "query=INSERT+INTO+t+FORMAT+Native", string(body))
	if status != 200 || err != nil {
		t.Fatalf("the whole body: %d, %s, %v", status, text, err)
	}
	if err := conn.QueryRow(ctx, "SELECT uniqExact(a) FROM t").Scan(&n); err != nil || n != 2000000 {
		t.Errorf("%d rows of a whole insert, %v", n, err)
	}
}

// sendCut sends the first part of a body and closes the connection.
func sendCut(t *testing.T, db *enginetest.Database, parameters string, body []byte, cut int, chunked bool) {
	t.Helper()
	c, err := net.Dial("tcp", db.Process.Addr())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	var b bytes.Buffer
	fmt.Fprintf(&b, "POST /?database=%s&%s HTTP/1.1\r\nHost: x\r\nX-ClickHouse-Key: %s\r\n", db.Name, parameters, db.Process.Token())
	if chunked {
		fmt.Fprintf(&b, "Transfer-Encoding: chunked\r\n\r\n")
		if cut > 0 {
			fmt.Fprintf(&b, "%x\r\n%s\r\n", cut, body[:cut])
		}
	} else {
		fmt.Fprintf(&b, "Content-Length: %d\r\n\r\n%s", len(body), body[:cut])
	}
	if _, err := c.Write(b.Bytes()); err != nil {
		t.Fatal(err)
	}
}
