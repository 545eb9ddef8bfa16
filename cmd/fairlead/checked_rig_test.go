package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fairlead/deploy/proof"
	"fairlead/deploy/studio"
	"fairlead/ingest/contract/event"
	"fairlead/processors/sim"
)

// plainMap reads what the devices of a checked studio write.
const plainMap = `map: 1
device: %s
role: ball
format: csv
shot_id: {columns: [id]}
%sfields:
  carry: {column: carry, unit: m}
  offline: {column: offline, unit: m}
`

const plainTime = `time: {columns: [at], layout: "2006-01-02T15:04:05.000Z07:00"}
`

// checked is a studio in real processes whose devices write plain files, and whose
// fitters' commands are listed with when they were taken: all that the checker, a
// program that shares nothing with Fairlead, is told.
type checked struct {
	*rig
	checker string
	feeds   string
	diary   diary
	walls   *walls // nil: they are the test's own

	mu       sync.Mutex
	commands *os.File
}

// newChecked writes one with that many bays; data is its data folder, empty for the
// usual one, before are lines that the devices wrote before anybody read them, and
// nobody reads the times of clockless ones.
func newChecked(t *testing.T, bays []string, data string, before int, clockless bool) *checked {
	t.Helper()
	clock := plainTime
	if clockless {
		clock = ""
	}
	if data == "" {
		data = "var"
	}
	r := &rig{t: t, program: program(t), dir: t.TempDir(), log: &lockedBuffer{}}
	c := &checked{rig: r, feeds: filepath.Join(r.dir, "feeds"), checker: filepath.Join(r.dir, "checker")}
	build := exec.Command("go", "build", "-o", c.checker, "fairlead/deploy/proof/checker")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	var at [3]string
	for i := range at {
		address, err := studio.FreeAddress(0)
		if err != nil {
			t.Fatal(err)
		}
		at[i] = address
	}
	config := fmt.Sprintf("studio: harbour-row\ndata: %s\nbroker: {listen: %q}\nstore: {listen: %q}\n"+
		"metrics: {listen: \"127.0.0.1:0\"}\nconsole: {open: true, listen: %q}\nbays:\n", data, at[0], at[1], at[2])
	if err := os.MkdirAll(c.feeds, 0o755); err != nil {
		t.Fatal(err)
	}
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(r.dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, bay := range bays {
		config += fmt.Sprintf("  - {name: %s, feeds: [{name: ball, map: %s.yaml, tail: feeds/%s.csv}]}\n", bay, bay, bay)
		write(bay+".yaml", fmt.Sprintf(plainMap, "willow-"+bay, clock))
		write("feeds/"+bay+".csv", "id,at,carry,offline,hit\n"+old(before))
	}
	write("studio.yaml", config)
	var err error
	if r.config, err = studio.Load(filepath.Join(r.dir, "studio.yaml")); err != nil {
		t.Fatal(err)
	}
	if c.commands, err = os.Create(filepath.Join(r.dir, "commands.jsonl")); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		r.stop()
		c.commands.Close()
		if t.Failed() {
			text := r.log.String()
			t.Logf("the processes said:\n%s", text[max(0, len(text)-12000):])
		}
	})
	return c
}

// old are lines of the last weeks: each is nobody's.
func old(n int) string {
	var b strings.Builder
	begin := time.Now().Add(-20 * 24 * time.Hour)
	for i := range n {
		at := begin.Add(time.Duration(i) * 19 * 24 * time.Hour / time.Duration(n)).UTC().Format(deviceTime)
		fmt.Fprintf(&b, "%d,%s,%.1f,%.1f,%s\n", oldFrom+i, at, 150+float64(i%200)/10, float64(i%90)/10-4, at)
	}
	return b.String()
}

const (
	deviceTime = "2006-01-02T15:04:05.000Z"
	oldFrom    = 10_000_000 // the number of the first
)

// judged is what the checker says.
type judged struct {
	Lines, Lost, Doubled, Strange, Altered, Mistagged, Asked int

	TrialsWrong int `json:"trials_wrong"`
}

var httpClient = http.Client{Timeout: 10 * time.Second}

