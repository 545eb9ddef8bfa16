package serve

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fairlead/deploy/engine"
	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
)

// as sends a statement with a user's token, to the engine's own database.
func as(t *testing.T, p *engine.Process, token, method, parameters, sql string, change ...func(*http.Request)) (int, string) {
	t.Helper()
	db := &enginetest.Database{Name: p.Database(), Process: p}
	status, text, err := post(t, db, parameters, sql, append([]func(*http.Request){func(r *http.Request) {
		r.Header.Set("X-ClickHouse-Key", token)
		if r.Method = method; method == http.MethodGet {
			r.URL.RawQuery += "&query=" + url.QueryEscape(sql)
			r.Body, r.ContentLength = nil, 0
		}
	}}, change...)...)
	if err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return status, text
}

func user(t *testing.T, p *engine.Process, name string, purpose engine.Purpose) string {
	t.Helper()
	token, err := engine.AddUser(p.Users(), name, purpose, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = engine.RevokeUser(p.Users(), name) })
	return token
}

// probes are what an analyst or a page must not get through; each is tried by every user it is closed to and,
// for all, by GET.
var probes = []string{
	"INSERT INTO FUNCTION file('FOLDER/out.csv', CSV, 'a String') SELECT 'x'",
	"INSERT INTO TABLE FUNCTION file('FOLDER/out.csv') VALUES ('x')",
	"INSERT INTO FUNCTION url('http://127.0.0.1:1/', CSV, 'a String') SELECT 'x'",
	"SELECT 1 INTO OUTFILE 'FOLDER/out.csv'",
	"SELECT * FROM (SELECT 1) INTO OUTFILE 'FOLDER/out.csv' FORMAT CSV",
	"(SELECT 1) INTO /* x */ OUTFILE 'FOLDER/out.csv'",
	"SELECT * FROM file('FOLDER/secret', LineAsString)",
	"SELECT * FROM `file`('FOLDER/secret', LineAsString)",
	"SELECT * FROM FILE('FOLDER/secret', LineAsString)",
	"SELECT file('FOLDER/secret')",
	"SELECT arrayMap(x -> file(x), ['FOLDER/secret'])",
	"SELECT * APPLY(file) FROM (SELECT 'FOLDER/secret' AS a)",
	"SELECT * APPLY file FROM (SELECT 'FOLDER/secret' AS a)",
	"SELECT COLUMNS('a') APPLY(file) FROM (SELECT 'FOLDER/secret' AS a)",
	"WITH (SELECT file('FOLDER/secret')) AS x SELECT x",
	"WITH x AS (SELECT * FROM file('FOLDER/secret', LineAsString)) SELECT * FROM x",
	"SELECT 1 IN (SELECT line FROM file('FOLDER/secret', LineAsString))",
	"SELECT * FROM viewIfPermitted(SELECT * FROM file('FOLDER/secret', LineAsString) ELSE null('a String'))",
	"SELECT * FROM loop(file('FOLDER/secret', LineAsString)) LIMIT 1",
	"SELECT * FROM view(SELECT * FROM file('FOLDER/secret', LineAsString))",
	"DESCRIBE TABLE file('FOLDER/secret')",
	"DESCRIBE TABLE url('http://127.0.0.1:1/x')",
	"EXPLAIN SELECT * FROM file('FOLDER/secret', LineAsString)",
	"EXPLAIN ESTIMATE SELECT * FROM url('http://127.0.0.1:1/', CSV, 'a String')",
	"SELECT * FROM (EXPLAIN AST SELECT 1)",
	"SELECT * FROM filesystem('FOLDER')",
	"SELECT * FROM url('http://127.0.0.1:1/', CSV, 'a String')",
	"SELECT * FROM s3('http://127.0.0.1:1/b/k', CSV, 'a String')",
	"SELECT * FROM remote('127.0.0.1:9000', system.one)",
	"SELECT * FROM remoteSecure('127.0.0.1:9440', system.one)",
	"SELECT * FROM cluster('default', system.one)",
	"SELECT * FROM executable('x.sh', CSV, 'a String')",
	"SELECT * FROM mysql('127.0.0.1:1', 'd', 't', 'u', 'p')",
	"SELECT * FROM postgresql('127.0.0.1:1', 'd', 't', 'u', 'p')",
	"SELECT * FROM sqlite('FOLDER/secret', 't')",
	"SELECT * FROM dictionary('d')",
	"SELECT * FROM merge('system', '^users$')",
	"SELECT * FROM redis('127.0.0.1:1', 'k', 'k String')",
	"SELECT dictGet('d', 'a', 1)",
	"SELECT joinGet('system.users', 'name', 'x')",
	"SELECT aiGenerate('x')",
	"SELECT getServerSetting('max_server_memory_usage')",
	"SYSTEM SHUTDOWN",
	"SYSTEM KILL",
	"SYSTEM DROP MARK CACHE",
	"SYSTEM STOP MERGES",
	"KILL QUERY WHERE 1",
	"CREATE TABLE kept (a Int8) ENGINE = Memory",
	"CREATE TEMPORARY TABLE kept (a Int8)",
	"CREATE TABLE f (a String) ENGINE = File(CSV, 'FOLDER/out.csv')",
	"CREATE TABLE u (a String) ENGINE = URL('http://127.0.0.1:1/', CSV)",
	"CREATE DATABASE other",
	"CREATE FUNCTION mine AS x -> file(x)",
	"CREATE USER u",
	"CREATE DICTIONARY d (a UInt64) PRIMARY KEY a SOURCE(EXECUTABLE(COMMAND 'x' FORMAT 'CSV')) LAYOUT(FLAT()) LIFETIME(1)",
	"CREATE VIEW v AS SELECT * FROM url('http://127.0.0.1:1/', CSV, 'a String')",
	"CREATE NAMED COLLECTION c AS a = 1",
	"DROP TABLE guarded",
	"DROP DATABASE fairlead",
	"TRUNCATE TABLE guarded",
	"ALTER TABLE guarded DELETE WHERE 1",
	"ALTER TABLE guarded UPDATE a = 2 WHERE 1",
	"DELETE FROM guarded WHERE 1",
	"RENAME TABLE guarded TO gone",
	"OPTIMIZE TABLE guarded FINAL",
	"INSERT INTO guarded VALUES (5)",
	"INSERT INTO guarded SELECT 5",
	"BACKUP TABLE guarded TO File('FOLDER/out.csv')",
	"GRANT ALL ON *.* TO u",
	"SET readonly = 0",
	"USE system",
	"ATTACH TABLE x",
	"DETACH TABLE guarded",
	"SELECT 1; DROP TABLE guarded",
	"SELECT 1 /* ; */ ; INSERT INTO guarded VALUES (6)",
	"SELECT 1 /* /* */ ' */ ; DROP TABLE guarded -- '",
	"SELECT \u2018'\u2019 ; DROP TABLE guarded -- '",
	"SELECT $x$ ' $x$; DROP TABLE guarded -- '",
}

