package guess

import (
	"fmt"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/plausible"
)

// Doubts keeps the values of shots that were read through a map, to ask whether
// they can be true together. The zero value is ready.
type Doubts struct {
	shots plausible.Shots
	n     int
}

// keptShots bounds what is kept: evenly over the files, however many shots.
const keptShots = 240

// Add takes in a shot.
func (d *Doubts) Add(e *event.Entry) {
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
	if step := d.n/keptShots + 1; d.n%step == 0 {
		d.shots[(d.n/step)%keptShots] = s
	}
}

// Suspicions are what the shots say against the map, the likeliest first.
func (d *Doubts) Suspicions(m *feed.Map) []plausible.Suspicion {
	declared := map[string]plausible.Declared{}
	for _, f := range m.Fields() {
		declared[f.Info.Name] = plausible.Declared{Quantity: f.Info.Quantity, Unit: f.Unit, Mirrors: f.Info.Mirrors}
	}
	return plausible.Suspect(d.shots, declared, m.Role() == event.Role_ROLE_ROLL || m.Role() == event.Role_ROLE_STROKE)
}

// Words says the suspicions, a line each.
func Words(suspicions []plausible.Suspicion) (out []string) {
	for i, s := range suspicions {
		word := "the shots do not go together as the map reads them"
		if i > 0 {
			word = "or"
		}
		out = append(out, fmt.Sprintf("%s: %s (%s)", word, s.Cure, s.Why))
	}
	return out
}
