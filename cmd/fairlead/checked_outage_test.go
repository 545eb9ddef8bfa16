package main

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"strings"
	"sync"
	"time"

	"fairlead/deploy/proof"
)

// outage measures how long shots take from their writing to their rows, by asking
// the store for the rows of those that it misses: a shot that waits because
// something is away waits as long as the fitter does.
type outage struct {
	c *checked

	mu      sync.Mutex
	waiting map[string]time.Time // bay/id
	waits   []wait
}

func newOutage(c *checked) *outage { return &outage{c: c, waiting: map[string]time.Time{}} }

func (o *outage) wrote(bay, id string) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.waiting[bay+"/"+id] = time.Now()
}

// watch asks until ctx ends.
func (o *outage) watch(ctx context.Context) {
	client := &http.Client{Timeout: 5 * time.Second}
	for proof.Rest(ctx, 200*time.Millisecond) {
		if running, err := o.c.listed(); err == nil {
			o.c.diary.births(running)
		}
		o.look(ctx, client)
	}
}

func (o *outage) look(ctx context.Context, client *http.Client) {
	o.mu.Lock()
	var names []string
	for name := range o.waiting {
		names = append(names, "'"+name+"'")
	}
	o.mu.Unlock()
	if len(names) == 0 {
		return
	}
	token, err := os.ReadFile(o.c.config.EngineTokenFile())
	if err != nil {
		return
	}
	question := "SELECT DISTINCT concat(bay, '/', device_shot_id) AS shot FROM entries WHERE shot IN (" +
		strings.Join(names[:min(len(names), 2000)], ",") + ") FORMAT JSONEachRow"
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+o.c.config.Store.Listen+"/?database=fairlead",
		strings.NewReader(question))
	if err != nil {
		return
	}
	request.Header.Set("X-ClickHouse-Key", strings.TrimSpace(string(token)))
	answer, err := client.Do(request)
	if err != nil {
		return
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		return
	}
	now := time.Now()
	o.mu.Lock()
	defer o.mu.Unlock()
	for line := range strings.Lines(string(text)) {
		var row struct{ Shot string }
		if json.Unmarshal([]byte(line), &row) != nil {
			continue
		}
		if at, ok := o.waiting[row.Shot]; ok {
			delete(o.waiting, row.Shot)
			o.waits = append(o.waits, wait{row.Shot, at, now, o.c.diary.on(at, now)})
		}
	}
}
