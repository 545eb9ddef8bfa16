package sheets

import (
	"context"
	"errors"
	"fmt"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/visit"
)

// Source is where the papers come from.
type Source struct {
	Store  *store.Store
	Studio string
	// Name gives the name behind a pseudonym, or the pseudonym itself; nil: none
	// is known.
	Name func(id string) string
	// Open puts in clear what stands sealed in a text that a person wrote; nil: it
	// stays sealed.
	Open func(text string) string
	// Zone is in what times are told; nil: the machine's.
	Zone *time.Location
}

// Errors of what can't be found.
var (
	ErrNoVerdict = errors.New("no such verdict is stored")
	ErrNoVisit   = errors.New("no such visit is stored")
)

func (s *Source) name(id string) string {
	if s.Name == nil || id == "" {
		return id
	}
	return s.Name(id)
}

func (s *Source) clear(text string) string {
	if s.Open == nil {
		return text
	}
	return s.Open(text)
}

func (s *Source) at(ns int64) time.Time {
	zone := s.Zone
	if zone == nil {
		zone = time.Local
	}
	return time.Unix(0, ns).In(zone)
}

// book is what the fitter did in a bay, as far as some visits go.
type book struct {
	bay string
	log *visit.Log
	tl  *visit.Timeline
}

// sessionsOf lists the sessions of a visit that were really in this bay.
func (b *book) sessionsOf(visitID string) (out []*visit.Session) {
	for _, s := range b.tl.Sessions {
		if s.Visit == visitID && s.MovedTo == "" && s.From < s.To {
			out = append(out, s)
		}
	}
	return out
}

// open reads the events of a bay that bear on a visit: its own, those that
// name no session, and the few of others that reach beyond theirs (opening
// closes what was open, a setting stays until it is changed, a void may take
// back anything). So it stays small however long the bay has been in use.
func (s *Source) open(ctx context.Context, bay, visitID string) (*book, error) {
	rows, err := s.Store.Conn().Query(ctx, question.VisitEvents(), s.Studio, bay, visitID)
	if err != nil {
		return nil, fmt.Errorf("events of visit %s: %w", visitID, err)
	}
	defer rows.Close()
	b := &book{bay: bay, log: &visit.Log{}}
	for rows.Next() {
		ev, err := s.scanEvent(rows)
		if err != nil {
			return nil, fmt.Errorf("events of visit %s: %w", visitID, err)
		}
		b.log.Add(ev)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("events of visit %s: %w", visitID, err)
	}
	b.tl = b.log.Timeline()
	return b, nil
}

// upTo is the book's timeline without settings of after a session, which
// would otherwise be taken for what held in it.
func (b *book) upTo(session *visit.Session) *visit.Timeline {
	later := map[string]bool{}
	for _, ev := range b.log.All() {
		if ev.GetSettingChanged() != nil && ev.EffectiveUnixNs >= session.To {
			later[ev.Id] = true
		}
	}
	return b.log.Without(later).Timeline()
}

type scanner interface{ Scan(dest ...any) error }

func (s *Source) scanEvent(rows scanner) (*event.VisitEvent, error) {
	var data []byte
	if err := rows.Scan(&data); err != nil {
		return nil, err
	}
	ev := &event.VisitEvent{}
	if err := proto.Unmarshal(data, ev); err != nil {
		return nil, err
	}
	event.Texts(ev, s.clear)
	return ev, nil
}

// verdict finds a verdict's event and the book that it stands in. Of a session
// that was moved to another bay, the bay where it really was.
func (s *Source) verdict(ctx context.Context, id string) (*event.VisitEvent, *book, error) {
	rows, err := s.Store.Conn().Query(ctx, question.Verdict(), s.Studio, id)
	if err != nil {
		return nil, nil, fmt.Errorf("verdict %s: %w", id, err)
	}
	defer rows.Close()
	var found []*event.VisitEvent
	for rows.Next() {
		ev, err := s.scanEvent(rows)
		if err != nil {
			return nil, nil, fmt.Errorf("verdict %s: %w", id, err)
		}
		found = append(found, ev)
	}
	if err := rows.Err(); err != nil {
		return nil, nil, fmt.Errorf("verdict %s: %w", id, err)
	}
	var first *event.VisitEvent
	var in *book
	for _, ev := range found {
		b, err := s.open(ctx, ev.Bay, ev.Visit)
		if err != nil {
			return nil, nil, err
		}
		session := b.tl.Session(ev.Session)
		if session != nil && session.MovedTo == "" {
			return ev, b, nil
		}
		if first == nil {
			first, in = ev, b
		}
	}
	if first == nil {
		return nil, nil, fmt.Errorf("%w: %s", ErrNoVerdict, id)
	}
	return first, in, nil
}

// books opens the bays of a visit.
func (s *Source) books(ctx context.Context, visitID string) ([]*book, error) {
	rows, err := s.Store.Conn().Query(ctx, question.VisitBays(), s.Studio, visitID)
	if err != nil {
		return nil, fmt.Errorf("visit %s: %w", visitID, err)
	}
	defer rows.Close()
	var bays []string
	for rows.Next() {
		var bay string
		if err := rows.Scan(&bay); err != nil {
			return nil, fmt.Errorf("visit %s: %w", visitID, err)
		}
		bays = append(bays, bay)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("visit %s: %w", visitID, err)
	}
	if len(bays) == 0 || visitID == "" {
		return nil, fmt.Errorf("%w: %s", ErrNoVisit, visitID)
	}
	var out []*book
	for _, bay := range bays {
		b, err := s.open(ctx, bay, visitID)
		if err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	return out, nil
}

// Line is a verdict in the list of recent ones.
type Line struct {
	ID       string    `json:"verdict"`
	Visit    string    `json:"visit"`
	Bay      string    `json:"bay"`
	Player   string    `json:"player"`
	Category string    `json:"category"`
	Kind     string    `json:"kind"`
	At       time.Time `json:"at"`
	Live     bool      `json:"live"` // false: it was taken back
	Checked  bool      `json:"checked"`
}

// Recent lists the newest verdicts of the studio.
func (s *Source) Recent(ctx context.Context, most int) ([]Line, error) {
	rows, err := s.Store.Conn().Query(ctx, question.Verdicts(), s.Studio, most)
	if err != nil {
		return nil, fmt.Errorf("recent verdicts: %w", err)
	}
	defer rows.Close()
	var out []Line
	for rows.Next() {
		var l Line
		if err := rows.Scan(&l.ID, &l.Visit, &l.Bay, &l.Player, &l.Category, &l.Kind, &l.At, &l.Live, &l.Checked); err != nil {
			return nil, fmt.Errorf("recent verdicts: %w", err)
		}
		l.At, l.Player = s.at(l.At.UnixNano()), s.name(l.Player)
		out = append(out, l)
	}
	return out, rows.Err()
}
