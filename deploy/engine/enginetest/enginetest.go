// Package enginetest gives tests the real ClickHouse engine: one process for a test binary, and a database of
// its own for each test. Where the engine's library is missing the test fails with the command that gets it;
// it is never skipped.
//
//	func TestMain(m *testing.M) { goleak.VerifyTestMain(enginetest.Wrap(m)) }
//
//	func TestTrialRows(t *testing.T) {
//		db := enginetest.New(t)
//		conn := db.Open(t)
package enginetest

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"
	"github.com/ClickHouse/clickhouse-go/v2/lib/driver"

	"fairlead/deploy/engine"
)

var shared struct {
	sync.Mutex
	wrapped bool
	dir     string
	process *engine.Process
	err     error
	count   int
}

type wrapped struct{ m *testing.M }

// Wrap makes the tests of m able to use the engine, and stops it after them. Its result is what
// goleak.VerifyTestMain takes; without goleak: os.Exit(enginetest.Wrap(m).Run()).
func Wrap(m *testing.M) interface{ Run() int } { return wrapped{m} }

func (w wrapped) Run() int {
	shared.Lock()
	shared.wrapped = true
	shared.Unlock()
	code := w.m.Run()
	shared.Lock()
	defer shared.Unlock()
	if shared.process != nil {
		if err := shared.process.Stop(); err != nil {
			fmt.Fprintln(os.Stderr, "enginetest: the engine did not end cleanly:", err)
			code = max(code, 1)
		}
	}
	if shared.dir != "" {
		_ = os.RemoveAll(shared.dir)
	}
	return code
}

// Process returns the shared engine and starts it at the first call.
func Process(t testing.TB) *engine.Process {
	t.Helper()
	shared.Lock()
	defer shared.Unlock()
	if !shared.wrapped {
		t.Fatal("enginetest: TestMain has to call goleak.VerifyTestMain(enginetest.Wrap(m)), or os.Exit(enginetest.Wrap(m).Run())")
	}
	if shared.process == nil && shared.err == nil {
		shared.process, shared.err = start()
	}
	if shared.err != nil {
		t.Fatalf("enginetest: %v", shared.err)
	}
	return shared.process
}

func start() (*engine.Process, error) {
	dir, err := os.MkdirTemp("", "fairlead-engine-*")
	if err != nil {
		return nil, err
	}
	shared.dir = dir
	binary, err := Binary()
	if err != nil {
		return nil, err
	}
	return engine.Start(context.Background(), engine.Options{Binary: binary, DataDir: filepath.Join(dir, "data"), Stderr: os.Stderr})
}

// Binary builds the engine's program from the source at hand, once for a test binary, and returns its path. For
// tests that start engines of their own.
func Binary() (string, error) { return built() }

var built = sync.OnceValues(func() (string, error) {
	if _, err := engine.FindLibrary(); err != nil {
		return "", err
	}
	return engine.Build(context.Background())
})

// Database is an empty database of one test.
type Database struct {
	Name    string
	Process *engine.Process
}

// New makes a database; it is dropped when the test ends.
func New(t testing.TB) *Database {
	t.Helper()
	p := Process(t)
	shared.Lock()
	shared.count++
	name := fmt.Sprintf("test_%d", shared.count)
	shared.Unlock()
	if err := run(p, "CREATE DATABASE "+name); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		// What a process that has just ended still had under way may make a table yet.
		err := run(p, "DROP DATABASE "+name+" SYNC")
		for try := 0; try < 20 && err != nil; try++ {
			<-time.After(250 * time.Millisecond)
			err = run(p, "DROP DATABASE IF EXISTS "+name+" SYNC")
		}
		if err != nil {
			t.Fatal(err)
		}
	})
	return &Database{Name: name, Process: p}
}

func run(p *engine.Process, sql string) error {
	conn, err := p.Open()
	if err == nil {
		err = conn.Exec(context.Background(), sql)
		_ = conn.Close()
	}
	if err != nil {
		return fmt.Errorf("enginetest: %s: %w", sql, err)
	}
	return nil
}

// Options is how to reach the database by clickhouse-go.
func (d *Database) Options() *clickhouse.Options {
	o := d.Process.ClickHouse()
	o.Auth.Database = d.Name
	return o
}

// DSN is how to reach the database by one string.
func (d *Database) DSN() string {
	return engine.DSN(d.Process.Addr(), d.Process.Token(), d.Name)
}

// Open connects to the database; the connection is closed when the test ends.
func (d *Database) Open(t testing.TB) driver.Conn {
	t.Helper()
	conn, err := clickhouse.Open(d.Options())
	if err != nil {
		t.Fatalf("enginetest: connect: %v", err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	return conn
}
