package serve

import (
	"bytes"
	"io"
	"net/http"
	"os"
	"testing"
	"time"

	"fairlead/deploy/engine"
	"fairlead/deploy/engine/chdb"
	"fairlead/deploy/engine/enginetest"
)

// bare opens the library inside this process: what the engine does without HTTP in between.
func bare(b *testing.B) *chdb.Conn {
	b.Helper()
	path, err := engine.FindLibrary()
	if err != nil {
		b.Fatal(err)
	}
	lib, err := chdb.Load(path)
	if err != nil {
		b.Fatal(err)
	}
	dir, err := os.MkdirTemp("", "fairlead-bare-*")
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = os.RemoveAll(dir) })
	config := dir + "/c.xml"
	text := "<clickhouse><merge_tree><fsync_after_insert>1</fsync_after_insert>" +
		"<fsync_part_directory>1</fsync_part_directory></merge_tree></clickhouse>"
	if err := os.WriteFile(config, []byte(text), 0o600); err != nil {
		b.Fatal(err)
	}
	c, err := lib.Connect("--config-file="+config, "--path="+dir, "--async_insert=0")
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(c.Close)
	return c
}

const benchTable = "CREATE TABLE t (a UInt64) ENGINE = MergeTree ORDER BY a"

// BenchmarkInsert sends 20 Native blocks of 100,000 rows in one request, and gives the same bytes to the bare
// library; ratio is the bare time over ours, so 1 would be no cost at all.
func BenchmarkInsert(b *testing.B) {
	db := enginetest.New(b)
	body := nativeBlocks(b, 20, 100000)
	c := bare(b)
	send(b, db, "", []byte(benchTable))
	if _, err := c.Query(benchTable, "Null"); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(body)))
	var ours, raw time.Duration
	for b.Loop() {
		begin := time.Now()
		send(b, db, "query=INSERT+INTO+t+FORMAT+Native", body)
		ours += time.Since(begin)
		begin = time.Now()
		in, err := c.Insert("INSERT INTO t", "Native")
		if err != nil {
			b.Fatal(err)
		}
		for rest := body; len(rest) > 0; rest = rest[min(len(rest), bodyPiece):] {
			if err := in.Append(rest[:min(len(rest), bodyPiece)]); err != nil {
				b.Fatal(err)
			}
		}
		if _, err := in.Done(); err != nil {
			b.Fatal(err)
		}
		raw += time.Since(begin)
	}
	b.ReportMetric(raw.Seconds()/ours.Seconds(), "ratio")
}

// BenchmarkSelect reads 10 million numbers, in ratio to fetching them from the bare library.
func BenchmarkSelect(b *testing.B) {
	db := enginetest.New(b)
	c := bare(b)
	const sql = "SELECT number FROM numbers(10000000)"
	var ours, raw time.Duration
	for b.Loop() {
		begin := time.Now()
		if n := send(b, db, "default_format=Native", []byte(sql)); n < 80000000 {
			b.Fatalf("%d bytes", n)
		}
		ours += time.Since(begin)
		begin = time.Now()
		st, err := c.Stream(sql, "Native")
		if err != nil {
			b.Fatal(err)
		}
		for {
			p, err := st.Next()
			if err != nil {
				b.Fatal(err)
			}
			if len(p) == 0 {
				break
			}
		}
		st.Close()
		raw += time.Since(begin)
	}
	b.ReportMetric(raw.Seconds()/ours.Seconds(), "ratio")
}

// BenchmarkRoundTrip is one small statement.
func BenchmarkRoundTrip(b *testing.B) {
	db := enginetest.New(b)
	for b.Loop() {
		send(b, db, "", []byte("SELECT 1"))
	}
}

func send(b *testing.B, db *enginetest.Database, parameters string, body []byte) int64 {
	b.Helper()
	req, err := http.NewRequest(http.MethodPost, "http://"+db.Process.Addr()+"/?database="+db.Name+"&"+parameters, bytes.NewReader(body))
	if err != nil {
		b.Fatal(err)
	}
	req.Header.Set("X-ClickHouse-Key", db.Process.Token())
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		b.Fatal(err)
	}
	defer resp.Body.Close()
	n, err := io.Copy(io.Discard, resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK {
		b.Fatalf("status %d, %v", resp.StatusCode, err)
	}
	return n
}
