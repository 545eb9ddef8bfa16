package main

import (
	"fmt"
	"io"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/plausible"
)

// doubts keeps the values of shots, to ask at the end whether they can be true
// together as the map reads them.
type doubts struct {
	shots plausible.Shots
	n     int
}

// keptShots bounds what is kept: evenly over the files, however many shots.
const keptShots = 240

func (d *doubts) add(e *event.Entry) {
	d.n++
	s := plausible.Shot{}
	for _, m := range e.Measures {
		if info, ok := m.Field.Info(); ok {
			s[info.Name] = m.Value
		}
	}
	if len(d.shots) < keptShots {
		d.shots = append(d.shots, s)
		return
	}
	if step := d.n / keptShots; d.n%(step+1) == 0 {
		d.shots[(d.n/(step+1))%keptShots] = s
	}
}

// suspicions are what the shots say against the map.
func (d *doubts) suspicions(m *feed.Map) []plausible.Suspicion {
	declared := map[string]plausible.Declared{}
	for _, f := range m.Fields() {
		declared[f.Info.Name] = plausible.Declared{Quantity: f.Info.Quantity, Unit: f.Unit, Mirrors: f.Info.Mirrors}
	}
	return plausible.Suspect(d.shots, declared, m.Role() == event.Role_ROLE_ROLL || m.Role() == event.Role_ROLE_STROKE)
}

// say writes the first suspicion, and the next ones that explain as much.
func (d *doubts) say(w io.Writer, m *feed.Map) error {
	for i, s := range d.suspicions(m) {
		word := "the shots do not go together as the map reads them"
		if i > 0 {
			word = "or"
		}
		if _, err := fmt.Fprintf(w, "%s: %s (%s)\n", word, s.Cure, s.Why); err != nil {
			return err
		}
	}
	return nil
}
