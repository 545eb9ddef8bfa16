package rolling

import (
	"fmt"
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/golf/strokes"
	"fairlead/processors/visit"
	"fairlead/processors/visit/tag"
	"fairlead/processors/visit/trial"
)

// Comparison is one club of the session against the incumbent, by swings of one
// length: of a club that was hit with several, what was hit last comes first.
type Comparison struct {
	Club       int            `json:"club"`
	Pair       string         `json:"pair"` // names player, category and the two builds, for a prior
	Name       string         `json:"name"`
	Rows       []string       `json:"rows"` // keys of the rows that were compared
	Against    int            `json:"against_club"`
	AgainstOf  string         `json:"against"`
	Class      string         `json:"class,omitempty"` // partial, where the swings were; empty: full
	Length     float64        `json:"class_length_m,omitempty"`
	Ball       string         `json:"ball,omitempty"`         // two balls are compared, with one club: this one
	BallWas    string         `json:"against_ball,omitempty"` // with that one
	RowWas     string         `json:"against_row,omitempty"`  // first row that was hit with that one
	Outcomes   []Weighed      `json:"outcomes"`               // what is decided first
	Trade      string         `json:"trade,omitempty"`        // longer but wider, shorter but tighter
	Strokes    *strokes.Worth `json:"strokes,omitempty"`      // what it is worth on a hole; no verdict
	Doubts     []string       `json:"doubts,omitempty"`       // what makes it less sure than it looks
	Left       []string       `json:"left,omitempty"`         // shots that were left out, and why
	Confounded bool           `json:"confounded"`             // club and swing changed together
	Blocked    string         `json:"blocked,omitempty"`      // why the two can't be compared at all
	Computing  bool           `json:"computing,omitempty"`
	Stale      bool           `json:"stale,omitempty"` // of the shots before the last; the new ones are being weighed
}

// Weighed is the statement on one outcome, candidate less incumbent. For a
// tightness (unit ln) change, low and high are on the log scale: −0.1 is about
// ten percent tighter.
type Weighed struct {
	Name       string  `json:"name"`
	Unit       string  `json:"unit"`
	Primary    bool    `json:"primary"` // the category is judged by it
	NBaseline  int     `json:"n_baseline"`
	NCandidate int     `json:"n_candidate"`
	Baseline   float64 `json:"baseline"`
	Candidate  float64 `json:"candidate"`
	From       float64 `json:"from"` // of the incumbent's shots that are weighed, as a trial's row tells it
	To         float64 `json:"to"`   // of this club's
	Change     float64 `json:"change"`
	Low        float64 `json:"low"`
	High       float64 `json:"high"`
	ProbBetter float64 `json:"prob_better"`
	ProbSame   float64 `json:"prob_same"`
	EValue     float64 `json:"e_value"`
	Holds      bool    `json:"holds_for_visit,omitempty"` // with all that was weighed in the session, not for itself alone
	Verdict    string  `json:"verdict"`
	Way        string  `json:"way"`     // what counts as better: higher, lower, toward
	Target     float64 `json:"target"`  // for toward
	Assumed    bool    `json:"assumed"` // the way is a convention, not the player's wish
	NotYet     bool    `json:"not_yet,omitempty"`
	More       int     `json:"more,omitempty"`
	Why        string  `json:"why,omitempty"`
	NeedP50    int     `json:"need_p50"` // further shots, both clubs together; −1: more than are worth hitting
	NeedP90    int     `json:"need_p90"`
	Prior      Prior   `json:"prior"`
}

// Plan is a suggestion for what to hit next.
type Plan struct {
	Blocks []Block `json:"blocks"`
	Lots   []Lot   `json:"lots,omitempty"` // among which the next club may be drawn; none: one is the best
	Done   string  `json:"done,omitempty"`
}

// Lot is a club that may be drawn to be hit next, near enough to the best.
type Lot struct {
	Trial  string  `json:"trial"` // of the club, hit last
	Club   int     `json:"club"`
	Build  string  `json:"build"`
	Worth  float64 `json:"worth"`  // odds that a block decides about it, and that it is the better one
	Chance float64 `json:"chance"` // with which it is drawn
}

