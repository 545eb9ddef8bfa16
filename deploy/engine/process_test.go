package engine_test

import (
	"bufio"
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/ClickHouse/clickhouse-go/v2"
	"go.uber.org/goleak"

	"fairlead/deploy/engine"
	"fairlead/deploy/engine/enginetest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func binary(t *testing.T) string {
	t.Helper()
	path, err := enginetest.Binary()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func start(t *testing.T, dir string) *engine.Process {
	t.Helper()
	p, err := engine.Start(context.Background(), engine.Options{Binary: binary(t), DataDir: dir})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.Kill)
	return p
}

// Rows whose insert was acknowledged are there after each kill -9, and the engine opens by itself.
func TestAcknowledgedRowsOutliveKills(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	var sent, acknowledged atomic.Uint64
	for round := range 4 {
		p := start(t, dir)
		conn, err := p.Open()
		if err != nil {
			t.Fatal(err)
		}
		if err := conn.Exec(ctx, "CREATE TABLE IF NOT EXISTS t (a UInt64) ENGINE = MergeTree ORDER BY a"); err != nil {
			t.Fatal(err)
		}
		var n, top uint64
		if err := conn.QueryRow(ctx, "SELECT count(), max(a) FROM t").Scan(&n, &top); err != nil {
			t.Fatal(err)
		}
		if n < acknowledged.Load() || n > sent.Load() || top != n {
			t.Fatalf("round %d: %d rows up to %d; %d were acknowledged of %d sent", round, n, top, acknowledged.Load(), sent.Load())
		}
		sent.Store(n)
		acknowledged.Store(n)
		stopped, enough := make(chan struct{}), make(chan struct{})
		go func() {
			defer close(stopped)
			for i := 0; ; i++ {
				if i == 5 {
					close(enough)
				}
				b, err := conn.PrepareBatch(ctx, "INSERT INTO t")
				if err != nil {
					return
				}
				_ = b.Append(sent.Add(1))
				if b.Send() != nil {
					return
				}
				acknowledged.Store(sent.Load())
			}
		}()
		select {
		case <-enough: // the next insert is on its way
		case <-stopped:
			t.Fatal("the writer stopped by itself")
		}
		p.Kill()
		<-stopped
		_ = conn.Close()
	}
}

func TestStopAndStartAgain(t *testing.T) {
	ctx := context.Background()
	t.Setenv("TZ", "America/New_York") // the engine's times are UTC wherever it stands
	dir := t.TempDir()
	p := start(t, dir)
	options, err := clickhouse.ParseDSN(p.DSN())
	if err != nil {
		t.Fatal(err)
	}
	conn, err := clickhouse.Open(options)
	if err != nil {
		t.Fatal(err)
	}
	if err := conn.Exec(ctx, "CREATE TABLE kept ENGINE = MergeTree ORDER BY a AS SELECT toUInt8(7) AS a"); err != nil {
		t.Fatal(err)
	}
	_ = conn.Close()
	if err := p.Stop(); err != nil {
		t.Fatalf("stop: %v", err)
	}
	again := start(t, dir)
	if again.Token() != p.Token() {
		t.Error("the token changed")
	}
	conn, err = again.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	var a uint8
	if err := conn.QueryRow(ctx, "SELECT a FROM kept").Scan(&a); err != nil || a != 7 {
		t.Errorf("%d, %v", a, err)
	}
	var zone string
	if err := conn.QueryRow(ctx, "SELECT timezone()").Scan(&zone); err != nil || !strings.HasSuffix(zone, "UTC") {
		t.Errorf("time zone %q, %v", zone, err)
	}
	var fsync string
	err = conn.QueryRow(ctx, "SELECT arrayStringConcat(groupArray(value), ' ') FROM system.merge_tree_settings WHERE name IN "+
		"('fsync_after_insert', 'fsync_part_directory', 'min_compressed_bytes_to_fsync_after_merge')").Scan(&fsync)
	if err != nil || fsync != "1 1 1" {
		t.Errorf("settings that make an insert durable: %q, %v", fsync, err)
	}
}

