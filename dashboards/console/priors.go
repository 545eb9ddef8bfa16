package console

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/answers"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
)

const (
	// priorEvery is how long what the fleet expected of a pair of builds holds
	// before it is asked anew: answers come once a night.
	priorEvery = 10 * time.Minute
	// priorAgain is when a store that did not answer is asked again.
	priorAgain = 20 * time.Second
	priorLimit = 20 * time.Second
)

// expects asks the fleet what it expects of a change of build.
type expects interface {
	Prior(ctx context.Context, player, category string, from, to *event.Build, before time.Time) (*event.PriorTaken, error)
}

// priors asks the fleet what it expects of the builds that are compared in the
// bays, and writes it down as a visit event: so it reaches the hub, which weighs
// with it, and stays with the visit. No page and no shot waits for it; without a
// fleet, or while its store is away, the weak default holds.
type priors struct {
	fleet  func() expects // nil result: none to ask now
	live   *states
	writer *Writer
	log    *slog.Logger

	mu    sync.Mutex
	known map[string]asked // by pair
}

// asked is when a pair was asked about, and why nothing came of it.
type asked struct {
	next time.Time
	why  string
}

func newPriors(o Options, live *states, w *Writer, log *slog.Logger) *priors {
	p := &priors{live: live, writer: w, log: log, known: map[string]asked{}, fleet: func() expects { return nil }}
	if o.Fleet != nil {
		p.fleet = func() expects {
			if f := o.Fleet(); f != nil {
				return f
			}
			return nil
		}
	}
	return p
}

// run looks after one bay until ctx ends.
func (p *priors) run(ctx context.Context, bay string) {
	changed, stop := p.live.watch(bay)
	defer stop()
	tick := time.NewTicker(priorAgain)
	defer tick.Stop()
	for {
		p.look(ctx, bay)
		select {
		case <-ctx.Done():
			return
		case <-changed:
		case <-tick.C:
		}
	}
}

// look asks about the pairs of a bay that are due.
func (p *priors) look(ctx context.Context, bay string) {
	state := p.live.get(bay).state
	if state == nil || state.Session == nil || !state.Session.Open {
		return
	}
	for i := range state.Comparisons {
		c := &state.Comparisons[i]
		if c.Ball != "" {
			continue // the fleet's word is of builds
		}
		if c.Pair == "" || !p.due(c.Pair) || ctx.Err() != nil {
			continue
		}
		session := p.writer.Timeline(bay).Session(state.Session.ID)
		if session == nil {
			return
		}
		from, to := buildOf(state, session, c.Against), buildOf(state, session, c.Club)
		if rolling.Pair(session.Player, session.Category, from, to) != c.Pair {
			continue // the hub has not taken in yet what was entered, or the other way round
		}
		p.ask(ctx, bay, session, c.Pair, from, to)
	}
}

func (p *priors) due(pair string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return !time.Now().Before(p.known[pair].next)
}

func (p *priors) note(pair, why string, again time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.known[pair] = asked{time.Now().Add(again), why}
}

// why says why no prior of the fleet is used for a pair.
func (p *priors) why(pair string) string {
	if p == nil {
		return ""
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.known[pair].why
}

func (p *priors) ask(ctx context.Context, bay string, session *visit.Session, pair string, from, to *event.Build) {
	fleet := p.fleet()
	if fleet == nil {
		p.note(pair, "the fleet can't be asked now", priorAgain)
		return
	}
	limited, cancel := context.WithTimeout(ctx, priorLimit)
	defer cancel()
	taken, err := fleet.Prior(limited, session.Player, session.Category, from, to, p.begun(session))
	var none *answers.NoPriorError
	why := ""
	switch {
	case errors.As(err, &none) && taken == nil:
		p.note(pair, none.Reason, priorEvery)
		return
	case errors.As(err, &none):
		why = none.Reason
	case err != nil:
		p.log.Debug("the fleet's expectation can't be had", "bay", bay, "error", err)
		p.note(pair, "the fleet can't be asked now", priorAgain)
		return
	}
	taken.Pair = pair
	if proto.Equal(session.Priors[pair], taken) {
		p.note(pair, why, priorEvery)
		return
	}
	ev := &event.VisitEvent{Session: session.ID, Visit: session.Visit, Body: &event.VisitEvent_PriorTaken{PriorTaken: taken}}
	if _, err := p.writer.Write(ctx, bay, ev); err != nil {
		p.log.Warn("what the fleet expects could not be written down", "bay", bay, "error", err)
		p.note(pair, "what the fleet expects could not be written down", priorAgain)
		return
	}
	p.note(pair, why, priorEvery)
}

// begun is when the visit of a session began, in whatever bay: what the fleet
// knows from then on may be of the very shots that are judged.
func (p *priors) begun(session *visit.Session) time.Time {
	from := session.From
	if session.Visit != "" {
		for _, bay := range p.writer.bays {
			for _, s := range p.writer.Timeline(bay).Sessions {
				if s.Visit == session.Visit {
					from = min(from, s.From)
				}
			}
		}
	}
	return time.Unix(0, from)
}

// buildOf is the build of a club of the session.
func buildOf(state *rolling.State, session *visit.Session, club int) *event.Build {
	for _, t := range state.Trials {
		if t.Club != club {
			continue
		}
		for _, known := range session.Trials {
			if known.ID == t.ID {
				return known.Build
			}
		}
	}
	return nil
}