// closed are probes that reading by the pipeline's token may do, also by GET.
var closed = []string{
	"SELECT * FROM system.users", "SELECT * FROM system.processes", "SELECT * FROM system.server_settings",
	"SELECT 1 IN system.users", "SELECT 'a' IN (SELECT name FROM system.users)", "SELECT * FROM elsewhere.hidden",
	"SELECT (SELECT count() FROM elsewhere.hidden)", "SELECT * FROM guarded, elsewhere.hidden",
	"SELECT 1 IN elsewhere.hidden", "SELECT * FROM {t:Identifier}.hidden", "SELECT * FROM system.named_collections",
	"SELECT * FROM system.user_directories", "SELECT * FROM information_schema.tables",
}

func TestGuardedUsersGetNothingThrough(t *testing.T) {
	p := enginetest.Process(t)
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "secret"), []byte("secret of the hub\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{"CREATE TABLE visit_events (a Int8) ENGINE = MergeTree ORDER BY a",
		"CREATE TABLE guarded (a Int64) ENGINE = MergeTree ORDER BY a", "INSERT INTO guarded VALUES (1), (2)",
		"CREATE DATABASE elsewhere", "CREATE TABLE elsewhere.hidden (a String) ENGINE = Memory", "INSERT INTO elsewhere.hidden VALUES ('hidden')",
		"CREATE TABLE answers (a Int64) ENGINE = MergeTree ORDER BY a"} {
		if status, text := as(t, p, p.Token(), http.MethodPost, "", sql); status != 200 {
			t.Fatalf("%s: %s", sql, text)
		}
	}
	t.Cleanup(func() {
		for _, sql := range []string{"DROP TABLE guarded", "DROP TABLE visit_events", "DROP TABLE answers", "DROP DATABASE elsewhere"} {
			as(t, p, p.Token(), http.MethodPost, "", sql)
		}
	})
	analyst, pages := user(t, p, "jo", engine.Analyst), user(t, p, "desk", engine.Pages)
	tries, held := 0, 0
	try := func(who, token, method, sql string) {
		t.Helper()
		tries++
		sql = strings.ReplaceAll(sql, "FOLDER", folder)
		status, text := as(t, p, token, method, "param_t=elsewhere", sql)
		if status < 400 || strings.Contains(text, "secret of the hub") || strings.Contains(text, "hidden\n") {
			t.Errorf("%s by %s: %s: %d, %.200s", who, method, sql, status, text)
			return
		}
		held++
	}
	for _, sql := range probes {
		try("analyst", analyst, http.MethodPost, sql)
		try("analyst", analyst, http.MethodGet, sql)
		try("pages", pages, http.MethodPost, sql)
		try("pipeline", p.Token(), http.MethodGet, sql)
	}
	for _, sql := range closed {
		try("analyst", analyst, http.MethodPost, sql)
		try("pages", pages, http.MethodPost, sql)
	}
	for _, sql := range []string{"SELECT * FROM visit_events", "SELECT * FROM fairlead.visit_events", "SELECT 1 IN visit_events",
		"SELECT 1 SETTINGS max_threads = 64", "SELECT 1 SETTINGS readonly = 0", "SELECT 1 SETTINGS max_execution_time = 0",
		"INSERT INTO answers VALUES (1)", "INSERT INTO answers SELECT 1", "DELETE FROM answers WHERE 1"} {
		try("analyst", analyst, http.MethodPost, sql)
	}
	try("pages", pages, http.MethodPost, "INSERT INTO answers SELECT length(line) FROM file('FOLDER/secret', LineAsString)")
	t.Logf("%d of %d probes held", held, tries)
	if _, err := os.Stat(filepath.Join(folder, "out.csv")); err == nil {
		t.Error("a file was written")
	}
	if status, text := as(t, p, p.Token(), http.MethodPost, "", "SELECT sum(a), count() FROM guarded"); status != 200 || text != "3\t2\n" {
		t.Errorf("the table afterwards: %s", text)
	}
	for _, token := range []string{analyst, pages} {
		for sql, want := range map[string]string{
			"SELECT sum(a) FROM guarded -- all of it":                                     "3\n",
			"WITH x AS (SELECT a FROM fairlead.guarded) SELECT max(a) FROM x":             "2\n",
			"SELECT name FROM system.tables WHERE name = 'guarded'":                       "guarded\n",
			"SELECT a IN (SELECT a FROM guarded), t.a FROM guarded AS t LIMIT 1":          "1\t1\n",
			"SELECT count() FROM numbers(10) FORMAT JSONEachRow":                          "{\"count()\":10}\n",
			"SELECT {t:String} || ';' /* and */ || 'INTO OUTFILE x'":                      "elsewhere;INTO OUTFILE x\n",
			"SELECT * FROM guarded INTERSECT SELECT 2":                                    "2\n",
			"EXISTS TABLE guarded":                                                        "1\n",
			"SELECT count() > 0 FROM (SELECT arrayJoin(range(3)) AS file WHERE file > 1)": "1\n",
		} {
			if status, text := as(t, p, token, http.MethodPost, "param_t=elsewhere", sql); status != 200 || text != want {
				t.Errorf("%s: %d, %q", sql, status, text)
			}
		}
	}
	for _, sql := range []string{"INSERT INTO answers (a) FORMAT CSV\n7\n", "INSERT INTO answers SELECT a FROM guarded",
		"DELETE FROM answers WHERE a = 7"} {
		if status, text := as(t, p, pages, http.MethodPost, "", sql); status != 200 {
			t.Errorf("the pages' own: %s: %d, %s", sql, status, text)
		}
	}
}

