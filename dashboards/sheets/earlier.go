package sheets

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/profile"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
	"fairlead/processors/visit/tag"
)

// Earlier compares the swing with that of the player's last visit with the
// same kind of club, both with the own club of the day.
type Earlier struct {
	Visit   string    `json:"visit"`
	Day     time.Time `json:"day"`
	Shots   [2]int    `json:"shots"` // then, now
	Differs []string  `json:"differs,omitempty"`
	Text    string    `json:"text"`
	Changes []Swing   `json:"changes"`
	// Returned is of how many players the studio learnt how days differ; 0: working values.
	Returned int `json:"returned,omitempty"`
}

// Swing is one quantity at both visits, in stored units, handed: for a
// left-hander left and right are mirrored.
type Swing struct {
	Term    string  `json:"term"`
	Label   string  `json:"label"`
	Means   string  `json:"means"`
	Before  float64 `json:"before"`
	After   float64 `json:"after"`
	Verdict string  `json:"verdict"`
	Told    float64 `json:"told_from"` // a change of this size would be told in four of five such comparisons
	Text    string  `json:"text"`
}

// day is the swing with the own club in one session: the club's build, and
// what else a difference may come from.
type day struct {
	swing               profile.Profile
	build               profile.Build
	shots               int
	place, ball, device string
}

// SinceLast compares the swing of a session with that of the last visit before it;
// nil where there is nothing to compare.
func (s *Source) SinceLast(ctx context.Context, bay, visitID, session string, u Units) (*Earlier, error) {
	b, err := s.open(ctx, bay, visitID)
	if err != nil {
		return nil, err
	}
	v := b.tl.Session(session)
	if v == nil || v.Erased || v.MovedTo != "" {
		return nil, nil
	}
	return s.earlier(ctx, b, v, nil, u)
}

// earlier finds the last visit before this one and compares; nil where there
// is none, or where the swing was not measured at either. What was hit now is read
// where it is nil.
func (s *Source) earlier(ctx context.Context, b *book, v *visit.Session, hits *hit, u Units) (*Earlier, error) {
	category := glossary.Category(v.Category)
	if category == glossary.Putter || v.Player == "" {
		return nil, nil
	}
	rows, err := s.Store.Conn().Query(ctx, question.EarlierVisit(), s.Studio, v.Player, v.Category, v.Visit, profile.MinShots, v.From)
	if err != nil {
		return nil, fmt.Errorf("earlier visit: %w", err)
	}
	defer rows.Close()
	if !rows.Next() {
		return nil, rows.Err()
	}
	var bay, session, visitID string
	var at time.Time
	if err := rows.Scan(&bay, &session, &visitID, &at); err != nil {
		return nil, fmt.Errorf("earlier visit: %w", err)
	}
	rows.Close()
	old, err := s.open(ctx, bay, visitID)
	if err != nil {
		return nil, err
	}
	was := old.tl.Session(session)
	if was == nil || was.Erased {
		return nil, nil
	}
	before, err := s.hit(ctx, old, was)
	if err != nil {
		return nil, err
	}
	if hits == nil {
		if hits, err = s.hit(ctx, b, v); err != nil {
			return nil, err
		}
	}
	o := profile.Options{Category: category, Left: v.Hand == event.Hand_HAND_LEFT}
	then, now := before.day(o), hits.day(o)
	if then == nil || now == nil {
		return nil, nil
	}
	out := &Earlier{Visit: visitID, Day: s.at(at.UnixNano()), Shots: [2]int{then.shots, now.shots}, Changes: []Swing{}}
	differ := profile.Setting{Ball: then.ball != now.ball, Surface: then.place != now.place, Device: then.device != now.device}
	for _, d := range []struct {
		on   bool
		word string
	}{{differ.Ball, "ball"}, {differ.Surface, "place or surface"}, {differ.Device, "measuring device"}} {
		if d.on {
			out.Differs = append(out.Differs, d.word)
		}
	}
	reference := profile.Reference(category)
	first, err1 := then.swing.Adjust(then.build, reference)
	second, err2 := now.swing.Adjust(now.build, reference)
	if err1 != nil || err2 != nil {
		return nil, nil // a club unlike all that the adjustment knows
	}
	noise, err := s.noise(ctx, category, v.From)
	if err != nil {
		return nil, err
	}
	changes, err := profile.Compare(first, second, differ, noise)
	if err != nil {
		return nil, fmt.Errorf("earlier visit: %w", err)
	}
	out.tell(changes, u)
	for _, n := range noise {
		out.Returned = max(out.Returned, n.Players)
	}
	if out.Returned > 0 {
		out.Text += fmt.Sprintf(" How much a day differs from another is known from %d players who came back here.", out.Returned)
	}
	if len(out.Changes) == 0 {
		return nil, nil
	}
	return out, nil
}

