package process

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"

	"fairlead/deploy/proof"
	"fairlead/ingest/bay/collector"
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/steady"
	"fairlead/ingest/log/stream"
)

const fieldMap = `
map: 1
device: %s
role: ball
format: csv
shot_id: {columns: [id]}
fields:
  carry: {column: carry, unit: m}
  offline: {column: offline, unit: m}
  ball_speed: {column: ball, unit: m/s}
  launch_angle: {column: launch, unit: deg, optional: true}
  spin_rate: {column: spin, unit: rpm, optional: true}
`

// bay is a bay whose device writes a file. What it wrote is the truth that the
// store is compared with.
type bay struct {
	b       *bench
	place   stream.Place
	device  string
	file    string
	journal string // folder
	machine string
	lines   int  // shots written: their ids are 1 to lines
	blind   bool // of every third shot the device sees the launch and not the flight
	metrics *prometheus.Registry
	tail    *feed.Tail // nil: no collector runs
	wrote   bool       // something that the bay may not have read yet
	end     func()
}

// bay makes a bay with its device's file and starts its collector.
func (b *bench) bay(name string) *bay { return b.bayWith(name, false) }

func (b *bench) bayWith(name string, blind bool) *bay {
	b.t.Helper()
	y := &bay{b: b, blind: blind, place: stream.Place{Studio: b.studio, Bay: name}, device: "willow-" + name, machine: "pc-" + name,
		file: filepath.Join(b.dir, name+".csv"), journal: filepath.Join(b.dir, "journal-"+name)}
	header := "id,carry,offline,ball"
	if blind {
		header += ",launch,spin"
	}
	if err := os.WriteFile(y.file, []byte(header+"\n"), 0o600); err != nil {
		b.t.Fatal(err)
	}
	if b.keyring != nil {
		err := b.keyring.Ensure(stream.Grant{Name: stream.BayCredential(name), Role: stream.RoleBay, Studio: b.studio, Bay: name})
		if err != nil {
			b.t.Fatal(err)
		}
	}
	b.bays = append(b.bays, y)
	y.start()
	return y
}

func (y *bay) start() {
	y.b.t.Helper()
	m, err := feed.ParseMap("map.yaml", fmt.Appendf(nil, fieldMap, y.device))
	if err != nil {
		y.b.t.Fatal(err)
	}
	tail, err := feed.NewTail(feed.TailConfig{Map: m, Path: y.file})
	if err != nil {
		y.b.t.Fatal(err)
	}
	y.metrics, y.tail = prometheus.NewRegistry(), tail
	o := collector.Options{
		Place: y.place, JournalDir: y.journal, Machine: y.machine, Link: y.b.link(stream.BayCredential(y.place.Bay), y.place),
		Feeds: []collector.Feed{{Name: "ball", Source: tail}}, Retention: time.Hour, Logger: y.b.log, Registry: y.metrics,
	}
	y.end = y.b.run(func(ctx context.Context) error { return collector.Run(ctx, o) })
}

func (y *bay) stop() {
	y.end()
	y.tail = nil
}

// backUp copies the folder of the bay's journal as it is now, the bay stopped meanwhile.
func (y *bay) backUp() (dir string) {
	y.b.t.Helper()
	y.stop()
	dir = filepath.Join(y.b.t.TempDir(), "copy")
	if err := os.CopyFS(dir, os.DirFS(y.journal)); err != nil {
		y.b.t.Fatal(err)
	}
	y.start()
	return dir
}

// looks has the bay look at its device's file, within a minute: whatever was
// written is read by then, and what is written next is known to come after now, by the
// hub's clock as the bay knows it. Who looks seldom, on a busy machine, knows of a line
// only that it was written since its last look; and where a club was changed between, the
// shot is nobody's until somebody says whose it is.
func (y *bay) looks() {
	y.b.t.Helper()
	if y.tail == nil {
		return
	}
	since := steady.System().Since
	offset := sum(y.metrics, "fairlead_collect_clock_offset_seconds", "")
	trip := sum(y.metrics, "fairlead_collect_clock_round_trip_seconds", "")
	proof.Pause(y.b.t, time.Duration((math.Abs(offset)+trip)*float64(time.Second)))
	now := since()
	if err := os.Chtimes(y.file, time.Time{}, time.Now()); err != nil { // it looks closer at what seems changed
		y.b.t.Fatal(err)
	}
	for end := now + time.Minute; y.tail.Looked() < now && since() < end; {
		proof.Pause(y.b.t, 5*time.Millisecond)
	}
	y.wrote = false
}

// hit writes n more shots as the device does.
func (y *bay) hit(n int) {
	y.b.t.Helper()
	f, err := os.OpenFile(y.file, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		y.b.t.Fatal(err)
	}
	defer f.Close()
	y.wrote = true
	var text []byte
	for range n {
		y.lines++
		i := y.lines
		switch {
		case y.blind && i%3 == 0:
			text = fmt.Appendf(text, "%d,,,%.1f,%.1f,%d\n", i, 52.5, 15+float64(i%4), 6000+10*i)
		case y.blind:
			text = fmt.Appendf(text, "%d,%.1f,%.1f,%.1f,,\n", i, 150+float64(i%9), float64(i%5)-2, 52.5)
		default:
			text = fmt.Appendf(text, "%d,%.1f,%.1f,%.1f\n", i, 150+float64(i%9), float64(i%5)-2, 52.5)
		}
	}
	if _, err := f.Write(text); err != nil {
		y.b.t.Fatal(err)
	}
}

// write appends a line as it is.
func (y *bay) write(line string) {
	y.b.t.Helper()
	f, err := os.OpenFile(y.file, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		y.b.t.Fatal(err)
	}
	defer f.Close()
	y.wrote = true
	if _, err := f.WriteString(line + "\n"); err != nil {
		y.b.t.Fatal(err)
	}
}

// id is the id of the device's i-th shot.
func (y *bay) id(i int) event.ShotID { return event.ShotIDFor(y.device, fmt.Sprint(i)) }

func (y *bay) ids(from, to int) (out [][]byte) {
	for i := from; i <= to; i++ {
		id := y.id(i)
		out = append(out, id[:])
	}
	return out
}

// stored counts the bay's distinct shots in the store.
func (y *bay) stored() int {
	var n uint64
	err := y.b.store.Conn().QueryRow(context.Background(), "SELECT uniqExact(shot_id) FROM entries WHERE studio = ? AND bay = ?",
		y.place.Studio, y.place.Bay).Scan(&n)
	if err != nil {
		return -1
	}
	return int(n)
}

// arrived waits until all that was written is stored.
func (y *bay) arrived() {
	y.b.t.Helper()
	y.b.untilStored(fmt.Sprintf("%d shots of %s stored", y.lines, y.place.Bay), func() bool { return y.stored() >= y.lines })
}

// nudge gives the hub the bay's heartbeat now, rather than within ten seconds.
func nudge(nc *nats.Conn, place stream.Place) {
	if m, err := nc.Request(place.AskSubject(), nil, time.Second); err == nil {
		nc.Publish(place.HealthSubject(), m.Data)
	}
}
