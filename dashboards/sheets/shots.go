package sheets

import (
	"context"
	"fmt"
	"strings"

	"github.com/google/uuid"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
	read "fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

// hit is a session's shots in their order, and the timeline of as long as it went.
type hit struct {
	tl    *visit.Timeline
	shots []rolling.Shot
}

// hit reads what was hit in a session: once for all that a paper says of it.
func (s *Source) hit(ctx context.Context, b *book, session *visit.Session) (*hit, error) {
	h := &hit{tl: b.upTo(session)}
	var err error
	h.shots, err = s.shots(ctx, b.bay, session.ID, h.tl)
	return h, err
}

// state works out again what the live page showed at the end of a session.
func (s *Source) state(b *book, session *visit.Session, h *hit) rolling.State {
	return rolling.Build(rolling.Snapshot{Studio: s.Studio, Bay: b.bay, Timeline: h.tl, Session: session.ID, Shots: h.shots, At: session.From})
}

// shots reads a session's shots in their order, with their tags and measures as
// they are stored; what is ours is computed of them, as on the live page, so that a
// paper is of one flight model whatever the rows are of. A setting is stored by its id only, so it is taken from the
// events.
func (s *Source) shots(ctx context.Context, bay, session string, tl *visit.Timeline) ([]rolling.Shot, error) {
	fields := event.Fields()
	rows, err := s.Store.Conn().Query(ctx, question.SessionShots(), s.Studio, bay, session)
	if err != nil {
		return nil, fmt.Errorf("shots of session %s: %w", session, err)
	}
	defer rows.Close()
	var out []rolling.Shot
	for rows.Next() {
		var (
			t                              = &tag.Tag{Situation: &tag.Situation{}}
			v                              = &read.Values{}
			shot                           = rolling.Shot{Tag: t, Values: v}
			id                             uuid.UUID
			status, hand, class, intent    string
			number, part, instructions     uint16
			orderTrial, orderSession, swap uint32
			values                         = make([]*float64, len(fields))
		)
		to := []any{&shot.Key.Journal, &shot.Key.Seq, &id, &shot.Device, &shot.Received, &t.At,
			&status, &t.Reason, &t.Visit, &t.Trial, &number, &part, &t.Moved, &t.BuildKey, &t.Player, &t.Category, &hand,
			&class, &t.ClassLength, &intent, &t.Instruction, &instructions, &orderTrial, &orderSession, &swap}
		for i := range values {
			to = append(to, &values[i])
		}
		if err := rows.Scan(to...); err != nil {
			return nil, fmt.Errorf("shots of session %s: %w", session, err)
		}
		shot.Key.ID = event.ShotID(id)
		t.Reason, t.Instruction = s.clear(t.Reason), s.clear(t.Instruction)
		t.Session, t.Status = session, statusOf(status)
		t.TrialNumber, t.Part, t.Instructions = int(number), int(part), int(instructions)
		t.OrderInTrial, t.OrderInSession, t.Swap = int(orderTrial), int(orderSession), int(swap)
		t.Hand = event.Hand(wordOf("HAND_", hand, event.Hand_value))
		t.Class = event.ShotClass(wordOf("CLASS_", class, event.ShotClass_value))
		t.Intent = event.Intent(wordOf("INTENT_", intent, event.Intent_value))
		t.Setting = tl.At(t.At).Setting()
		for i, f := range fields {
			if values[i] != nil {
				v.Put(f.Field, *values[i])
			}
		}
		v.Derive()
		out = append(out, shot)
	}
	return out, rows.Err()
}

func statusOf(word string) tag.Status {
	s, _ := tag.ParseStatus(word)
	return s
}

// wordOf reads what the store calls a value of an enumeration of the contract.
func wordOf(prefix, word string, values map[string]int32) int32 {
	return values[prefix+strings.ToUpper(word)]
}
