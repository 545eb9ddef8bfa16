package console

import (
	"fmt"
	"strings"
	"time"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/visit/rolling"
)

// priorView is what was believed of one outcome before the shots.
type priorView struct{ Label, Text string }

// priorText says a prior in the units of the page, and what it does to the odds.
func (s *server) priorText(o rolling.Weighed) string {
	mean, sd := s.units.prior(o)
	p := o.Prior
	if !p.Fleet() && p.Large > 0 {
		large := o
		large.Prior.SD = p.LargeSD
		_, far := s.units.prior(large)
		return fmt.Sprintf("weak: no change on average; mostly ± %s, in one change of %.0f ± %s", s.units.outcome(o).With(sd), 1/p.Large,
			s.units.outcome(o).With(far))
	}
	if !p.Fleet() {
		return fmt.Sprintf("weak: no change on average, ± %s between players", s.units.outcome(o).With(sd)) + wanders(p)
	}
	text := fmt.Sprintf("the fleet expects %s ± %s; that has %.0f %% of the weight, the weak default the rest (answer %s)", mean, sd,
		100*p.Held, p.Answer)
	if w := p.Without; w != nil {
		alone := o
		alone.ProbBetter, alone.Verdict, alone.Change = w.ProbBetter, w.Verdict, w.Change
		text += ". Without the fleet: " + oddsWord(alone)
		if w.Verdict != "" {
			text += ", " + verdictWord(alone)
		}
	}
	return text + wanders(p)
}

// clash says that shots and fleet disagree.
func (s *server) clash(o rolling.Weighed, putts bool) string {
	mean, sd := s.units.prior(o)
	return fmt.Sprintf("Shots and fleet disagree on %s: the fleet expects %s ± %s, which such shots would follow once in %.0f. The shots "+
		"count: the fleet’s word is down to %.0f %% of the weight. Look at the build that was entered, and at the device.",
		strings.ToLower(glossary.Told(o.Name, putts).Cell), mean, sd, 1/max(*o.Prior.Surprise, 1e-4), 100*o.Prior.Held)
}

// wanders says how much the level of a mean is taken to move by itself, where the fleet
// has learnt it.
func wanders(p rolling.Prior) string {
	if p.WanderPlayers == 0 {
		return ""
	}
	return fmt.Sprintf("; from one run of shots to the next it moves by %.2f of its spread by itself, "+
		"as %d players who came back to a club did",
		p.Wander, p.WanderPlayers)
}

// expected says whose word the odds of a comparison begin with; fleet is the
// prior of one of its outcomes, nil where there is none.
func (s *server) expected(c *rolling.Comparison, fleet *rolling.Prior) string {
	if len(c.Outcomes) == 0 {
		return ""
	}
	if fleet == nil {
		why := s.priors.why(c.Pair)
		if why == "" {
			why = "no fleet answer for this change yet"
		}
		return "Nothing was known of it beforehand: " + why
	}
	whose := "for players as they come, since this player’s swing was not measured before this visit"
	if fleet.Swing() {
		whose = "for this player’s swing as measured on " + day(fleet.Profile)
	}
	players := fmt.Sprintf("%d players", fleet.Players)
	if fleet.Office != "" {
		players = fleet.Whose()
	}
	return fmt.Sprintf("What the fleet expects: %s, answer of %s, %s", players, day(fleet.Answered), whose)
}

func day(unixNs int64) string { return time.Unix(0, unixNs).Format("2 January 2006") }
