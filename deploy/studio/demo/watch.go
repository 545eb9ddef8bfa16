package demo

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"sync"
	"time"

	"fairlead/deploy/studio"
	"fairlead/processors/sim"
)

// Watch takes the truth as the simulator writes it, and looks at the live state
// as a page does: how long after its line was written a shot shows.
type Watch struct {
	console string

	mu        sync.Mutex
	partial   []byte
	lines     map[string]sim.LineRecord // by shot id: the first valid line
	waiting   map[string]map[string]int64
	latencies []time.Duration
}

// NewWatch watches a studio whose console runs.
func NewWatch(config *studio.Config) *Watch {
	return &Watch{console: "http://" + config.Console.Listen, lines: map[string]sim.LineRecord{}, waiting: map[string]map[string]int64{}}
}

// Write takes truth records, whole or in parts.
func (w *Watch) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.partial = append(w.partial, p...)
	for {
		i := bytes.IndexByte(w.partial, '\n')
		if i < 0 {
			return len(p), nil
		}
		var r sim.LineRecord
		if json.Unmarshal(w.partial[:i], &r) == nil && r.Record == "line" && r.Valid {
			if _, seen := w.lines[r.ShotID]; !seen {
				w.lines[r.ShotID] = r
				if w.waiting[r.Bay] == nil {
					w.waiting[r.Bay] = map[string]int64{}
				}
				w.waiting[r.Bay][r.ShotID] = r.Written
			}
		}
		w.partial = w.partial[i+1:]
	}
}

// follow reads a bay's live states until ctx ends, and again after a break.
func (w *Watch) follow(ctx context.Context, bay string) {
	for ctx.Err() == nil {
		w.read(ctx, bay)
		select {
		case <-ctx.Done():
		case <-time.After(50 * time.Millisecond):
		}
	}
}

func (w *Watch) read(ctx context.Context, bay string) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, w.console+"/api/bays/"+bay+"/live", nil)
	if err != nil {
		return
	}
	resp, err := http.DefaultClient.Do(request)
	if err != nil {
		return
	}
	defer resp.Body.Close()
	lines := bufio.NewReaderSize(resp.Body, 1<<20)
	for {
		line, err := lines.ReadBytes('\n')
		if err != nil {
			return
		}
		if bytes.HasPrefix(line, []byte("data:")) {
			w.shown(bay, line, time.Now().UnixNano())
		}
	}
}

func (w *Watch) shown(bay string, state []byte, now int64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for id, written := range w.waiting[bay] {
		if bytes.Contains(state, []byte(id)) {
			w.latencies = append(w.latencies, time.Duration(now-written))
			delete(w.waiting[bay], id)
		}
	}
}

// p returns a quantile of the latencies in ms, and how many there are.
func (w *Watch) p(q float64) (ms float64, n int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if len(w.latencies) == 0 {
		return 0, 0
	}
	sorted := slices.Sorted(slices.Values(w.latencies))
	return float64(sorted[min(int(q*float64(len(sorted))), len(sorted)-1)]) / 1e6, len(sorted)
}
