package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"
)

// verdict is what came of it.
type verdict struct {
	Lines       int      `json:"lines"`        // shots that the devices wrote
	Lost        int      `json:"lost"`         // of them, in no row
	Doubled     int      `json:"doubled"`      // in several that stand
	Strange     int      `json:"strange"`      // rows that stand of shots that nobody wrote
	Altered     int      `json:"altered"`      // with other figures
	Mistagged   int      `json:"mistagged"`    // under a build that was not in hand
	Asked       int      `json:"asked"`        // about which the fitter is asked: no error, and no answer
	TrialsWrong int      `json:"trials_wrong"` // whose n is not that of their shots
	Examples    []string `json:"examples,omitempty"`
}

func (v *verdict) wrong() bool {
	return v.Lost+v.Doubled+v.Strange+v.Altered+v.Mistagged+v.TrialsWrong > 0
}

func (v *verdict) say(count *int, text string, args ...any) {
	if *count++; len(v.Examples) < 20 {
		v.Examples = append(v.Examples, fmt.Sprintf(text, args...))
	}
}

// slack is how much the device's clock, the hub's and a command's way may differ. A
// shot so near to a change of build may be under either.
const slack = 250 * time.Millisecond

// compare holds the store against lines and commands.
func compare(lines []line, commands []command, rows []row, trials []trialRow) *verdict {
	v := &verdict{Lines: len(lines)}
	standing := map[string][]row{}
	for _, r := range rows {
		if r.stands() {
			standing[r.Bay+"/"+r.ID] = append(standing[r.Bay+"/"+r.ID], r)
		}
	}
	plans := plansOf(commands)
	counts := map[[2]string]int{}
	for _, l := range lines {
		key := l.bay + "/" + l.id
		found := standing[key]
		delete(standing, key)
		switch {
		case len(found) == 0:
			v.say(&v.Lost, "shot %s, written at %s, is in no row", key, l.at)
			continue
		case len(found) > 1:
			v.say(&v.Doubled, "shot %s stands in %d rows", key, len(found))
		}
		r := found[0]
		if !same(r.Carry, l.carry) || !same(r.Offline, l.offline) {
			v.say(&v.Altered, "shot %s was written with carry %g, offline %g", key, l.carry, l.offline)
		}
		if r.Status == "between" {
			v.Asked++
			continue
		}
		want := plans[l.bay].of(l)
		if !slices.Contains(want, state{r.Trial, r.Status}) {
			v.say(&v.Mistagged, "shot %s of %s is %q in trial %q, and may be %v", key, l.at.Format("15:04:05.000"), r.Status, r.Trial, want)
		}
		if r.Status == "counts" {
			counts[[2]string{l.bay, r.Trial}]++
		}
	}
	for key := range standing {
		v.say(&v.Strange, "shot %s was never written", key)
	}
	for _, t := range trials {
		key := [2]string{t.Bay, t.Trial}
		if counts[key] != t.N {
			v.say(&v.TrialsWrong, "trial %s of %s says %d shots and has %d", t.Trial, t.Bay, t.N, counts[key])
		}
		delete(counts, key)
	}
	for key, n := range counts {
		v.say(&v.TrialsWrong, "trial %s of %s has %d shots and no row", key[1], key[0], n)
	}
	return v
}

func same(stored *float64, written float64) bool {
	return stored != nil && math.Abs(*stored-written) < 1e-6
}

// state is what a row may say.
type state struct{ trial, status string }

// plan is what a bay's fitter did.
type plan struct {
	changes []command // of trial, and pauses, in their order
	shots   map[string][]command
}

func plansOf(commands []command) map[string]*plan {
	out := map[string]*plan{}
	for _, c := range commands {
		p := out[c.Bay]
		if p == nil {
			p = &plan{shots: map[string][]command{}}
			out[c.Bay] = p
		}
		if c.Shot != "" {
			p.shots[c.Shot] = append(p.shots[c.Shot], c)
		} else {
			p.changes = append(p.changes, c)
		}
	}
	for _, p := range out {
		slices.SortStableFunc(p.changes, func(a, b command) int { return cmp.Compare(a.From.UnixNano(), b.From.UnixNano()) })
	}
	return out
}

// of lists what a row of the shot may say: one thing, but near a change two.
func (p *plan) of(l line) (out []state) {
	if p == nil {
		return []state{{"", "nobody"}}
	}
	trial, paused := "", false
	add := func() {
		s := state{trial, "counts"}
		switch {
		case trial == "":
			s.status = "nobody"
		case paused:
			s = state{"", "paused"}
		}
		if s = p.said(l.id, s); !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	sure := false // that the hit came after the last change looked at
	for _, c := range p.changes {
		if l.at.Before(c.From.Add(-slack)) {
			break
		}
		if sure = !l.at.Before(c.To.Add(slack)); !sure {
			add() // before it, or
		}
		switch c.Do {
		case "start":
			trial, paused = c.Trial, false
		case "pause":
			paused = true
		case "resume":
			paused = false
		}
		if sure {
			out = out[:0]
		}
	}
	add()
	return out
}

// said lays over it what was said of the shot itself; the last word counts.
func (p *plan) said(shot string, s state) state {
	for _, c := range p.shots[shot] {
		switch c.Do {
		case "exclude":
			s.status = "excluded"
		case "move":
			s = state{c.Trial, "counts"}
		}
	}
	return s
}