// Lots are the trials that the next one may be drawn among, with their chances.
func (s *State) Lots() (out []visit.Lot) {
	if s.Next == nil {
		return nil
	}
	for _, l := range s.Next.Lots {
		out = append(out, visit.Lot{Trial: l.Trial, Chance: l.Chance})
	}
	return out
}

// Block is a run of shots to hit next.
type Block struct {
	Build string `json:"build"`
	Shots int    `json:"shots"`
	Why   string `json:"why"`
}

// club is all rows of one build.
type club struct {
	number int
	name   string
	gamer  bool
	rows   []*row
}

func clubsOf(rows []*row) []*club {
	var out []*club
	for _, r := range rows {
		i := slices.IndexFunc(out, func(c *club) bool { return c.number == r.club })
		if i < 0 {
			out = append(out, &club{number: r.club, name: r.called})
			i = len(out) - 1
		}
		out[i].rows = append(out[i].rows, r)
		out[i].gamer = out[i].gamer || r.trial.Build.GetGamer()
	}
	return out
}

// nameOf is what the fitter called the build, or a name by its number.
func nameOf(r *row) string {
	if n := r.trial.Build.GetName(); n != "" {
		return n
	}
	if r.trial.Build.GetGamer() {
		return "own club"
	}
	return fmt.Sprintf("build %d", r.club)
}

// incumbent is the player's own club, else the first that was hit.
func incumbent(clubs []*club) *club {
	for _, c := range clubs {
		if c.gamer {
			return c
		}
	}
	for _, c := range clubs {
		for _, r := range c.rows {
			if len(r.counting()) > 0 {
				return c
			}
		}
	}
	return nil
}

// circumstance of a row: what must be the same for two rows to be compared,
// but for instructions, which evidence deals with itself.
func (r *row) circumstance() (c trial.Circumstance, ok bool) {
	shots := r.counting()
	if len(shots) == 0 {
		return c, false
	}
	last := shots[len(shots)-1]
	return trial.Circumstance{
		Device: last.Device, Setting: last.Tag.Setting.ID(), Intent: int32(r.key.intent), Class: int32(r.key.class), ClassLength: r.key.length,
	}, true
}

// hit are the rows of a club with shots, and of those the ones hit under the
// circumstance c.
func (k *club) hit(c trial.Circumstance) (all, same []*row) {
	for _, r := range k.rows {
		if have, ok := r.circumstance(); ok {
			all = append(all, r)
			if have == c {
				same = append(same, r)
			}
		}
	}
	return all, same
}

// pair is a comparison to make.
type pair struct {
	class               event.ShotClass
	length              float64 // m of carry meant with a partial swing
	baseline, candidate []*row
	taken               *event.PriorTaken // what was expected before the shots; nil: nothing
}

// toCompare finds which rows of a club compare with which of the incumbent's:
// swings of each length by themselves, what was hit last first, each under the
// circumstance in which it was hit last. why says why none do.
func toCompare(base, c *club) (out []pair, why string) {
	var last []trial.Circumstance
	for _, r := range c.rows {
		if have, ok := r.circumstance(); ok {
			last = slices.DeleteFunc(last, func(l trial.Circumstance) bool {
				return l.Class == have.Class && l.ClassLength == have.ClassLength
			})
			last = append(last, have)
		}
	}
	if len(last) == 0 {
		return nil, "not hit yet"
	}
	for _, l := range slices.Backward(last) {
		_, same := base.hit(l)
		if len(same) == 0 {
			continue
		}
		p := pair{class: event.ShotClass(l.Class), length: l.ClassLength, baseline: same}
		_, p.candidate = c.hit(l)
		out = append(out, p)
	}
	if len(out) > 0 {
		return out, ""
	}
	if all, _ := base.hit(last[0]); len(all) == 0 {
		return nil, "the incumbent was not hit yet"
	}
	return nil, "ball, surface, device or kind of shot changed since the incumbent was hit: hit it again"
}

