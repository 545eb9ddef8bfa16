package steady

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/durable"
)

// Hub is the hub's clock, which visit events and shots are ordered by. In each
// boot it begins at the wall clock, but never before where it stood in an
// earlier one, and runs on without a step whatever is done to the wall clock.
// All processes of the machine that share its folder have the same one. It may
// be used concurrently.
type Hub struct {
	clock  Clock
	wall   func() time.Time
	dir    string
	anchor anchor
}

// anchor is where the hub's clock stands in one boot; it never changes.
type anchor struct {
	Epoch string `json:"epoch"`    // names it
	Ahead int64  `json:"ahead_ns"` // hub's Unix time less the time since the boot
}

const (
	// noteEvery is how often it is written down how far the clock came.
	noteEvery = 10 * time.Second
	lastFile  = "reached"
)

// OpenHub begins or goes on with the hub's clock in a folder of its own. Where
// the folder can't be used, the clock runs all the same, for this process
// alone, and the error says why.
func OpenHub(dir string, c Clock, wall func() time.Time) (*Hub, error) {
	h := &Hub{clock: c, wall: wall, dir: dir}
	if err := h.open(); err != nil {
		h.dir, h.anchor = "", h.begin()
		return h, fmt.Errorf("the hub's clock is this process's own, and steps when it is started again: %w", err)
	}
	return h, nil
}

// Alone is the clock of one process that shares it with no other.
func Alone(c Clock, wall func() time.Time) *Hub {
	h := &Hub{clock: c, wall: wall}
	h.anchor = h.begin()
	return h
}

func (h *Hub) open() error {
	if h.clock.Boot == "" {
		return errors.New("the system does not tell one boot from another")
	}
	if err := os.MkdirAll(h.dir, 0o755); err != nil {
		return err
	}
	path := filepath.Join(h.dir, "boot-"+h.clock.Boot)
	for range 3 {
		known, err := read[anchor](path)
		if err == nil && known.Epoch != "" {
			h.anchor = known
			return nil
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			if err := os.Remove(path); err != nil {
				return err
			}
		}
		if err := h.found(path); err != nil {
			return err
		}
	}
	return fmt.Errorf("%s can't be read back", path)
}

// found writes the anchor of this boot unless another process is quicker.
func (h *Hub) found(path string) error {
	mine := h.begin()
	data, err := json.Marshal(mine)
	if err != nil {
		return err
	}
	draft := filepath.Join(h.dir, ".draft-"+mine.Epoch)
	if err := durable.WriteFile(draft, data, 0o644); err != nil {
		return err
	}
	defer os.Remove(draft)
	if err := os.Link(draft, path); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	older, _ := filepath.Glob(filepath.Join(h.dir, "boot-*"))
	for _, name := range older {
		if name != path && !strings.HasSuffix(name, h.clock.Boot) {
			os.Remove(name)
		}
	}
	return nil
}

// begin is where the clock stands if it begins now: at the wall clock, or
// where an earlier boot may have come to.
func (h *Hub) begin() anchor {
	now := h.wall()
	start := now.UnixNano()
	if h.dir != "" {
		if reached, err := read[int64](filepath.Join(h.dir, lastFile)); err == nil {
			start = max(start, reached+int64(noteEvery+2*time.Second))
		}
	}
	return anchor{Epoch: event.NewID(now), Ahead: start - int64(h.clock.Since())}
}

// Now is the time on the hub's clock.
func (h *Hub) Now() time.Time { return time.Unix(0, h.anchor.Ahead+int64(h.clock.Since())) }

// Epoch names the stretch in which the clock runs without a step.
func (h *Hub) Epoch() string { return h.anchor.Epoch }

// Boot names the machine's boot, and Since is how long it has been up.
func (h *Hub) Boot() string         { return h.clock.Boot }
func (h *Hub) Since() time.Duration { return h.clock.Since() }

// Off is how far the machine's wall clock is ahead of the hub's by now: it was
// set since the machine was started, or had been wrong before.
func (h *Hub) Off() time.Duration { return h.wall().Sub(h.Now()) }

// Keep writes down how far the clock came until ctx ends, so that it does not
// begin before that after the machine's next start.
func (h *Hub) Keep(ctx context.Context, log *slog.Logger) {
	said := false
	for {
		if err := h.note(); err != nil && !said {
			said = true
			log.Warn("how far the hub's clock came can't be written down: after a start with a wrong clock it may step back", "error", err)
		}
		timer := time.NewTimer(noteEvery)
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		}
	}
}

func (h *Hub) note() error {
	if h.dir == "" {
		return nil
	}
	path := filepath.Join(h.dir, lastFile)
	reached, err := read[int64](path)
	if now := h.Now().UnixNano(); err != nil || now > reached {
		data, _ := json.Marshal(now)
		return durable.WriteFile(path, data, 0o644)
	}
	return nil
}

func read[T any](path string) (v T, err error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return v, err
	}
	return v, json.Unmarshal(data, &v)
}