// day is a session's full shots with the own club; nil where there are too few, or one
// holds a value that no swing makes.
func (h *hit) day(o profile.Options) *day {
	d := &day{}
	var list []profile.Shot
	for i := range h.shots {
		one := &h.shots[i]
		t := h.tl.Trial(one.Tag.Trial)
		if one.Tag.Status != tag.Counts || one.Tag.Class != event.ShotClass_CLASS_FULL || t == nil || !t.Build.GetGamer() {
			continue
		}
		number := func(f event.BuildField) profile.Opt {
			if x, ok := t.Build.Number(f); ok {
				return profile.Some(x)
			}
			return profile.Opt{}
		}
		d.build = profile.Build{Length: number(event.BuildField_BUILD_LENGTH), Loft: number(event.BuildField_BUILD_LOFT),
			Lie: number(event.BuildField_BUILD_LIE)}
		g := one.Tag.Setting
		d.place, d.ball, d.device = g.Place+"/"+g.Surface, g.BallModel+"/"+g.BallClass, one.Device
		list = append(list, swingOf(one))
	}
	d.shots = len(list)
	if d.shots < profile.MinShots {
		return nil
	}
	var err error
	if d.swing, err = profile.FromShots(list, o); err != nil {
		return nil
	}
	return d
}

func swingOf(s *rolling.Shot) (out profile.Shot) {
	for field, term := range swung {
		if x, ok := s.Values.Get(field); ok {
			out.Set(term, x)
		}
	}
	return out
}

// tell says what changed, in words.
func (e *Earlier) tell(changes []profile.Change, u Units) {
	var changed, same, open []string
	for _, c := range changes {
		if c.Verdict == profile.NotYet {
			continue
		}
		s := swingScale(c.Term, u)
		w := terms[c.Term]
		one := Swing{Term: string(c.Term), Label: w[0], Means: w[1], Before: c.Before.Mean, After: c.After.Mean,
			Verdict: string(c.Verdict), Told: c.Told,
			Text: fmt.Sprintf("%s then, %s now: %s", s.Text(c.Before.Mean), s.Text(c.After.Mean), verdictWords[c.Verdict])}
		switch c.Verdict {
		case profile.Changed, profile.Same:
		default:
			one.Text += fmt.Sprintf(" (a change of %s would be told, four times in five)", toldFrom(c, s))
		}
		e.Changes = append(e.Changes, one)
		switch word := lowerFirst(w[0]); c.Verdict {
		case profile.Changed:
			changed = append(changed, word)
		case profile.Same:
			same = append(same, word)
		default:
			open = append(open, word)
		}
	}
	if len(changed) > 0 {
		e.Text = "Changed by more than one day differs from another: " + strings.Join(changed, ", ") + "."
	} else {
		e.Text = "Nothing in the swing changed by more than one day differs from another."
	}
	if len(same) > 0 {
		e.Text += " Practically the same: " + strings.Join(same, ", ") + "."
	}
	if len(open) > 0 {
		e.Text += " Not told from chance, or from what else was different: " + strings.Join(open, ", ") + "."
	}
}

var verdictWords = map[profile.Verdict]string{
	profile.Same: "practically the same", profile.WithinDays: "no more than one day differs from another",
	profile.Confounded: "may come from what else was different", profile.Changed: "changed",
}

// toldFrom is the change that would be told; of the strike's scatter, which is judged by
// its logarithm, from the earlier one upward.
func toldFrom(c profile.Change, s figure.Unit) string {
	if c.Term == profile.StrikeScatter {
		return s.Text(c.Before.Mean * math.Expm1(c.Told))
	}
	return s.Text(c.Told)
}

func swingScale(t profile.Term, u Units) figure.Unit {
	switch t {
	case profile.Speed:
		return u.Speed()
	case profile.StrikeX, profile.StrikeY, profile.StrikeScatter:
		return u.Pick(figure.In("mm", 1000, 1), figure.In("in", 1/club.Inch, 2))
	case profile.Tempo:
		return figure.In("", 1, 2)
	}
	return figure.In("°", 1, 1)
}
