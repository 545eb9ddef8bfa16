package serve

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"
	"github.com/google/go-cmp/cmp"

	"fairlead/deploy/engine/enginetest"
)

const everyType = `CREATE TABLE shots (
	id FixedString(16), visit UUID, bay LowCardinality(String), at DateTime64(6, 'UTC'),
	carry_m Nullable(Float64), spin_rpm Float32, seq UInt64, tags Map(LowCardinality(String), String),
	marks Array(String), club LowCardinality(Nullable(String)), received DateTime64(9)
) ENGINE = MergeTree ORDER BY (bay, seq)`

type shot struct {
	ID       string            `ch:"id"`
	Visit    string            `ch:"visit"`
	Bay      string            `ch:"bay"`
	At       time.Time         `ch:"at"`
	Carry    *float64          `ch:"carry_m"`
	Spin     float32           `ch:"spin_rpm"`
	Seq      uint64            `ch:"seq"`
	Tags     map[string]string `ch:"tags"`
	Marks    []string          `ch:"marks"`
	Club     *string           `ch:"club"`
	Received time.Time         `ch:"received"`
}

func shots(n int) []shot {
	out := make([]shot, n)
	for i := range out {
		s := shot{
			ID: fmt.Sprintf("%016d", i), Visit: fmt.Sprintf("6ba7b810-9dad-11d1-80b4-%012d", i), Bay: []string{"north", "quay"}[i%2],
			At:   time.Date(2024, 3, 1, 10, 0, 0, 123456000, time.UTC).Add(time.Duration(i) * time.Millisecond),
			Spin: float32(2000 + i), Seq: uint64(i), Tags: map[string]string{"k": fmt.Sprint(i)}, Marks: []string{"a", fmt.Sprint(i)},
			Received: time.Date(2024, 3, 1, 10, 0, 0, 123456789, time.UTC),
		}
		if i%3 > 0 {
			carry, club := 150+float64(i)/7, "seven"
			s.Carry, s.Club = &carry, &club
		}
		out[i] = s
	}
	return out
}

func TestEveryTypeGoesInAndOut(t *testing.T) {
	for name, compression := range map[string]*clickhouse.Compression{
		"plain": nil,
		"LZ4":   {Method: clickhouse.CompressionLZ4},
		"gzip":  {Method: clickhouse.CompressionGZIP, Level: 1},
	} {
		t.Run(name, func(t *testing.T) {
			ctx := context.Background()
			o := enginetest.New(t).Options()
			o.Compression = compression
			o.Settings = clickhouse.Settings{"max_threads": 1}
			if name == "gzip" {
				o.Settings["enable_http_compression"] = 1
			}
			conn, err := clickhouse.Open(o)
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			if err := conn.Exec(ctx, everyType); err != nil {
				t.Fatal(err)
			}
			want := shots(1000)
			batch, err := conn.PrepareBatch(ctx, "INSERT INTO shots")
			if err != nil {
				t.Fatal(err)
			}
			for i := range want {
				if err := batch.AppendStruct(&want[i]); err != nil {
					t.Fatal(err)
				}
			}
			if err := batch.Send(); err != nil {
				t.Fatal(err)
			}
			var got []shot
			if err := conn.Select(ctx, &got, "SELECT * FROM shots ORDER BY seq"); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Error(diff)
			}
			var none []shot
			if err := conn.Select(ctx, &none, "SELECT * FROM shots WHERE seq > 5000"); err != nil || len(none) != 0 {
				t.Errorf("an empty result: %d rows, %v", len(none), err)
			}
		})
	}
}