// check has the checker look until it finds all as it should be. It gives up when
// nothing becomes right for a while: how long all of it takes is the machine's matter.
func (c *checked) check(within time.Duration) (out judged) {
	c.t.Helper()
	var said []byte
	fewest := math.MaxInt
	for deadline := time.Now().Add(within); time.Now().Before(deadline); proof.Pause(c.t, 500*time.Millisecond) {
		cmd := exec.Command(c.checker, "-feeds", c.feeds, "-commands", c.commands.Name(), "-sql", "http://"+c.config.Store.Listen,
			"-token", c.config.EngineTokenFile())
		var problem bytes.Buffer
		cmd.Stderr = &problem
		var err error
		if said, err = cmd.Output(); err == nil {
			if err := json.Unmarshal(said, &out); err != nil {
				c.t.Fatal(err)
			}
			return out
		}
		var so judged
		if json.Unmarshal(said, &so) == nil {
			if wrong := so.Lost + so.Doubled + so.Strange + so.Altered + so.Mistagged + so.TrialsWrong; wrong < fewest {
				fewest, deadline = wrong, time.Now().Add(within)
			}
		}
		said = append(said, problem.Bytes()...)
	}
	c.t.Fatalf("not as it should be, and nothing became right for %v: %s", within, said)
	return out
}

// hand is a bay's device and fitter.
type hand struct {
	c       *checked
	bay     string
	rng     *rand.Rand
	console *sim.ConsoleHand
	shots   int
	held    []string // lines that the device writes late
	kept    time.Time
	n       int           // commands
	off     time.Duration // of the device's clock
	onPC    bool          // which is that of the bay's PC then
	outage  *outage
}

func (c *checked) hand(bay string, seed uint64, o *outage) *hand {
	return &hand{c: c, bay: bay, outage: o, rng: rand.New(rand.NewPCG(seed, uint64(len(bay)))),
		console: &sim.ConsoleHand{URL: "http://" + c.config.Console.Listen}}
}

// swing writes a shot, or keeps it back for later.
func (h *hand) swing(late bool) (id string) {
	text := h.line()
	id = fmt.Sprint(h.shots)
	if late {
		if len(h.held) == 0 {
			h.kept = time.Now()
		}
		h.held = append(h.held, text)
		return id
	}
	h.outage.wrote(h.bay, id)
	h.write(text)
	return id
}

// burst writes many shots of one moment.
func (h *hand) burst(n int) {
	var b strings.Builder
	for range n {
		b.WriteString(h.line())
	}
	h.outage.wrote(h.bay, fmt.Sprint(h.shots))
	h.write(b.String())
}

func (h *hand) line() string {
	h.shots++
	now, off := time.Now().UTC(), h.off
	if h.onPC {
		off += time.Duration(h.c.walls.off[1].Load()) * time.Second
	}
	return fmt.Sprintf("%d,%s,%.1f,%.1f,%s\n", h.shots, now.Add(off).Format(deviceTime), 140+20*h.rng.Float64(), 5*h.rng.NormFloat64(),
		now.Format(deviceTime))
}

func (h *hand) write(text string) {
	f, err := os.OpenFile(filepath.Join(h.c.feeds, h.bay+".csv"), os.O_APPEND|os.O_WRONLY, 0)
	if err == nil {
		_, err = f.WriteString(text)
		f.Close()
	}
	if err != nil {
		h.c.t.Error(err)
	}
}

// release writes what the device kept back.
func (h *hand) release() {
	h.write(strings.Join(h.held, ""))
	h.held = nil
}

// say tells the console until it is kept, and lists it for the checker.
func (h *hand) say(ctx context.Context, do, trial, shot string, ev *event.VisitEvent) error {
	h.n++
	ev.Contract, ev.Studio, ev.Bay, ev.Id = event.Contract, h.c.config.Studio, h.bay, fmt.Sprintf("%s-%d", h.bay, h.n)
	from := time.Now().UTC()
	// What was begun is seen through: the list has all that was kept.
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Minute)
	defer cancel()
	if _, err := h.console.Do(ctx, ev); err != nil {
		return err
	}
	if do == "" {
		return nil
	}
	text, err := json.Marshal(map[string]any{"bay": h.bay, "do": do, "trial": trial, "shot": shot, "from": from, "to": time.Now().UTC()})
	if err != nil {
		return err
	}
	h.c.mu.Lock()
	defer h.c.mu.Unlock()
	_, err = h.c.commands.Write(append(text, '\n'))
	return err
}

func (h *hand) idOf(shot string) []byte {
	id := event.ShotIDFor("willow-"+h.bay, shot)
	return id[:]
}