// Thirty-three sleeping statements of an analyst leave the pages and the pipeline their places.
func TestAnAnalystTakesNobodysPlace(t *testing.T) {
	p := enginetest.Process(t)
	analyst, pages := user(t, p, "sleeper", engine.Analyst), user(t, p, "page", engine.Pages)
	ctx, wake := context.WithCancel(t.Context())
	defer wake()
	db := &enginetest.Database{Name: p.Database(), Process: p}
	var all sync.WaitGroup
	for range 33 {
		all.Go(func() {
			req, _ := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+p.Addr()+"/?max_block_size=1",
				strings.NewReader("SELECT sleepEachRow(1) FROM numbers(50)"))
			req.Header.Set("X-ClickHouse-Key", analyst)
			if resp, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Do(req); err == nil {
				_, _ = io.Copy(io.Discard, resp.Body)
				resp.Body.Close()
			}
		})
	}
	proof.Until(t, "they sleep", func() bool {
		_, text, _ := post(t, db, "", "SELECT countIf(Settings['log_comment'] LIKE '%user sleeper%') >= 2 FROM system.processes")
		return text == "1\n"
	})
	for range 20 {
		for _, token := range []string{pages, p.Token()} {
			if status, text := as(t, p, token, http.MethodPost, "", "SELECT 7"); status != 200 || text != "7\n" {
				t.Errorf("beside sleepers: %d, %s", status, text)
			}
		}
	}
	wake()
	all.Wait()
}

