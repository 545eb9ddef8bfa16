package sink

import "time"

// pace says how often the store is written to. Every insert costs it as much as
// a thousand rows do, on its disk and in its merges, so that what comes often is
// written together; what comes seldom is written at once. It is a bucket of
// turns that fills by one each so often.
type pace struct {
	every time.Duration // 0: every turn at once
	most  float64       // turns saved up while nothing came

	turns  float64
	filled time.Time
}

// usualPace: some shots of a bay that was silent are stored at once each; of
// fifty bays that hit, all that came in two seconds together.
func usualPace() pace { return pace{every: 2 * time.Second, most: 8, turns: 8} }

// wait is how long until the next turn; 0: now.
func (p *pace) wait(now time.Time) time.Duration {
	if p.every == 0 {
		return 0
	}
	if !p.filled.IsZero() {
		p.turns = min(p.most, p.turns+max(0, float64(now.Sub(p.filled))/float64(p.every)))
	}
	p.filled = now
	if p.turns >= 1 {
		return 0
	}
	return time.Duration((1 - p.turns) * float64(p.every))
}

// take uses a turn up. A backlog takes more than there are, and others wait for it.
func (p *pace) take() { p.turns = max(p.turns-1, 0) }
