package answers

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/flight"
	"fairlead/processors/hub/store/question"
)

// NoPriorError says why the fleet expects nothing of a change of build: the weak
// default holds. It is no fault of the store.
type NoPriorError struct{ Reason string }

func (e *NoPriorError) Error() string { return e.Reason }

func noPrior(format string, args ...any) error {
	return &NoPriorError{fmt.Sprintf(format, args...)}
}

// leastPriorPlayers is how many players an answer needs before it is believed
// of others: fewer don't tell how much players differ.
const leastPriorPlayers = 30

// shakenDoubt is the share of belief kept back (evidence.FleetDoubt otherwise)
// where a diagnostic of the answer says that its effects may not be the builds'.
const shakenDoubt = 0.5

// heights is how many builds the fleet must have told from their figures before
// their spread says what a build does that is described no further.
const heights = 20

// shaking are the diagnostics that speak of bias, not of precision.
var shaking = []string{"order", "selection", "bays", "exclusion", "coupling", "choice"}

// Prior is what the fleet expects of a change of build for one player, to be
// weighed against shots that it knows nothing of. before is when the player's
// visit began: the answers are the newest that were made, of rows that were
// stored, before it, and the swing is described by shots of earlier visits. So
// no shot is used twice, neither as an outcome nor as the swing.
//
// Each outcome is the predictive distribution of the difference between a trial
// with one build and a trial with the other, by this player: the uncertainty of
// the coefficients, the players' own differences, traits that were not measured
// at their spread over the fleet, and twice the noise between trials τ². Where
// the builds also differ in what the fleet does not describe (another head, an
// attribute known of one of them only), the fleet's word is as wide as what builds
// were seen to do beyond their figures; where it has not seen enough of that
// (heights), the variance of the weak default is added, so that the fleet shifts
// what is expected and makes nothing surer.
//
// Of a player whose swing is not known, all traits are at their spread over the
// fleet: what builds do to players as they come. ProfileUnixNs is 0 then.
//
// The answer is the studio's own or its head office's, never both of them: see
// priorBefore.
//
// A *NoPriorError says why there is none; what is taken then holds the wander that the
// fleet has learnt, or is nil. The pair is left to the caller.
func (f *Fleet) Prior(ctx context.Context, player, category string, from, to *event.Build, before time.Time) (*event.PriorTaken, error) {
	if err := (Filter{Category: category}).Check(); err != nil {
		return nil, err
	}
	taken := &event.PriorTaken{}
	traits, measured, err := f.swing(ctx, player, category, before)
	var stranger *NoPriorError
	switch {
	case errors.As(err, &stranger):
	case err != nil:
		return nil, err
	default:
		taken.ProfileUnixNs = measured.UnixNano()
	}
	if taken.Wanders, err = f.wander(ctx, category, before); err != nil {
		return nil, err
	}
	change := changeOf(from, to)
	var why error
	for _, o := range promised() {
		s, err := f.priorBefore(ctx, Question{Outcome: o.Fleet.Name, Filter: Filter{Category: category}}, before)
		if err == nil && s.Players < leastPriorPlayers {
			err = noPrior("the fleet has %d players: too few to expect anything of another", s.Players)
		}
		var p *event.Prior
		if err == nil {
			p, err = expect(s, string(o.Name), traits, change)
		}
		var none *NoPriorError
		switch {
		case errors.As(err, &none):
			why = err
		case err != nil:
			return nil, fmt.Errorf("prior of %s: %w", o.Fleet.Name, err)
		default:
			taken.Priors = append(taken.Priors, p)
		}
	}
	switch {
	case len(taken.Priors) > 0:
		return taken, nil
	case len(taken.Wanders) > 0:
		return taken, why
	}
	return nil, why
}

// newestBefore is the kept answer of the newest data that was made before an
// instant, of rows that were stored before it.
func (f *Fleet) newestBefore(ctx context.Context, q Question, before time.Time) (*Stored, error) {
	rows, err := f.store.Conn().Query(ctx, question.AnswersBefore(),
		clickhouse.Named("v", q.Hash()), clickhouse.Named("m", fleet.Version), clickhouse.Named("b", fmt.Sprint(before.UnixMilli())),
		clickhouse.Named("f", flight.Stamp()))
	if err != nil {
		return nil, fmt.Errorf("kept answers: %w", err)
	}
	defer rows.Close()
	var ids []string
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			return nil, fmt.Errorf("kept answers: %w", err)
		}
		ids = append(ids, id)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("kept answers: %w", err)
	}
	for _, id := range ids {
		s, err := f.Answer(ctx, id)
		if err != nil {
			return nil, err
		}
		// The rows were copied between the mark and this.
		if s.Answer != nil && s.Mark.Made.Before(before) {
			return s, nil
		}
	}
	return nil, noPrior("no answer of the fleet from before this visit is kept")
}

