package watch

import (
	"fmt"
	"strings"
	"time"
)

// settle is how long an alarm lasts before people are told: what mends itself
// within it wakes nobody, and what comes together is told together.
const settle = 20 * time.Second

// Message is what one sender is to say: what began and what is over.
type Message struct {
	Studio   string    `json:"studio"`
	At       time.Time `json:"at"`
	Text     string    `json:"text"` // all of it in words
	Began    []Known   `json:"began"`
	Resolved []Known   `json:"resolved"`
}

// Empty says that there is nothing to tell.
func (m Message) Empty() bool { return len(m.Began)+len(m.Resolved) == 0 }

// For makes the message that a sender has not yet got out; quiet: it is the
// studio's quiet time, and what only warns waits.
func (s *State) For(sender string, now time.Time, quiet bool) Message {
	m := Message{Studio: s.Studio, At: now}
	for _, k := range s.Alarms {
		_, told := k.Told[sender]
		switch {
		case !told && k.lasts() && now.Sub(k.Since) >= settle && (!quiet || k.Severity == Critical):
			m.Began = append(m.Began, k)
		case told && !k.lasts() && now.Sub(k.Ended) >= goneFor && (!quiet || k.Severity == Critical):
			m.Resolved = append(m.Resolved, k)
		}
	}
	byTrouble(m.Began)
	byTrouble(m.Resolved)
	m.Text = m.words()
	return m
}

// Told notes that a sender got a message out.
func (s *State) Told(sender string, m Message) {
	for i := range s.Alarms {
		k := &s.Alarms[i]
		for _, b := range m.Began {
			if b.key() == k.key() && b.Since.Equal(k.Since) {
				if k.Told == nil {
					k.Told = map[string]time.Time{}
				}
				k.Told[sender] = m.At
			}
		}
		for _, r := range m.Resolved {
			if r.key() == k.key() && r.Since.Equal(k.Since) {
				delete(k.Told, sender)
			}
		}
	}
}

// Subject is the message in one line.
func (m Message) Subject() string {
	var parts []string
	for _, k := range m.Began {
		parts = append(parts, k.Where+": "+k.What)
	}
	if len(parts) == 0 {
		for _, k := range m.Resolved {
			parts = append(parts, k.Where+": "+k.What+" is over")
		}
	}
	if len(parts) > 3 {
		parts = append(parts[:3], fmt.Sprintf("and %d more", len(parts)-3))
	}
	return m.Studio + ": " + strings.Join(parts, ", ")
}

func (m Message) words() string {
	var b strings.Builder
	for _, k := range m.Began {
		fmt.Fprintf(&b, "%s, %s (%s), since %s: %s.\n", k.Where, k.What, k.Severity, k.Since.Format("15:04:05"), k.Text)
	}
	for _, k := range m.Resolved {
		fmt.Fprintf(&b, "Resolved: %s, %s, after %s.\n", k.Where, k.What, k.Ended.Sub(k.Since).Round(time.Second))
	}
	return b.String()
}

// TestMessage shows people what a message looks like.
func TestMessage(studio string, now time.Time) Message {
	m := Message{Studio: studio, At: now, Began: []Known{{Since: now, Alarm: Alarm{Where: "test", What: "a test",
		Text: "somebody tries whether messages arrive; nothing is wrong", Severity: Warning}}}}
	m.Text = m.words()
	return m
}
