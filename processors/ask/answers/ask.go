package answers

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"fairlead/processors/golf/fleet"
)

// Asking says how a question is to be answered.
type Asking struct {
	// Again computes anew what is stored already.
	Again bool
	// Stale takes the newest snapshot as it is, even if trials came since.
	Stale bool
	// Standing takes the answer that stands, of whatever snapshot, and the newest snapshot
	// where none does; only of a fleet that has none, or an empty one, another is made.
	Standing bool
	// Progress hears what is being done; it may be nil.
	Progress func(string)
}

func (a Asking) say(format string, args ...any) {
	if a.Progress != nil {
		a.Progress(fmt.Sprintf(format, args...))
	}
}

// snapshot is the one a question is to be asked of.
func (f *Fleet) snapshot(ctx context.Context, a Asking) (Mark, error) {
	if a.Stale || a.Standing {
		m, err := f.Latest(ctx)
		if a.Stale || err == nil && m.Trials > 0 || err != nil && !errors.Is(err, ErrNoSnapshot) {
			return m, err
		}
	}
	a.say("looking for new trials")
	return f.Refresh(ctx)
}

// wholeSurvey is up to how many trials the middle of attributes and traits and
// the noise of shots are taken from all of them; beyond, from one player in so
// many, which moves a centre by less than a thousandth of its spread.
const wholeSurvey = 2_000_000

// Ask answers a question and keeps the answer, or returns the one that is kept.
// That there is not enough to say is an answer too: Refused says why. An error
// is a question that cannot be meant, or a store that does not answer.
func (f *Fleet) Ask(ctx context.Context, q Question, a Asking) (*Stored, error) {
	if err := q.Check(); err != nil {
		return nil, err
	}
	mark, err := f.snapshot(ctx, a)
	if err != nil {
		return nil, err
	}
	if err := f.CheckNames(ctx, mark, q.Filter); err != nil {
		return nil, err
	}
	if a.Standing && !a.Again {
		switch old, err := f.Newest(ctx, q); {
		case errors.Is(err, ErrNoAnswer):
		case err != nil:
			return nil, err
		case old.Mark.Trials > 0: // else it was asked before there was anything
			return old, nil
		}
	}
	return f.askOf(ctx, mark, q, a)
}

// askOf asks of one snapshot.
func (f *Fleet) askOf(ctx context.Context, mark Mark, q Question, a Asking) (*Stored, error) {
	s := &Stored{ID: id(q.Hash(), mark), Question: q, QuestionHash: q.Hash(), Kind: "effects", Model: fleet.Version, Label: q.Label(),
		Mark: mark}
	if !a.Again {
		if old, err := f.Answer(ctx, s.ID); err == nil {
			copied := *old
			copied.kept = true
			return &copied, nil
		} else if !errors.Is(err, ErrNoAnswer) {
			return nil, err
		}
	}
	begun := f.now()
	answer, err := f.fit(ctx, mark, q, a)
	refused, ok := refusal(err)
	switch {
	case ok:
		s.Refused = refused
		if s.Trials, err = f.count(ctx, mark.Snapshot, q.Filter); err != nil {
			return nil, err
		}
		if s.Players, err = f.countPlayers(ctx, mark.Snapshot, q.Filter); err != nil {
			return nil, err
		}
	case err != nil:
		return nil, err
	default:
		s.Answer = answer
		s.Trials, s.Players = uint64(answer.Trials), uint64(answer.Fit.Players)
		if s.Studios, err = f.countStudios(ctx, mark.Snapshot, q.Filter); err != nil {
			return nil, err
		}
		a.say("looking for what to distrust")
		if err := f.diagnose(ctx, mark, s); err != nil {
			return nil, err
		}
	}
	s.Seconds, s.Asked = f.now().Sub(begun).Seconds(), f.now().UTC()
	return s, f.keep(ctx, s)
}

