package sheets

import (
	"context"
	"fmt"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/club/order"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/visit"
)

// Decision is a verdict that holds.
type Decision struct {
	Verdict  string    `json:"verdict"`          // id
	Number   string    `json:"number,omitempty"` // of its order, as people say it; empty: none was placed
	Kind     string    `json:"kind"`
	Says     string    `json:"says"`
	Words    string    `json:"words,omitempty"`
	At       time.Time `json:"at"`
	Club     string    `json:"club,omitempty"`
	Promises []Promise `json:"promises"`
	Next     string    `json:"next"`
	Ordered  bool      `json:"ordered"`
	trial    string
	club     int // its number in the session, 0: not known
}

// Promise is what was expected at the moment of the verdict, frozen then, and
// what the hit check of the delivered club has shown of it.
type Promise struct {
	Outcome  string   `json:"outcome"`
	Label    string   `json:"label"`
	Means    string   `json:"means"`
	Text     string   `json:"text"`
	Change   float64  `json:"change"`
	Low      float64  `json:"low"`
	High     float64  `json:"high"`
	Odds     float64  `json:"probability_better"`
	Good     string   `json:"better_is"` // higher, tighter, …
	Measured *float64 `json:"measured,omitempty"`
	SE       *float64 `json:"measured_se,omitempty"`
	Kept     string   `json:"kept,omitempty"` // in words
	Primary  bool     `json:"primary"`        // the kind of club is judged by it
}

func (s *Source) decisions(ctx context.Context, b *book, v *visit.Session, u Units) ([]Decision, error) {
	out := []Decision{}
	for _, g := range v.Verdicts {
		d := Decision{Verdict: g.Event, Kind: kindWord(g.Given.GetKind()), Says: playerSays[g.Given.GetKind()], Words: g.Given.GetWords(),
			At:      s.at(g.At),
			Ordered: g.Given.GetKind() == event.VerdictKind_VERDICT_BUILD, Promises: []Promise{}, trial: g.Given.GetTrial()}
		if o := lastOrder(b, g.Event); o != nil {
			d.Number = order.Label(o.Number())
		}
		if t := b.tl.Trial(d.trial); t != nil {
			d.Club = fmt.Sprintf("trial %d", t.Number)
			if t.Build.GetName() != "" {
				d.Club = t.Build.GetName()
			}
		}
		if ball := b.tl.BallOf(d.trial); g.Given.GetKind() == event.VerdictKind_VERDICT_BALL && ball != "" {
			d.Club = ball
		}
		for _, p := range g.Given.GetPromises() {
			name := glossary.Name(p.Outcome)
			changed, interval := moved(name, p.Change, p.Low, p.High, u)
			words := glossary.Told(p.Outcome, v.Category == string(glossary.Putter))
			d.Promises = append(d.Promises, Promise{Outcome: p.Outcome, Label: words.Paper, Means: words.Meaning, Change: p.Change,
				Low: p.Low, High: p.High, Odds: p.ProbabilityBetter,
				Good: good(name, evidence.DefaultGoal(glossary.Category(v.Category), name)),
				Text: changed + ", " + interval, Primary: judges(glossary.Category(v.Category), p.Outcome)})
		}
		checked, err := s.checked(ctx, &d, u)
		if err != nil {
			return nil, err
		}
		switch {
		case checked:
			d.Next = "The delivered club was hit and held against these numbers."
		case d.Ordered:
			check := "ten shots with each show carry and launch, scatter takes more."
			if v.Category == string(glossary.Putter) {
				check = "ten putts with each show start line and launch, scatter takes more."
			}
			d.Next = "Next: when the club is built it is measured, and hit beside the own club. The numbers above are what it is held against. " +
				"Ask for this check: " + check
		case g.Given.GetKind() == event.VerdictKind_VERDICT_TEST_AGAIN:
			d.Next = "Next: more shots on another day, with the own club hit again beside the candidates."
		case g.Given.GetKind() == event.VerdictKind_VERDICT_BALL:
			d.Next = "Next: play it for some rounds, round the green too: how it sits, rolls and feels there was not measured here."
		case g.Given.GetKind() == event.VerdictKind_VERDICT_REFER:
			d.Next = "Next: see the person you were referred to. Do not swing through pain."
		}
		out = append(out, d)
	}
	return out, nil
}

var playerSays = map[event.VerdictKind]string{
	event.VerdictKind_VERDICT_BUILD:      "This club is to be built",
	event.VerdictKind_VERDICT_KEEP_GAMER: "Keep your own club",
	event.VerdictKind_VERDICT_SETUP:      "The set-up or the swing, not the club",
	event.VerdictKind_VERDICT_ADD_CLUB:   "Add a club to the bag",
	event.VerdictKind_VERDICT_DROP_CLUB:  "Leave a club out of the bag",
	event.VerdictKind_VERDICT_TEST_AGAIN: "Test again before deciding",
	event.VerdictKind_VERDICT_REFER:      "See a qualified person first",
	event.VerdictKind_VERDICT_BALL:       "Play this ball",
}

// hitCheck is the trial in which a verdict's delivered club was hit; empty:
// not yet.
func (s *Source) hitCheck(ctx context.Context, verdict string) (trial string, err error) {
	rows, err := s.Store.Conn().Query(ctx, question.HitCheck(), s.Studio, verdict)
	if err != nil {
		return "", fmt.Errorf("hit check of %s: %w", verdict, err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := rows.Scan(&trial); err != nil {
			return "", fmt.Errorf("hit check of %s: %w", verdict, err)
		}
	}
	return trial, rows.Err()
}

// checked fills in what the hit check of a verdict's club measured. Its range is
// the normal one of the view's standard error: a little narrow for few shots.
func (s *Source) checked(ctx context.Context, d *Decision, u Units) (bool, error) {
	trial, err := s.hitCheck(ctx, d.Verdict)
	if err != nil || trial == "" {
		return false, err
	}
	kept, err := answers.Checked(ctx, s.Store.Conn(), answers.Asked{Studio: s.Studio, Verdict: d.Verdict})
	if err != nil {
		return true, fmt.Errorf("hit check of %s: %w", d.Verdict, err)
	}
	for i := range d.Promises {
		p := &d.Promises[i]
		for _, k := range kept[p.Outcome] {
			p.Measured, p.SE = &k.Measured, &k.SE
			low, high := k.Measured-1.96*k.SE, k.Measured+1.96*k.SE
			changed, interval := moved(glossary.Name(p.Outcome), k.Measured, low, high, u)
			p.Kept = fmt.Sprintf("Measured on the delivered club: %s, %s: %s.", changed, interval, againstThePromise(k.Measured, low, high, p))
		}
	}
	return true, nil
}
