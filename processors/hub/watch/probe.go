package watch

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync"
	"time"
)

const (
	probeWithin = 3 * time.Second
	// failsFor is how long a process must not answer before it is called stuck: one
	// that is started again comes back sooner, and is told of as such.
	failsFor = 8 * time.Second
)

// idle begins what is said of a process that answers and gets nothing done.
const idle = "says that it does not get on"

// Probe asks a process whether it gets on; the error says what it does not do.
type Probe func(context.Context) error

// Prober asks the hub's processes whether they get on.
type Prober struct {
	// Probes asks each process that should run, by its name.
	Probes map[string]Probe
	Now    func() time.Time

	mu    sync.Mutex
	since map[string]time.Time // fails since then
}

// meaning says what stands still while a process does not get on, and what to try.
var meaning = map[string]string{
	Engine: "the store takes nothing and answers nothing; entries wait in the log and in the journals. See its free disk and memory, and " +
		"`journalctl -u fairlead`",
	Broker: "no bay is heard and the live pages stand still; shots are safe in the bays' journals and arrive later. See the hub's disk and " +
		"`journalctl -u fairlead`",
	Process: "shots are not tagged or stored, and pages show old figures; nothing is lost, it goes on from the log. See `journalctl -u " +
		"fairlead` and the folder dumps",
	Console: "the bays' pages can't be used. What was entered is in its journal. See `journalctl -u fairlead`",
	Forward: "nothing goes to the head office. Nothing is lost, it goes on from the store. See `journalctl -u fairlead`",
}

// Look asks all of them at once and lists those that have not got on for a while.
func (p *Prober) Look(ctx context.Context) (out []Alarm) {
	var group sync.WaitGroup
	var mu sync.Mutex
	why := map[string]string{}
	for name, probe := range p.Probes {
		group.Go(func() {
			short, cancel := context.WithTimeout(ctx, probeWithin)
			defer cancel()
			if err := probe(short); err != nil {
				mu.Lock()
				defer mu.Unlock()
				why[name] = err.Error()
			}
		})
	}
	group.Wait()
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.since == nil {
		p.since = map[string]time.Time{}
	}
	now := p.Now()
	for name := range p.Probes {
		said, fails := why[name]
		if !fails {
			delete(p.since, name)
			continue
		}
		if _, known := p.since[name]; !known {
			p.since[name] = now
		}
		if now.Sub(p.since[name]) < failsFor {
			continue
		}
		text := said
		if m := meaning[name]; m != "" {
			text += ": " + m
		}
		severity := Critical
		if name == Forward {
			severity = Warning
		}
		out = append(out, Alarm{Where: name, What: Stuck, Text: text, Severity: severity})
	}
	return out
}

// Fails says whether a process did not get on when it was asked last.
func (p *Prober) Fails(process string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	_, fails := p.since[process]
	return fails
}

// Healthz asks a process by its /healthz; address gives its URL, or
// nothing while the process has not said where it answers.
func Healthz(client *http.Client, address func() string) Probe {
	return func(ctx context.Context) error {
		at := address()
		if at == "" {
			return errors.New("has not said where it answers: it does not run")
		}
		return Get(ctx, client, at+"/healthz")
	}
}

// Get asks a URL for an answer of status 200.
func Get(ctx context.Context, client *http.Client, url string) error {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, url, nil)
	if err != nil {
		return err
	}
	resp, err := client.Do(r)
	switch {
	case err != nil && ctx.Err() != nil:
		return fmt.Errorf("does not answer within %s", probeWithin)
	case err != nil:
		return errors.New("does not answer: it does not run, or is being started again")
	}
	defer resp.Body.Close()
	if said, err := io.ReadAll(io.LimitReader(resp.Body, 300)); err != nil || resp.StatusCode != http.StatusOK {
		return fmt.Errorf(idle+" (%s)", strings.TrimSpace(string(said)))
	}
	return nil
}
