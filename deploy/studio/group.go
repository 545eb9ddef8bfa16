package studio

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/dustin/go-humanize"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/authority"
	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/group"
	"fairlead/processors/hub/watch"
)

// HeadOffice says where what this studio stored goes beside; none: it stays here.
type HeadOffice struct {
	URL string `yaml:"url"` // nats://HOST:4222 of the head office's broker
	// Key is the file studio-NAME.seed, brought over from the head office's keys. It
	// says who this studio is there and, where the head office has TLS, which hub it is.
	Key   string   `yaml:"key"`
	Clear bool     `yaml:"clear"`       // it may be spoken to without TLS: nobody listens on the way to it
	Bytes string   `yaml:"bytes"`       // a second, at most; default 256KiB
	Alarm Duration `yaml:"alarm_after"` // how long something may wait before it is an alarm; default 12h
}

// defaultBytes leave half of a line of 4 Mbit/s to others.
const (
	defaultBytes = "256KiB"
	defaultAlarm = 12 * time.Hour
	leastBytes   = 4 << 10
)

func (h HeadOffice) check() (problems []error) {
	if h.URL == "" {
		return nil
	}
	if h.Clear && strings.HasPrefix(h.URL, "tls://") {
		problems = append(problems, errors.New("head_office.clear: the address begins with tls://: leave clear out, or write nats://"))
	}
	if h.Key == "" {
		problems = append(problems, errors.New("head_office.key: \"\": name the file studio-NAME.seed that the head office's keys hold"))
	}
	if _, err := h.bytes(); err != nil {
		problems = append(problems, err)
	}
	if h.Alarm <= 0 {
		problems = append(problems, fmt.Errorf("head_office.alarm_after: %q: write some hours, such as 12h", time.Duration(h.Alarm)))
	}
	return problems
}

func (h HeadOffice) bytes() (int64, error) {
	n, err := humanize.ParseBytes(h.Bytes)
	if err != nil || n < leastBytes || n > 1<<32 {
		return 0, fmt.Errorf("head_office.bytes: %q: write at least 4KiB a second, such as 256KiB", h.Bytes)
	}
	return int64(n), nil
}

// checkStudios says what is wrong with the studios that send to this hub.
func (c *Config) checkStudios() (problems []error) {
	for i, name := range c.Studios {
		switch {
		case event.CheckName("studio", name) != nil:
			problems = append(problems, fmt.Errorf("studios[%d]: %q: use 1 to 32 of a-z, 0-9 and -", i, name))
		case name == c.Studio:
			problems = append(problems, fmt.Errorf("studios[%d]: %q: this hub's own studio goes by this name: name others", i, name))
		case slices.Index(c.Studios, name) != i:
			problems = append(problems, fmt.Errorf("studios[%d]: %q: it is named twice", i, name))
		}
	}
	return problems
}

// OfficeLink says how the head office is reached.
func (c *Config) OfficeLink() stream.Link {
	return stream.Link{URL: c.HeadOffice.URL, Name: stream.StudioCredential(c.Studio), SeedFile: c.Path(c.HeadOffice.Key),
		Inbox: "_INBOX_" + string(stream.RoleStudio), Clear: c.HeadOffice.Clear, Far: true}
}

// OfficeSigned says how what the head office gives is known for its own: by the
// authority that the key's file names; nil: the file names none, the way is in clear.
func (c *Config) OfficeSigned() (func(text, sign []byte) (string, error), error) {
	file := c.Path(c.HeadOffice.Key)
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("head_office.key: %w", err)
	}
	named := authority.Certificates(text)
	if len(named) == 0 {
		return nil, nil
	}
	return func(text, sign []byte) (string, error) { return authority.Signed(named, text, sign) }, nil
}

// Signer signs what this hub gives to studios, as its authority; nil: it has none.
func (c *Config) Signer() func([]byte) ([]byte, error) {
	if len(c.Studios) == 0 || c.TLS.By == "" || c.TLS.By == InClear {
		return nil
	}
	return func(text []byte) ([]byte, error) {
		a, err := authority.Open(c.AuthorityDir())
		if err != nil {
			return nil, err
		}
		return a.Sign(text)
	}
}

// OfficeBytes a second may go to the head office.
func (c *Config) OfficeBytes() int64 {
	n, _ := c.HeadOffice.bytes() // checked with the configuration
	return n
}

// PseudonymsFile holds the secret that the head office's ids of persons are made with.
func (c *Config) PseudonymsFile() string { return c.DataPath("keys", "pseudonyms.key") }

// ForwardFile says how far the head office has what is stored here.
func (c *Config) ForwardFile() string { return c.DataPath("forward.json") }

// Forwarding is what the forwarding said last; a file that is not there yet says nothing.
func (c *Config) Forwarding() (group.State, error) {
	return durable.ReadJSON[group.State](c.ForwardFile())
}

// ForwardLine says it in one line; empty: there is no head office.
func (c *Config) ForwardLine(now time.Time) string {
	if c.HeadOffice.URL == "" {
		return ""
	}
	s, err := c.Forwarding()
	if err != nil {
		return "How far the head office has what is stored here is not known: " + filepath.Base(c.ForwardFile()) + " can't be read."
	}
	return s.Line(now)
}

// forwardWaits is for how long something has waited, or the forwarding itself has
// said nothing, as one that does not run.
func forwardWaits(s group.State, now time.Time) time.Duration {
	if s.At.IsZero() {
		return 0
	}
	return max(s.Waits(now), now.Sub(s.At))
}

// forwardAlarms tell of what does not get to the head office for long.
func (c *Config) forwardAlarms(now time.Time) []watch.Alarm {
	if c.HeadOffice.URL == "" {
		return nil
	}
	s, err := c.Forwarding()
	waits := forwardWaits(s, now)
	if err != nil || waits < time.Duration(c.HeadOffice.Alarm) {
		return nil
	}
	if waits > s.Waits(now) {
		return []watch.Alarm{{Where: "forward", What: "waits", Severity: watch.Warning,
			Text: fmt.Sprintf("the forwarding to the head office has said nothing for %d hours: see `journalctl -u fairlead`. "+
				"Nothing is lost, it goes on from the store", int(waits.Hours()))}}
	}
	return []watch.Alarm{{Where: "forward", What: "waits", Severity: watch.Warning,
		Text: strings.TrimSuffix(s.Line(now), ".") + ". See that this hub reaches " + c.HeadOffice.URL +
			" and that the head office's `fairlead keys list` still has this studio's key"}}
}