// swing is a player's profile from visits before an instant, handed.
func (f *Fleet) swing(ctx context.Context, player, category string, before time.Time) (traits map[string]float64, measured time.Time,
	err error) {
	if player == "" {
		return nil, measured, noPrior("nobody knows who the player is")
	}
	where := fmt.Sprintf("player = %s AND category = %s AND last_shot < fromUnixTimestamp64Nano(%d) AND ", quote(player), quote(category),
		before.UnixNano())
	strange := noPrior("this player's swing was not measured with their own %s before this visit, or may not be used", category)
	var some uint64 // of most players nothing is stored, and to describe that takes the store half a second
	if err := f.store.Conn().QueryRow(ctx, question.Hit(where)).Scan(&some); err != nil {
		return nil, measured, fmt.Errorf("trials of a player: %w", err)
	}
	if some == 0 {
		return nil, measured, strange
	}
	rows, err := f.store.Conn().Query(ctx, question.Swing(question.Profiles(0, where)))
	if err != nil {
		return nil, measured, fmt.Errorf("profile of a player: %w", err)
	}
	defer rows.Close()
	if !rows.Next() {
		if err := rows.Err(); err != nil {
			return nil, measured, fmt.Errorf("profile of a player: %w", err)
		}
		return nil, measured, strange
	}
	values := make([]float64, fleet.TraitCount)
	into := []any{&measured}
	for i := range values {
		into = append(into, &values[i])
	}
	if err := rows.Scan(into...); err != nil {
		return nil, measured, fmt.Errorf("profile of a player: %w", err)
	}
	traits = map[string]float64{}
	for i, n := range fleet.TraitNames {
		if !math.IsNaN(values[i]) && !math.IsInf(values[i], 0) {
			traits[n] = values[i]
		}
	}
	if len(traits) == 0 {
		return nil, measured, noPrior("nothing of this player's swing was measured before this visit")
	}
	return traits, measured, rows.Err()
}

// change is what differs between two builds.
type change struct {
	from, to [fleet.AttributeCount]float64
	beside   bool // also in parts that no attribute describes
}

// attributeParts are the parts of a build that the fleet's attributes are.
var attributeParts = [fleet.AttributeCount]event.BuildField{
	fleet.Length: event.BuildField_BUILD_LENGTH, fleet.Loft: event.BuildField_BUILD_LOFT, fleet.Lie: event.BuildField_BUILD_LIE,
	fleet.ShaftWeight: event.BuildField_BUILD_SHAFT_WEIGHT, fleet.Flex: event.BuildField_BUILD_FLEX,
	fleet.Torque:     event.BuildField_BUILD_TORQUE,
	fleet.HeadWeight: event.BuildField_BUILD_HEAD_WEIGHT, fleet.SwingWeight: event.BuildField_BUILD_SWING_WEIGHT,
}

// described are further parts that say nothing beside the attributes: names of
// what they measure, or their consequences.
var described = []event.BuildField{
	event.BuildField_BUILD_STATED_LOFT, event.BuildField_BUILD_SHAFT_MODEL, event.BuildField_BUILD_SHAFT_MATERIAL,
	event.BuildField_BUILD_BALANCE_POINT,
	event.BuildField_BUILD_BUTT_TRIM, event.BuildField_BUILD_LENGTH_METHOD, event.BuildField_BUILD_TOTAL_WEIGHT, event.BuildField_BUILD_FINISH,
	event.BuildField_BUILD_FACE_WEAR,
}

// AttributesOf reads a build as the fleet's rows are read; NaN where unknown.
func AttributesOf(b *event.Build) [fleet.AttributeCount]float64 {
	out := fleet.NoAttributes()
	for a, part := range attributeParts {
		spec := b.Spec(part)
		if spec == nil {
			continue
		}
		if fleet.Attribute(a) == fleet.Flex {
			if x, ok := fleet.FlexIndex(spec.Text); ok {
				out[a] = x
			}
			continue
		}
		out[a] = spec.Number
	}
	return out
}