// evidenceOf turns rows into what evidence weighs.
func evidenceOf(rows []*row) []evidence.Trial {
	var out []evidence.Trial
	for _, r := range rows {
		t := evidence.Trial{Name: trialName(r)}
		for i, s := range r.counting() {
			if i == 0 {
				t.Instructions = s.Tag.Instructions
			}
			t.Shots = append(t.Shots, evidence.Shot{Position: s.Tag.OrderInSession, Values: measures(s)})
		}
		out = append(out, t)
	}
	return out
}

func measures(s *Shot) map[evidence.Measure]float64 {
	m := map[evidence.Measure]float64{}
	for to, from := range map[evidence.Measure]event.Field{
		evidence.BallSpeedMps: event.Field_FIELD_BALL_SPEED, evidence.LaunchDeg: event.Field_FIELD_LAUNCH_ANGLE,
		evidence.SpinRpm:  event.Field_FIELD_SPIN_RATE,
		evidence.StrikeXM: event.Field_FIELD_STRIKE_X, evidence.StrikeYM: event.Field_FIELD_STRIKE_Y,
		evidence.StartDeg: event.Field_FIELD_LAUNCH_DIRECTION,
	} {
		if x, ok := s.Values.Get(from); ok {
			m[to] = x
		}
	}
	if carry, offline, ok := s.Values.Landing(); ok && carry > 0 {
		m[evidence.CarryM], m[evidence.OfflineM] = carry, offline
	}
	if x, ok := landingAngle(s.Values); ok {
		m[evidence.LandingDeg] = x
	}
	if glossary.Category(s.Tag.Category) == glossary.Putter {
		if x, ok := skidShare(s.Values, s.Tag.Setting.GreenSpeed.Value); ok {
			m[evidence.SkidRatio] = x
		}
	}
	return m
}

// primaryOf says which outcomes of evidence a category is judged by.
func primaryOf(c glossary.Category) map[glossary.Name]bool {
	out := map[glossary.Name]bool{}
	for _, o := range c.Primary() {
		out[o.Name] = true
	}
	return out
}

// fill writes a report into a comparison.
func (c *Comparison) fill(r weighed) {
	primary := primaryOf(r.Category)
	c.Confounded, c.Doubts = r.Order.Confounded, r.Doubts
	if r.Trade != nil {
		c.Trade = r.Trade.Statement
	}
	c.Strokes = r.Strokes
	for _, l := range r.Order.Left {
		c.Left = append(c.Left, fmt.Sprintf("%s: %d left out (%s)", l.Trial, l.Shots, l.Why))
	}
	for _, o := range r.Outcomes {
		c.Outcomes = append(c.Outcomes, Weighed{
			Name: string(o.Name), Unit: o.Unit, Primary: primary[o.Name], NBaseline: o.NBaseline, NCandidate: o.NCandidate,
			Baseline: o.Baseline, Candidate: o.Candidate, From: o.Plain[0], To: o.Plain[1], Change: o.Change, Low: o.Low, High: o.High,
			ProbBetter: o.ProbBetter, ProbSame: o.ProbSame, EValue: min(o.EValue, 1e12), Verdict: string(o.Verdict),
			Way: string(o.Goal.Way), Target: o.Goal.Target, Assumed: o.Goal.Assumed,
			NotYet: o.NotYet, More: o.More, Why: o.Why, NeedP50: o.Needed.P50, NeedP90: o.Needed.P90, Prior: priorOf(&o, r.taken),
		})
	}
}

// latest is the trial that a club was hit in last.
func (k *club) latest() string {
	last, trial := -1, ""
	for _, r := range k.rows {
		for _, s := range r.shots {
			if s.Tag.OrderInSession > last {
				last, trial = s.Tag.OrderInSession, s.Tag.Trial
			}
		}
	}
	return trial
}

// lastShot is the place in the session of the last of a club's shots that count.
func (k *club) lastShot() int {
	last := 0
	for _, r := range k.rows {
		for _, s := range r.shots {
			if s.Tag.Status == tag.Counts {
				last = max(last, s.Tag.OrderInSession)
			}
		}
	}
	return last
}