func TestTwoEnginesOnOneFolder(t *testing.T) {
	dir := t.TempDir()
	first := start(t, dir)
	_, err := engine.Start(context.Background(), engine.Options{Binary: binary(t), DataDir: dir})
	if err == nil || !strings.Contains(err.Error(), "another engine works on the data folder "+dir) {
		t.Errorf("%v", err)
	}
	conn, err := first.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if err := conn.Ping(context.Background()); err != nil {
		t.Errorf("the first one suffered: %v", err)
	}
}

func TestContextEndsTheEngine(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	p, err := engine.Start(ctx, engine.Options{Binary: binary(t), DataDir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	cancel()
	<-p.Done()
	if err := p.Err(); err != nil {
		t.Errorf("not a clean end: %v", err)
	}
}

// The engine ends when its standard input does, which is what the death of its parent looks like, although a
// statement is running.
func TestEndOfStandardInputEndsTheEngine(t *testing.T) {
	dir := t.TempDir()
	cmd := exec.Command(binary(t), "--data", dir, "--parent-stdin")
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	addr, ok := strings.CutPrefix(strings.TrimSpace(line), "ready http://")
	if err != nil || !ok {
		t.Fatalf("%q, %v", line, err)
	}
	token, err := os.ReadFile(filepath.Join(dir, "token"))
	if err != nil {
		t.Fatal(err)
	}
	conn, err := clickhouse.Open(&clickhouse.Options{Protocol: clickhouse.HTTP, Addr: []string{addr},
		Auth: clickhouse.Auth{Username: "default", Password: strings.TrimSpace(string(token))}})
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	endless := make(chan error, 1)
	go func() {
		endless <- conn.Exec(context.Background(), "SELECT sum(cityHash64(number)) FROM numbers(1000000000000)")
	}()
	_ = in.Close()
	if err := cmd.Wait(); err != nil {
		t.Errorf("not a clean end: %v", err)
	}
	if err := <-endless; err == nil {
		t.Error("an endless statement ended well")
	}
}

func TestWrongUseSaysWhatToTry(t *testing.T) {
	path := binary(t)
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, []byte("no library"), 0o600); err != nil {
		t.Fatal(err)
	}
	empty := filepath.Join(t.TempDir(), "token")
	if err := os.WriteFile(empty, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		args []string
		env  string
		says string
	}{
		"no folder":        {nil, "", `"data" not set`},
		"folder is a file": {[]string{"--data", file}, "", "name another one by --data"},
		"open address":     {[]string{"--data", t.TempDir(), "--listen", "0.0.0.0:0"}, "", "only a loopback address"},
		"no port":          {[]string{"--data", t.TempDir(), "--listen", "127.0.0.1"}, "", "write it as 127.0.0.1:8123"},
		"memory":           {[]string{"--data", t.TempDir(), "--memory", "much"}, "", "write it as 2GiB"},
		"too little":       {[]string{"--data", t.TempDir(), "--memory", "1MB"}, "", "256 MiB at least"},
		"empty token":      {[]string{"--data", t.TempDir(), "--token-file", empty}, "", "delete it, and a new one is made"},
		"no library":       {[]string{"--data", t.TempDir()}, file + "x", "is no file"},
		"not a library":    {[]string{"--data", t.TempDir()}, file, "load the engine library"},
	} {
		t.Run(name, func(t *testing.T) {
			cmd := exec.Command(path, c.args...)
			cmd.Env = os.Environ()
			if c.env != "" {
				cmd.Env = append(cmd.Env, engine.LibraryEnv+"="+c.env)
			}
			out, err := cmd.CombinedOutput()
			if err == nil || !strings.Contains(string(out), c.says) {
				t.Errorf("%v\n%s\nshould say %q", err, out, c.says)
			}
		})
	}
}

func TestMissingLibraryNamesTheCommand(t *testing.T) {
	t.Setenv(engine.LibraryEnv, "")
	t.Chdir(t.TempDir())
	_, err := engine.FindLibrary()
	if !errors.Is(err, engine.ErrNoLibrary) || !strings.Contains(err.Error(), "npm ci") {
		t.Errorf("%v", err)
	}
}