// fit reads the trials twice: once for what the model is measured from, once
// for its rows. Neither time do they stand in memory as trials.
func (f *Fleet) fit(ctx context.Context, mark Mark, q Question, a Asking) (*fleet.Answer, error) {
	trials, err := f.count(ctx, mark.Snapshot, q.Filter)
	if err != nil {
		return nil, err
	}
	if trials == 0 {
		return nil, &fleet.ModelError{Kind: fleet.NotEnough, Terms: []string{"not enough to say"}, Reason: "no trial matches the filters",
			Try: "widen them"}
	}
	var survey fleet.Survey
	look := q.Filter
	var notes []fleet.Warning
	if trials > wholeSurvey && look.OneIn <= 1 {
		look.OneIn = int(trials/(wholeSurvey/2)) + 1
		notes = append(notes, fleet.Warning{Code: "survey",
			Text: fmt.Sprintf("reference build, middle of the traits and noise of shots come from one player in %d", look.OneIn)})
	}
	notes = append(notes, mark.doubts()...)
	a.say("surveying %d trials", trials)
	var near nearness
	want, err := f.want(q)
	if err != nil {
		return nil, err
	}
	if err := want.know(ctx, f, mark.Snapshot, q); err != nil {
		return nil, err
	}
	if want.unbiased > 0 && !q.AsMeasured {
		notes = append(notes, fleet.Warning{Code: "bay_bias", Text: fmt.Sprintf("from %d swings of players was taken off what the checks of "+
			"their bays say that the device reads off; --as-measured asks without", want.unbiased)})
	}
	if err := f.each(ctx, mark.Snapshot, look, want, func(t *fleet.Trial) error {
		survey.Add(t)
		near.add(t)
		return nil
	}); err != nil {
		return nil, err
	}
	m := q.model()
	m.Workers = f.workers
	design, found, err := survey.Design(m)
	if err != nil {
		return nil, err
	}
	notes = append(notes, found...)
	if q.Attributes == nil {
		kept, found := near.keep(design.Attributes)
		if len(found) > 0 {
			m.Attributes = kept
			if design, _, err = survey.Design(m); err != nil {
				return nil, err
			}
			notes = append(notes, found...)
		}
	}
	m.Progress = a.Progress
	want.noise = survey.Noise(m)
	stream, err := fleet.NewStream(m, design, want.noise)
	if err != nil {
		return nil, err
	}
	stream.Grow(int(min(mark.Players, trials)), 0, int(trials))
	a.say("reading %d trials", trials)
	n := 0
	want.only, want.outcome = design, q.Outcome
	if err := f.each(ctx, mark.Snapshot, q.Filter, want, func(t *fleet.Trial) error {
		if n++; n%1_000_000 == 0 {
			a.say("read %d of %d trials", n, trials)
		}
		return stream.Add(t)
	}); err != nil {
		return nil, err
	}
	answer, err := stream.Answer(ctx)
	if err != nil {
		return nil, err
	}
	answer.Fit.Release() // what is kept holds no rows either
	answer.Notes = append(notes, answer.Notes...)
	return answer, nil
}

// diagnose adds what to distrust. It looks at trials more than once, so of very
// many at a share of the players; and at those that describe players too, since
// how a session was run is seen in all its trials.
func (f *Fleet) diagnose(ctx context.Context, mark Mark, s *Stored) error {
	want, err := f.want(s.Question)
	if err != nil {
		return err
	}
	want.describing, want.measured = true, s.Question.AsMeasured
	trials, note, err := f.sample(ctx, mark.Snapshot, s.Question.Filter, want, mostTrials)
	if err != nil {
		return err
	}
	judged := trials
	if slices.ContainsFunc(trials, func(t fleet.Trial) bool { return t.Why == fleet.Drawn }) {
		judged = slices.DeleteFunc(slices.Clone(trials), func(t fleet.Trial) bool { return t.TraitsFrom == fleet.SameShots })
	}
	chosen, err := s.Answer.Choice(ctx, judged)
	if err != nil {
		return fmt.Errorf("what was drawn against what was chosen: %w", err)
	}
	for i := range trials {
		trials[i].TraitsFrom = fleet.OtherShots // those that describe were not judged
	}
	s.Diagnostics = s.Answer.Diagnose(trials)
	s.Diagnostics = append(s.Diagnostics, chosen)
	if note != nil {
		note.Text = "for the diagnostics " + note.Text
		s.Answer.Notes = append(s.Answer.Notes, *note)
	}
	return nil
}