func changeOf(from, to *event.Build) change {
	c := change{from: AttributesOf(from), to: AttributesOf(to)}
	differs := func(a, b *event.Spec) bool {
		return (a == nil) != (b == nil) || a != nil && (a.Number != b.Number || a.Text != b.Text)
	}
	for _, part := range event.BuildFields() {
		if slices.Contains(attributeParts[:], part.Field) || slices.Contains(described, part.Field) {
			continue
		}
		c.beside = c.beside || differs(from.Spec(part.Field), to.Spec(part.Field))
	}
	// A flex that is no letter of the scale, and a shaft of which nothing but the
	// name is known.
	for _, part := range []event.BuildField{event.BuildField_BUILD_FLEX, event.BuildField_BUILD_SHAFT_MODEL} {
		known := !math.IsNaN(c.from[fleet.Flex]) && !math.IsNaN(c.to[fleet.Flex])
		c.beside = c.beside || !known && differs(from.Spec(part), to.Spec(part))
	}
	return c
}

// expect is the predictive distribution of one outcome; see Prior.
func expect(s *Stored, name string, traits map[string]float64, c change) (*event.Prior, error) {
	d, a := s.Answer.Design, s.Answer
	from, to, beside := c.from, c.to, c.beside
	moved := false
	for i := range fleet.AttributeCount {
		asked := slices.Contains(d.Attributes, i)
		unknown := math.IsNaN(from[i]) || math.IsNaN(to[i])
		switch {
		case unknown:
			// Known of one only: it may differ or not. Unknown of both: a fitter changes one thing at a time.
			beside = beside || asked && math.IsNaN(from[i]) != math.IsNaN(to[i])
			from[i], to[i] = d.Reference[i], d.Reference[i]
		case from[i] == to[i]:
		case asked:
			moved = true
		case i != fleet.SwingWeight: // which follows from the others
			beside = true
		}
	}
	seen := a.Prior.Model.Heights("build") >= heights
	if !moved && !(beside && seen) {
		return nil, noPrior("the fleet has nothing to say of what differs between these builds, as far as they are known")
	}
	delta, err := d.Columns(to)
	if err != nil {
		return nil, err
	}
	start, err := d.Columns(from)
	if err != nil {
		return nil, err
	}
	for i := range delta {
		delta[i] -= start[i]
	}
	u, missing := make([]float64, len(d.Traits)), []int(nil)
	for i, n := range d.Traits {
		if x, ok := traits[n]; ok {
			u[i] = (x - d.Center[i]) / d.Spread[i]
		} else {
			missing = append(missing, i)
		}
	}
	b, err := a.Prior.Newcomer(u)
	if err != nil {
		return nil, err
	}
	mean, variance := b.Change(delta)
	for _, i := range missing {
		u[i] = 1 // by one spread of the fleet
		other, err := a.Prior.Newcomer(u)
		if err != nil {
			return nil, err
		}
		m, _ := other.Change(delta)
		variance += (m - mean) * (m - mean)
		u[i] = 0
	}
	variance += 2 * a.Prior.Tau2 // of a build never met its own effect is a part
	if beside && !seen {
		weak := evidence.WeakPrior(glossary.Category(s.Question.Filter.Category), glossary.Name(name))
		variance += weak.Spread() * weak.Spread()
	}
	sd := math.Sqrt(variance)
	if o, ok := glossary.Find(s.Question.Outcome); ok && o.Fleet != nil {
		sd = math.Max(sd, o.Fleet.LeastSD)
	}
	if math.IsNaN(mean) || math.IsInf(mean, 0) || math.IsNaN(sd) || math.IsInf(sd, 0) {
		return nil, noPrior("the fleet's answer reaches beyond all numbers for this change")
	}
	doubt := evidence.FleetDoubt
	for _, g := range s.Diagnostics {
		if g.Fired && slices.Contains(shaking, g.Code) {
			doubt = shakenDoubt
		}
	}
	p := &event.Prior{Outcome: name, Mean: mean, Sd: sd, Doubt: doubt, Answer: s.ID, Players: s.Players,
		AnsweredUnixNs: s.Asked.UnixNano(), MarkUnixNs: s.Mark.Inserted.UnixNano()}
	if s.HeadOffice != nil {
		p.Office, p.Studios = s.HeadOffice.Name, s.Studios
	}
	return p, nil
}
