package dispersion

import (
	"fmt"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit/table"
)

// Asked is what is asked of a file of shots.
type Asked struct {
	Category glossary.Category
	P        float64 // share of shots that the ellipses hold
	Level    float64 // of the intervals
	Left     bool    // a left-handed player: mirror across the target line
	Aim      Aim     // as the player saw it, right of the target positive
	Misses   []Miss  // nil: those that are usual for the category
	Targets  []Target
}

// Check says what cannot be asked.
func (a Asked) Check() error {
	if !(a.P > 0 && a.P < 1) || !(a.Level > 0 && a.Level < 1) {
		return fmt.Errorf("--p %g and --level %g must lie between 0 and 1, as 0.95 does", a.P, a.Level)
	}
	return nil
}

// Told is the answer: the statistics, the shots that they rest on, and the account
// for scripts.
type Told struct {
	Summary Summary
	Shots   []Shot
	Account Account
}

// Tell answers from a file with carry and offline. Rows that cannot be used are
// rejected in the file by their line.
func (a Asked) Tell(file *table.Partial) (*Told, error) {
	l := landings(file, a.Left)
	if len(l.shots) == 0 && len(file.Out) > 0 {
		return nil, file.Unusable()
	}
	options := []Option{WithP(a.P), WithLevel(a.Level), WithTargets(a.Targets...)}
	if len(a.Misses) > 0 {
		options = append(options, WithMisses(a.Misses...))
	}
	aim := a.Aim
	if a.Left {
		aim.Offline = -aim.Offline
	}
	s, err := Summarise(a.Category, l.shots, aim, options...)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file.Name, err)
	}
	out := tell(s, l.lines)
	out.Handed, out.Rejected = a.Left, append(out.Rejected, file.Out...)
	if len(l.strikes) > 0 {
		strikes, err := SummariseStrikes(l.strikes, a.Level)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", file.Name, err)
		}
		out.Strike = tellStrike(strikes)
	}
	if len(l.swings) > 1 {
		for _, name := range l.swings {
			one, err := Summarise(a.Category, l.bySwing[name], Aim{Offline: aim.Offline}, options...)
			if err != nil {
				return nil, fmt.Errorf("%s, swing %s: %w", file.Name, name, err)
			}
			out.Swings = append(out.Swings, accountSwing{name, one.N, one.Carry.Mean, one.CarrySDPct, one.Carry.SD, one.DirectionSDDeg})
		}
		out.Notes = append(out.Notes, "the file holds several swing lengths: read the spread of carry for each of them, under swings")
	}
	return &Told{s, l.shots, out}, nil
}
