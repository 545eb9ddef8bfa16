package sim

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// Hand is how the fitter tells what happened. Do returns the event's id once
// it is kept. It may be called again with the same event: the id makes it one.
// A *RefusedError says that the event itself is wrong; other errors are final
// too, and an implementation tries again by itself where that may help.
type Hand interface {
	Do(ctx context.Context, ev *event.VisitEvent) (id string, err error)
}

// RefusedError is the console's no to an event.
type RefusedError struct {
	Status int
	Faults []*event.Fault
	Text   string // what came instead of faults
}

func (e *RefusedError) Error() string {
	var parts []string
	for _, f := range e.Faults {
		parts = append(parts, fmt.Sprintf("%s %q: %s (%s)", f.Field, f.Value, f.Reason, f.Hint))
	}
	if len(parts) == 0 {
		parts = append(parts, e.Text)
	}
	return fmt.Sprintf("the console refused the event with status %d: %s", e.Status, strings.Join(parts, "; "))
}

// ConsoleHand writes events through the hub's console. It may be used by
// several goroutines.
type ConsoleHand struct {
	URL    string       // of the console, such as http://127.0.0.1:8080
	Token  string       // of the hub's tools, where the console asks who comes
	Client *http.Client // nil: one with a timeout of 10 s
	// Pause is how long to wait before a lost or failed request is sent again;
	// it doubles up to sixteen times of itself. 0: 100 ms.
	Pause time.Duration
	once  sync.Once
}

func (h *ConsoleHand) ready() {
	h.once.Do(func() {
		if h.Client == nil {
			h.Client = &http.Client{Timeout: 10 * time.Second}
		}
		if h.Pause <= 0 {
			h.Pause = 100 * time.Millisecond
		}
	})
}

// Do posts the event until the console keeps or refuses it, or ctx ends. Every
// attempt carries the same id, so an answer that was lost makes no second event.
func (h *ConsoleHand) Do(ctx context.Context, ev *event.VisitEvent) (string, error) {
	h.ready()
	if ev.Id == "" {
		return "", errors.New("an event without an id cannot be sent twice: give it one")
	}
	body, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(ev)
	if err != nil {
		return "", fmt.Errorf("write event: %w", err)
	}
	address, err := url.JoinPath(h.URL, "api", "bays", ev.Bay, "events")
	if err != nil {
		return "", fmt.Errorf("console address %q: %w: write http://host:port", h.URL, err)
	}
	for pause := h.Pause; ; pause = min(2*pause, 16*h.Pause) {
		id, again, err := h.post(ctx, address, body)
		if !again {
			return id, err
		}
		if waited := (WallClock{}).Sleep(ctx, pause); waited != nil {
			return "", fmt.Errorf("event %s not kept: %w (last attempt: %w)", ev.Id, waited, err)
		}
	}
}

// Meet keeps a person's name on the console's file of names.
func (h *ConsoleHand) Meet(ctx context.Context, id, role, name, hand string) error {
	body, err := json.Marshal(map[string]string{"id": id, "role": role, "name": name, "hand": hand})
	if err != nil {
		return fmt.Errorf("write name: %w", err)
	}
	address, err := url.JoinPath(h.URL, "api", "people")
	if err != nil {
		return fmt.Errorf("console address %q: %w: write http://host:port", h.URL, err)
	}
	h.ready()
	_, _, err = h.post(ctx, address, body)
	return err
}

func (h *ConsoleHand) post(ctx context.Context, address string, body []byte) (id string, again bool, err error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, address, bytes.NewReader(body))
	if err != nil {
		return "", false, fmt.Errorf("console address %q: %w", address, err)
	}
	req.Header.Set("Content-Type", "application/json")
	if h.Token != "" {
		req.Header.Set("Authorization", "Bearer "+h.Token)
	}
	res, err := h.Client.Do(req)
	if err != nil {
		return "", true, fmt.Errorf("console: %w", err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(io.LimitReader(res.Body, 1<<20))
	switch {
	case err != nil:
		return "", true, fmt.Errorf("console's answer: %w", err)
	case res.StatusCode >= 500 || res.StatusCode == http.StatusTooManyRequests:
		return "", true, fmt.Errorf("console answers %s: %s", res.Status, bytes.TrimSpace(text))
	case res.StatusCode >= 300:
		return "", false, refusal(res.StatusCode, text)
	}
	var answer struct {
		ID string `json:"id"`
	}
	if err := json.Unmarshal(text, &answer); err != nil || answer.ID == "" {
		return "", false, fmt.Errorf("console's answer %q holds no id: is something else listening at %s?", text, address)
	}
	return answer.ID, false, nil
}

func refusal(status int, text []byte) error {
	e := &RefusedError{Status: status, Text: strings.TrimSpace(string(text))}
	var answer struct {
		Faults []json.RawMessage `json:"faults"`
	}
	if json.Unmarshal(text, &answer) == nil {
		for _, raw := range answer.Faults {
			f := &event.Fault{}
			if protojson.Unmarshal(raw, f) == nil {
				e.Faults = append(e.Faults, f)
			}
		}
	}
	return e
}

// MemoryHand keeps events in memory, validated as the console does. It may be
// used by several goroutines.
type MemoryHand struct {
	Now func() time.Time // for what is recorded; nil: the event's effective time

	mu     sync.Mutex
	events []*event.VisitEvent
	seen   map[string]bool
}

// Do keeps a copy of the event.
func (h *MemoryHand) Do(_ context.Context, ev *event.VisitEvent) (string, error) {
	ev = proto.Clone(ev).(*event.VisitEvent)
	if ev.RecordedUnixNs == 0 {
		ev.RecordedUnixNs = ev.EffectiveUnixNs
		if h.Now != nil {
			ev.RecordedUnixNs = h.Now().UnixNano()
		}
	}
	if faults := visit.Validate(ev, time.Unix(0, ev.RecordedUnixNs)); len(faults) > 0 {
		return "", &RefusedError{Status: http.StatusUnprocessableEntity, Faults: faults}
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.seen == nil {
		h.seen = map[string]bool{}
	}
	if !h.seen[ev.Id] {
		h.seen[ev.Id] = true
		h.events = append(h.events, ev)
		ev.Seq = uint64(len(h.events))
	}
	return ev.Id, nil
}

// Events are the events kept so far, in the order they came.
func (h *MemoryHand) Events() []*event.VisitEvent {
	h.mu.Lock()
	defer h.mu.Unlock()
	return append([]*event.VisitEvent(nil), h.events...)
}
