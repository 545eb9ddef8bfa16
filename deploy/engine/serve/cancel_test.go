package serve

import (
	"context"
	"fmt"
	"os"
	"regexp"
	"strconv"
	"testing"

	"github.com/ClickHouse/clickhouse-go/v2"
	"github.com/ClickHouse/clickhouse-go/v2/lib/driver"

	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
)

// running counts the statements with the given text; the asking one does not count.
func running(t *testing.T, conn driver.Conn, mark string) uint64 {
	t.Helper()
	var n uint64
	err := conn.QueryRow(context.Background(),
		"SELECT count() FROM system.processes WHERE query LIKE ? AND query NOT LIKE '%system.processes%'", "%"+mark+"%").Scan(&n)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestWhoGoesAwayHasTheirStatementKilled(t *testing.T) {
	db := enginetest.New(t)
	conn := db.Open(t)
	for name, sql := range map[string]string{
		"streamed":   "SELECT sum(cityHash64(number, 'streamed')) FROM numbers(1000000000000)",
		"in one go":  "SELECT sum(cityHash64(number, 'in one go')) FROM numbers(1000000000000) FORMAT JSON",
		"with rows":  "SELECT number, 'with rows' FROM numbers(1000000000000)",
		"statement":  "INSERT INTO FUNCTION null('a UInt64') SELECT cityHash64(number, 'statement') FROM numbers(1000000000000)",
		"a setting":  "SELECT sum(cityHash64(number, 'a setting')) FROM numbers(1000000000000)",
		"a database": "SELECT sum(cityHash64(number, 'a database')) FROM numbers(1000000000000)",
	} {
		t.Run(name, func(t *testing.T) {
			o := db.Options()
			if name == "a setting" {
				o.Settings = clickhouse.Settings{"log_comment": "of the user"}
			}
			if name == "a database" {
				o.Auth.Database = "system"
			}
			mine, err := clickhouse.Open(o)
			if err != nil {
				t.Fatal(err)
			}
			defer mine.Close()
			ctx, cancel := context.WithCancel(context.Background())
			done := make(chan error, 1)
			go func() { done <- mine.Exec(ctx, sql) }()
			proof.Until(t, "the statement runs", func() bool { return running(t, conn, "'"+name+"'") == 1 })
			cancel()
			// Exec throws rows away, and with them the error of reading them.
			if err := <-done; err == nil && name != "with rows" {
				t.Error("the client saw no error")
			}
			proof.Until(t, "the statement ends", func() bool { return running(t, conn, "'"+name+"'") == 0 })
		})
	}
}

func TestKillQueryAndTimeLimit(t *testing.T) {
	ctx := context.Background()
	db := enginetest.New(t)
	conn, other := db.Open(t), db.Open(t)
	done := make(chan error, 1)
	go func() {
		done <- conn.Exec(ctx, "SELECT sum(cityHash64(number, 'kill me')) FROM numbers(1000000000000)")
	}()
	proof.Until(t, "the statement runs", func() bool { return running(t, other, "'kill me'") == 1 })
	if err := other.Exec(ctx, "KILL QUERY WHERE query LIKE '%kill me%' AND query NOT LIKE 'KILL%' SYNC"); err != nil {
		t.Fatal(err)
	}
	if err := <-done; err == nil {
		t.Error("a killed statement gave no error")
	}
	err := conn.Exec(ctx, "SELECT sum(cityHash64(number)) FROM numbers(1000000000000) SETTINGS max_execution_time = 0.2")
	if err == nil {
		t.Error("a statement beyond its time gave no error")
	}
}

// A result many times larger than what the engine may use at a time goes through.
func TestLargeResultInLittleMemory(t *testing.T) {
	ctx := context.Background()
	db := enginetest.New(t)
	conn := db.Open(t)
	before := resident(t, db.Process.Pid())
	rows, err := conn.Query(ctx, "SELECT number, toString(number), repeat('x', 60) FROM numbers(3000000)")
	if err != nil {
		t.Fatal(err)
	}
	var n, sum, x, peak uint64
	var s, pad string
	for rows.Next() {
		if err := rows.Scan(&x, &s, &pad); err != nil {
			t.Fatal(err)
		}
		n, sum = n+1, sum+x
		if n%500000 == 0 {
			peak = max(peak, resident(t, db.Process.Pid()))
		}
	}
	if err := rows.Err(); err != nil || n != 3000000 || sum != 2999999*3000000/2 {
		t.Errorf("%d rows, sum %d, %v", n, sum, err)
	}
	_ = rows.Close()
	const bytes, allowed = 3000000 * 76, 100 << 20
	if grew := int64(peak) - int64(before); grew > allowed {
		t.Errorf("the engine grew by %d MiB while it sent %d MiB", grew>>20, bytes>>20)
	}
}

var residentLine = regexp.MustCompile(`VmRSS:\s+(\d+) kB`)

// resident is the memory of a process. Only Linux tells it without a tool.
func resident(t *testing.T, pid int) uint64 {
	t.Helper()
	b, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	m := residentLine.FindSubmatch(b)
	if m == nil {
		return 0
	}
	kb, _ := strconv.ParseUint(string(m[1]), 10, 64)
	return kb << 10
}
