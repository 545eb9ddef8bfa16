package journal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

// history is what a model of the outside world remembers of a journal's life.
type history struct {
	acked   map[string]map[uint64]string // journal, seq: what was acknowledged, or read once
	tried   map[string]bool              // every payload that was handed over
	lastPos string                       // of the last acknowledged append
	maybe   []string                     // positions handed over since, and not acknowledged
	n       int
}

// check compares what can be read with what was promised.
func (h *history) check(t *rapid.T, j *Journal, when string) {
	t.Helper()
	now := map[string]map[uint64]string{}
	for _, i := range j.Journals() {
		now[i.ID] = readAllRapid(t, j, i.ID)
		if len(i.Quarantined) > 0 {
			t.Fatalf("%s: damage where there was none: %+v", when, i.Quarantined)
		}
		if n := uint64(len(now[i.ID])); n != i.Last+1-i.First {
			t.Fatalf("%s: journal %s goes from %d to %d and has %d entries", when, i.ID, i.First, i.Last, n)
		}
	}
	for id, want := range h.acked {
		for seq, payload := range want {
			if got, ok := now[id][seq]; !ok || got != payload {
				t.Fatalf("%s: journal %s seq %d: acknowledged %.20q, found %v %.20q", when, id, seq, payload, ok, got)
			}
		}
	}
	for id, got := range now {
		for seq, payload := range got {
			if !h.tried[payload] {
				t.Fatalf("%s: journal %s seq %d holds %.20q, which nobody appended", when, id, seq, payload)
			}
		}
		if h.acked[id] == nil {
			h.acked[id] = map[uint64]string{}
		}
		maps.Copy(h.acked[id], got) // whoever read it may have passed it on
	}
	if p := string(j.Positions()["range"]); p != h.lastPos && !slices.Contains(h.maybe, p) {
		t.Fatalf("%s: position %q, acknowledged %q, perhaps %q", when, p, h.lastPos, h.maybe)
	}
}

func readAllRapid(t *rapid.T, j *Journal, id string) map[uint64]string {
	r := j.Read(id, 1)
	defer r.Close()
	got := map[uint64]string{}
	for {
		e, ok, err := r.TryNext()
		if !ok {
			if err != nil && err.Error() != "EOF" {
				t.Fatal(err)
			}
			return got
		}
		got[e.Seq] = string(e.Payload)
	}
}

func (h *history) append(j *Journal, sizes []int) error {
	var recs []Record
	pos := ""
	for _, size := range sizes {
		h.n++
		pos = fmt.Sprint(h.n)
		payload := fmt.Sprintf("%d %s", h.n, bytes.Repeat([]byte{byte(h.n)}, size))
		h.tried[payload] = true
		recs = append(recs, Record{Payload: []byte(payload), Positions: []Position{{"range", []byte(pos)}}})
		h.maybe = append(h.maybe, pos)
	}
	first, err := j.Append(context.Background(), recs...)
	if err != nil {
		return err
	}
	h.lastPos, h.maybe = pos, nil
	id := j.ID()
	if h.acked[id] == nil {
		h.acked[id] = map[uint64]string{}
	}
	for i, r := range recs {
		h.acked[id][first+uint64(i)] = string(r.Payload)
	}
	return nil
}

// Whatever fails, whenever the power goes: what was acknowledged, or read once,
// stays under its number, and nothing else turns up.
func TestNothingAcknowledgedIsLost(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		d := newMemDisk()
		dir := tempDir(t)
		h := &history{acked: map[string]map[uint64]string{}, tried: map[string]bool{}}
		var j *Journal
		open := func(when string, faults bool) {
			var report Report
			var err error
			j, report, err = Open(Options{Dir: dir, Studio: "Harbour Row", Bay: "north", Machine: "m",
				SegmentBytes: minSegmentBytes, disk: d, Now: func() time.Time { return time.Unix(1, 0) }})
			if err != nil {
				t.Fatalf("%s: %v", when, err)
			}
			if report.Began != "" && len(h.acked) > 0 && !faults && report.Began != "the beginning of the last file is missing" {
				t.Fatalf("%s: a new journal: %+v", when, report)
			}
			h.check(t, j, when)
		}
		abandon := func() { // as a killed process does
			j.mu.Lock()
			j.closed = true
			j.mu.Unlock()
			j.unlock()
		}
		open("first", false)
		t.Repeat(map[string]func(*rapid.T){
			"append": func(t *rapid.T) {
				sizes := rapid.SliceOfN(rapid.OneOf(rapid.IntRange(0, 40), rapid.IntRange(400, 1500)), 1, 5).Draw(t, "sizes")
				if err := h.append(j, sizes); err != nil {
					t.Fatal(err)
				}
			},
			"positions": func(t *rapid.T) {
				h.n++
				h.maybe = append(h.maybe, fmt.Sprint(h.n))
				if err := j.SetPositions(context.Background(), Position{"range", []byte(fmt.Sprint(h.n))}); err != nil {
					t.Fatal(err)
				}
				h.lastPos, h.maybe = fmt.Sprint(h.n), nil
			},
			"kill": func(t *rapid.T) {
				abandon()
				open("after a kill", false)
			},
			"power cut": func(t *rapid.T) {
				abandon()
				d.powerCut(rng)
				open("after a power cut", false)
			},
			"power cut in a group": func(t *rapid.T) {
				// The group is in the cache, and its sync never came back.
				if j.out == nil {
					return
				}
				d.failSync = 1
				j.out = noLossFile{j.out, d}
				if err := h.append(j, []int{700, 3, 900, 20}); err == nil {
					t.Fatal("acknowledged without a sync")
				}
				abandon()
				d.powerCut(rng)
				open("after a power cut in a group", false)
			},
			"EIO": func(t *rapid.T) {
				d.failSync = rapid.IntRange(0, 2).Draw(t, "syncs")
				d.failWrite = rapid.IntRange(0, 2).Draw(t, "writes")
				for tries := 0; ; tries++ {
					err := h.append(j, []int{10, 600, 1000})
					if err == nil {
						break
					}
					if e := (*IOError)(nil); !errors.As(err, &e) || tries > 5 {
						t.Fatal(err)
					}
				}
				d.failSync, d.failWrite = 0, 0
				h.check(t, j, "after EIO")
			},
			"EIO, then the end": func(t *rapid.T) {
				d.failSync = 1
				_ = h.append(j, []int{10, 600, 1000})
				abandon()
				if rapid.Bool().Draw(t, "power") {
					d.powerCut(rng)
				}
				d.failSync = rapid.IntRange(0, 1).Draw(t, "again")
				open("after EIO and the end", true)
				d.failSync = 0
			},
			"full": func(t *rapid.T) {
				d.fullAfter = rapid.IntRange(0, 2000).Draw(t, "room")
				err := h.append(j, []int{10, 600, 1000})
				if err != nil && !errors.Is(err, ErrFull) {
					t.Fatal(err)
				}
				if rapid.Bool().Draw(t, "restart") {
					abandon()
					open("while full", false)
				}
				d.fullAfter = -1
			},
			"rotate": func(t *rapid.T) {
				if err := j.Rotate("the hub knows more"); err != nil {
					t.Fatal(err)
				}
			},
			"": func(t *rapid.T) { h.check(t, j, "at any time") },
		})
		j.Close()
	})
}

// noLossFile's next sync fails without forgetting what is pending, as when the
// power goes while it is under way.
type noLossFile struct {
	file
	d *memDisk
}

func (f noLossFile) sync() error {
	if f.d.failSync > 0 {
		f.d.failSync--
		return errors.New("the power is going")
	}
	return f.file.sync()
}