func TestParametersAndSettings(t *testing.T) {
	ctx := context.Background()
	conn := enginetest.New(t).Open(t)
	if err := conn.Ping(ctx); err != nil {
		t.Fatal(err)
	}
	named := clickhouse.Context(ctx, clickhouse.WithParameters(clickhouse.Parameters{"bay": "it's a \"bay\", ünlike", "n": "7"}))
	var bay string
	var n uint32
	if err := conn.QueryRow(named, "SELECT {bay:String}, {n:UInt32}").Scan(&bay, &n); err != nil || bay != "it's a \"bay\", ünlike" || n != 7 {
		t.Errorf("named: %q, %d, %v", bay, n, err)
	}
	if err := conn.QueryRow(ctx, "SELECT ?, toUInt32(?)", "quay's", 3).Scan(&bay, &n); err != nil || bay != "quay's" || n != 3 {
		t.Errorf("positional: %q, %d, %v", bay, n, err)
	}
	var threads, comment string
	read := "SELECT toString(getSetting('max_threads')), getSetting('log_comment')"
	set := clickhouse.Context(ctx, clickhouse.WithSettings(clickhouse.Settings{"max_threads": 3, "log_comment": "it's mine"}))
	if err := conn.QueryRow(set, read).Scan(&threads, &comment); err != nil || threads != "3" {
		t.Errorf("settings: %s, %v", threads, err)
	}
	// What one request sets, no later one sees.
	for range 20 {
		if err := conn.QueryRow(ctx, read).Scan(&threads, &comment); err != nil || threads == "3" {
			t.Fatalf("setting of another request: %s, %v", threads, err)
		}
	}
	if err := conn.Exec(ctx, "CREATE TEMPORARY TABLE mine (a UInt8)"); err != nil {
		t.Fatal(err)
	}
	var rows uint64
	for range 20 {
		if err := conn.QueryRow(ctx, "SELECT count() FROM mine").Scan(&rows); err == nil {
			t.Fatal("a temporary table outlived its request")
		}
	}
}

func TestErrorsAreExceptions(t *testing.T) {
	ctx := context.Background()
	conn := enginetest.New(t).Open(t)
	if err := conn.Exec(ctx, "CREATE TABLE t (a UInt8) ENGINE = MergeTree ORDER BY a"); err != nil {
		t.Fatal(err)
	}
	code := func(err error) int32 {
		var e *clickhouse.Exception
		if !errors.As(err, &e) {
			t.Errorf("no exception: %v", err)
			return 0
		}
		return e.Code
	}
	_, err := conn.Query(ctx, "SELECT nosuch FROM t")
	if c := code(err); c != 47 {
		t.Errorf("unknown column: code %d", c)
	}
	if c := code(conn.Exec(ctx, "CREATE TABLE t (a UInt8) ENGINE = Memory")); c != 57 {
		t.Errorf("table twice: code %d", c)
	}
	if c := code(conn.Exec(ctx, "INSERT INTO t SELECT throwIf(number = 5) FROM numbers(10)")); c != 395 {
		t.Errorf("insert from a failing query: code %d", c)
	}
	if c := code(conn.Exec(ctx, "SELEC 1")); c != 62 {
		t.Errorf("syntax: code %d", c)
	}

	// An error after the first rows: the status was 200 by then.
	rows, err := conn.Query(ctx, "SELECT number, throwIf(number = 300000) FROM numbers(400000) SETTINGS max_block_size = 10000")
	if err == nil {
		for rows.Next() {
		}
		err = rows.Err()
		_ = rows.Close()
	}
	if c := code(err); c != 395 {
		t.Errorf("in the middle of a result: code %d", c)
	}
}

func TestStatementsRunSideBySide(t *testing.T) {
	ctx := context.Background()
	db := enginetest.New(t)
	o := db.Options()
	o.MaxOpenConns = 16
	conn, err := clickhouse.Open(o)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if err := conn.Exec(ctx, "CREATE TABLE t (w UInt32, i UInt32) ENGINE = MergeTree ORDER BY (w, i)"); err != nil {
		t.Fatal(err)
	}
	const writers, each = 8, 4
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			for i := range each {
				b, err := conn.PrepareBatch(ctx, "INSERT INTO t")
				if err != nil {
					t.Error(err)
					return
				}
				for k := range 100 {
					_ = b.Append(uint32(w), uint32(i*100+k))
				}
				if err := b.Send(); err != nil {
					t.Error(err)
				}
				var n, distinct uint64
				err = conn.QueryRow(ctx, "SELECT count(), uniqExact(i) FROM t WHERE w = ?", w).Scan(&n, &distinct)
				if want := uint64(i+1) * 100; err != nil || n != want || distinct != want {
					t.Errorf("writer %d sees %d rows (%d) after %d, %v", w, n, distinct, want, err)
				}
			}
		})
	}
	wg.Wait()
}