func TestTokensAreRevokedAndFilesChecked(t *testing.T) {
	p := enginetest.Process(t)
	token := user(t, p, "ann", engine.Analyst)
	other := user(t, p, "bob", engine.Analyst)
	open := filepath.Join(p.Users(), "eve.json")
	if err := os.WriteFile(open, []byte(`{"name":"eve","purpose":"analyst","sha256":"`+engine.Hash("known")+`"}`), 0o600); err != nil {
		t.Fatal(err)
	}
	defer os.Remove(open)
	for _, c := range []struct {
		token  string
		before func() error
		want   int
	}{
		{token, nil, 200}, {other, nil, 200}, {"known", nil, 200},
		{"known", func() error { return os.Chmod(open, 0o644) }, 403},
		{"known", func() error { return os.WriteFile(open, []byte("{"), 0o600) }, 403},
		{token, nil, 200},
		{token, func() error { return engine.RevokeUser(p.Users(), "ann") }, 403},
		{other, nil, 200}, {"", nil, 403}, {engine.Hash(p.Token()), nil, 403},
	} {
		if c.before != nil {
			if err := c.before(); err != nil {
				t.Fatal(err)
			}
		}
		if status, text := as(t, p, c.token, http.MethodPost, "", "SELECT 1"); status != c.want {
			t.Errorf("%q: %d, want %d: %s", c.token, status, c.want, text)
		}
	}
	said, err := os.ReadFile(p.Statements())
	if err != nil || !strings.Contains(string(said), `"user":"ann"`) {
		t.Errorf("the list of statements does not say who asked: %v", err)
	}
}

// What is small on the wire does not become large on the disk.
func TestUnpackingIsBounded(t *testing.T) {
	p := enginetest.Process(t)
	var packed bytes.Buffer
	z, _ := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	for range 80 {
		_, _ = z.Write(make([]byte, 1<<20))
	}
	_ = z.Close()
	zipped := func(r *http.Request) { r.Header.Set("Content-Encoding", "gzip") }
	if status, text := as(t, p, p.Token(), http.MethodPost, "", packed.String(), zipped); status != 413 ||
		!strings.Contains(text, "times its length") {
		t.Errorf("%d bytes of gzip: %d, %s", packed.Len(), status, text)
	}
	analyst := user(t, p, "long", engine.Analyst)
	if status, _ := as(t, p, analyst, http.MethodPost, "", "SELECT 1"+strings.Repeat(" ", 2<<20)); status != 413 {
		t.Errorf("an analyst's 2 MB: %d", status)
	}
}
