package group

import (
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/stream"
)

// State is how a studio's forwarding goes.
type State struct {
	At      time.Time `json:"at"`             // when it was last looked at
	Heard   time.Time `json:"heard,omitzero"` // when the head office last took or answered something
	Since   time.Time `json:"since,omitzero"` // since when something waits; zero: nothing does
	Entries uint64    `json:"entries"`        // of bays, that wait to be sent
	Events  uint64    `json:"events"`         // of the console
	Sent    uint64    `json:"sent"`           // messages that the head office's log took since the beginning
	Trouble string    `json:"trouble,omitempty"`
	Own     bool      `json:"own,omitempty"` // the trouble is with the studio's own store
	// SetBack is when the head office was found to have more of a journal than the studio,
	// whose folders were set back to an older copy then.
	SetBack time.Time `json:"set_back,omitzero"`
	// Mended are blocks of journals that the head office has otherwise, and the sum of what
	// the studio has, that was sent again.
	Mended map[string]uint64 `json:"mended,omitempty"`
	// Forgotten are the players that the head office has forgotten too, by the studio's
	// own pseudonyms, and when it had done so.
	Forgotten map[string]time.Time `json:"forgotten,omitempty"`
}

// tell brings the state up to date and hands it on.
func (c *carrier) tell(trouble error) {
	now := time.Now().UTC()
	c.state.At, c.state.Trouble, c.state.Own, c.state.Entries, c.state.Events = now, "", errors.Is(trouble, errOwn), 0, 0
	if trouble != nil {
		c.state.Trouble = trouble.Error()
	}
	for key, h := range c.source.held {
		n := uint64(0)
		for _, r := range h.Ranges {
			if from := max(r.From, c.sent[key]+1); from <= r.To {
				n += r.To - from + 1
			}
		}
		if key.Place.Bay == stream.ConsoleBay {
			c.state.Events += n
		} else {
			c.state.Entries += n
		}
	}
	switch waits := c.state.Entries + c.state.Events; {
	case waits == 0 && trouble == nil:
		c.state.Since = time.Time{}
	case c.state.Since.IsZero() && waits > 0:
		c.state.Since = now
	}
	c.Pulse.turn(c.state.Entries+c.state.Events, c.state.Trouble)
	c.metrics.waits.Set(float64(c.state.Entries + c.state.Events))
	c.metrics.seconds.Set(c.state.Waits(now).Seconds())
	if all := c.state.Entries+c.state.Events == 0; now.Sub(c.kept) >= time.Second || all != c.keptAll {
		c.Keep(c.state)
		c.kept, c.keptAll = now, all
	}
}

// Away says that the forwarding does what it can, and the head office does not answer.
func (s State) Away(now time.Time) bool {
	return s.Trouble != "" && !s.Own && now.Sub(s.At) < stuckAfter
}

// Waits is for how long something has been waiting.
func (s State) Waits(now time.Time) time.Duration {
	if s.Since.IsZero() {
		return 0
	}
	return max(now.Sub(s.Since), 0)
}

// Line says in one line how far the head office has what the studio stored.
func (s State) Line(now time.Time) string {
	waits := ""
	switch n := s.Entries + s.Events; {
	case s.At.IsZero():
		return "Nothing was sent to the head office yet."
	case n == 0 && s.Trouble == "" && !s.SetBack.IsZero():
		return "The head office has all that is stored here, and more: on " + s.SetBack.Format("2 January 2006") +
			" this studio was found to be set back to an older copy. `fairlead forward check` lists the days."
	case n == 0 && s.Trouble == "":
		return "The head office has all that is stored here."
	case n > 0:
		waits = fmt.Sprintf("%d entries and %d events wait to go to the head office", s.Entries, s.Events)
		if d := s.Waits(now).Truncate(time.Minute); d > 0 {
			waits += fmt.Sprintf(", the first for %s", span(d))
		}
		waits += ". "
	}
	switch {
	case s.Own:
		waits += "The studio's own store does not answer; what waits is sent when it does. "
	case s.Trouble != "":
		waits += "The head office can't be reached; nothing is lost, it is sent when it can be. "
	}
	if !s.Heard.IsZero() {
		waits += "It last answered " + span(now.Sub(s.Heard)) + " ago."
	}
	return waits
}

func span(d time.Duration) string {
	switch {
	case d >= 48*time.Hour:
		return fmt.Sprintf("%d days", int(d.Hours()/24))
	case d >= 2*time.Hour:
		return fmt.Sprintf("%d hours", int(d.Hours()))
	case d >= 2*time.Minute:
		return fmt.Sprintf("%d minutes", int(d.Minutes()))
	}
	return "less than two minutes"
}

// WriteText prints the line for people.
func (s State) WriteText(w io.Writer) error {
	_, err := fmt.Fprintln(w, s.Line(time.Now()))
	return err
}

type metrics struct {
	sent, bytes, again prometheus.Counter
	waits, seconds     prometheus.Gauge
}

func newMetrics(r prometheus.Registerer) (*metrics, error) {
	const space, sub = "fairlead", "forward"
	counter := func(name, help string) prometheus.Counter {
		return prometheus.NewCounter(prometheus.CounterOpts{Namespace: space, Subsystem: sub, Name: name, Help: help})
	}
	gauge := func(name, help string) prometheus.Gauge {
		return prometheus.NewGauge(prometheus.GaugeOpts{Namespace: space, Subsystem: sub, Name: name, Help: help})
	}
	m := &metrics{
		sent:    counter("sent_total", "Entries and visit events that the head office's log took, repeats included."),
		bytes:   counter("bytes_total", "Bytes of them."),
		again:   counter("repaired_total", "Entries and visit events sent again because the head office's rows lacked them."),
		waits:   gauge("waiting", "Entries and visit events that are stored here and were not sent to the head office yet."),
		seconds: gauge("waiting_seconds", "For how long the first of them has waited."),
	}
	for _, c := range []prometheus.Collector{m.sent, m.bytes, m.again, m.waits, m.seconds} {
		if err := r.Register(c); err != nil {
			return nil, err
		}
	}
	return m, nil
}
