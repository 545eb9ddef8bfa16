package audit

import (
	"context"
	"fmt"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/store"
)

// Journal is the state of one journal of a bay.
type Journal struct {
	Journal     string     `json:"journal"`
	First       uint64     `json:"first"`
	Last        uint64     `json:"last"`
	Entries     uint64     `json:"entries"` // that the bay still holds
	InLog       uint64     `json:"in_log"`
	Stored      uint64     `json:"stored"`
	Missing     gap.Ranges `json:"missing"`     // in the journal, not in the store
	Quarantined gap.Ranges `json:"quarantined"` // damaged in the journal
	Lost        gap.Ranges `json:"lost"`        // damaged in the journal, and not stored either
	ClosedBelow uint64     `json:"closed_below,omitempty"`
	NotInLog    uint64     `json:"not_in_log"`          // stored, and not in the log any more
	Elsewhere   bool       `json:"elsewhere,omitempty"` // stored, but on no disk that answers
}

// Bay is the state of one bay.
type Bay struct {
	Bay       string    `json:"bay"`
	Unknown   string    `json:"unknown,omitempty"` // why its journals could not be asked
	Journals  []Journal `json:"journals"`
	Journaled uint64    `json:"journalled"`
	Published uint64    `json:"published"` // distinct entries in the log
	Stored    uint64    `json:"stored"`    // distinct entries in the store
	Missing   uint64    `json:"missing"`
	Lost      uint64    `json:"lost"`          // damaged before they could be sent
	Duplicate uint64    `json:"duplicate"`     // shots that count more than once
	Claimed   uint64    `json:"claimed_twice"` // journal numbers that two shots claim
	Repeats   uint64    `json:"repeats"`
	Rejected  uint64    `json:"rejected"`
	Untagged  uint64    `json:"untagged"`
	Mistagged uint64    `json:"mistagged"`
	Misjudged uint64    `json:"misjudged"`          // verdicts whose row says other than the facts
	Rows      uint64    `json:"rows_wrong"`         // of entries and trials that say other than entries and events give
	Mended    uint64    `json:"rows_mended"`        // of them, made right by this audit
	NotInLog  uint64    `json:"not_in_log"`         // stored, and not in the log any more: a replay would lack them
	Unsure    uint64    `json:"unsure"`             // entries whose time is not known well
	SetAside  uint64    `json:"set_aside"`          // messages and rows that could not be read or stored; their neighbours went on
	Examples  []string  `json:"examples,omitempty"` // of what is wrong, at most ten
}

// Report is the state of a studio.
type Report struct {
	Studio string    `json:"studio"`
	At     time.Time `json:"at"`
	Bays   []Bay     `json:"bays"`
}

// Missing, Duplicate, Mistagged and Unknown sum up over bays.
func (r Report) Total(of func(Bay) uint64) (n uint64) {
	for _, b := range r.Bays {
		n += of(b)
	}
	return n
}

// Wrong says whether anything is missing, counted twice, untagged or mistagged,
// a row or verdict stored as other than it is, or a number claimed by two shots.
func (r Report) Wrong() bool {
	return r.Total(Bay.Wrong) > 0
}

// Wrong counts what is wrong with a bay.
func (b Bay) Wrong() uint64 {
	return b.Missing + b.Lost + b.Duplicate + b.Untagged + b.Mistagged + b.Misjudged + b.Rows - b.Mended + b.Claimed
}

// Unknown says whether some bay could not be asked.
func (r Report) Unknown() bool {
	for _, b := range r.Bays {
		if b.Unknown != "" {
			return true
		}
	}
	return false
}

// Auditor has in hand what an audit needs.
type Auditor struct {
	Conn  *nats.Conn
	JS    jetstream.JetStream
	Store *store.Store
	// Wait is how long a bay may take to answer.
	Wait time.Duration
	// Tags also computes every tag anew and compares.
	Tags bool
	// Repair makes rows right that say something else than the facts.
	Repair bool
}

// Run audits the given bays. An error means that log or store could not be
// read; trouble with one bay is in its report.
func (a Auditor) Run(ctx context.Context, studio string, bays []stream.Place) (Report, error) {
	r := Report{Studio: studio, At: time.Now().UTC()}
	for _, place := range bays {
		b, err := a.bay(ctx, place)
		if err != nil {
			return r, fmt.Errorf("audit of bay %s: %w", place.Bay, err)
		}
		r.Bays = append(r.Bays, b)
	}
	return r, nil
}

// Ask gets a fresh heartbeat from a bay.
func Ask(ctx context.Context, nc *nats.Conn, place stream.Place, wait time.Duration) (*event.Heartbeat, error) {
	ctx, cancel := context.WithTimeout(ctx, wait)
	defer cancel()
	m, err := nc.RequestWithContext(ctx, place.AskSubject(), nil)
	if err != nil {
		return nil, err
	}
	h := &event.Heartbeat{}
	return h, proto.Unmarshal(m.Data, h)
}

func (a Auditor) bay(ctx context.Context, place stream.Place) (Bay, error) {
	b := Bay{Bay: place.Bay, Journals: []Journal{}}
	// First what the bay holds: what comes later is not asked for.
	h, asking := Ask(ctx, a.Conn, place, a.Wait)
	stored, err := a.Store.Journals(ctx, place)
	if err != nil {
		return b, err
	}
	floors, err := a.Store.Floors(ctx, place)
	if err != nil {
		return b, err
	}
	log, err := gap.InLog(ctx, a.JS, stream.Shots, place.ShotsSubject())
	if err != nil {
		return b, err
	}
	if asking != nil {
		if ctx.Err() != nil {
			return b, ctx.Err()
		}
		b.Unknown = "its collector does not answer (" + asking.Error() + "): what it holds and did not send is not known"
		h = &event.Heartbeat{}
	}
	told := map[string]bool{}
	for _, s := range h.Journals {
		told[s.Journal] = true
		j, err := a.journal(ctx, place, s, log[s.Journal], floors[s.Journal].Below)
		if err != nil {
			return b, err
		}
		b.Journals = append(b.Journals, j)
	}
	for id, span := range stored {
		if told[id] {
			continue
		}
		ranges, err := a.Store.Stored(ctx, place, id, 0)
		if err != nil {
			return b, err
		}
		j := Journal{Journal: id, First: span.From, Last: span.To, InLog: log[id].Count(), Stored: ranges.Count(), ClosedBelow: floors[id].Below, Elsewhere: true}
		// Without its disk nobody knows how far the journal went; holes below what
		// is stored are known to be missing all the same.
		j.Missing = ranges.Missing(max(1, j.ClosedBelow), span.To)
		b.Journals = append(b.Journals, j)
		if b.Unknown == "" && j.ClosedBelow <= span.To && !trimmed(h) {
			b.Unknown = fmt.Sprintf("journal %s is on no disk that answers: if its disk is gone for good, `fairlead audit --close %s`", id, id)
		}
	}
	for _, j := range b.Journals {
		b.Journaled += j.Entries
		b.Missing += j.Missing.Count()
		b.Lost += j.Lost.Count()
		b.NotInLog += j.NotInLog
		if len(j.Missing) > 0 {
			b.example("journal %s: %v in the journal and not in the store", j.Journal, j.Missing)
		}
	}
	for _, r := range log {
		b.Published += r.Count()
	}
	if err := a.counts(ctx, place, &b); err != nil {
		return b, err
	}
	n, asides, err := a.Store.Asides(ctx, place, 3)
	if err != nil {
		return b, err
	}
	b.SetAside = n
	for _, x := range asides {
		b.example("set aside: %s", x)
	}
	if a.Tags {
		wrong, err := steadily(ctx, func() ([]string, error) { return Tags(ctx, a.Store, place) })
		if err != nil {
			return b, err
		}
		b.Mistagged = uint64(len(wrong))
		for _, w := range wrong {
			b.example("%s", w)
		}
		if wrong, err = steadily(ctx, func() ([]string, error) { return Verdicts(ctx, a.Store, place) }); err != nil {
			return b, err
		}
		b.Misjudged = uint64(len(wrong))
		for _, w := range wrong {
			b.example("%s", w)
		}
		if err := a.rows(ctx, place, &b); err != nil {
			return b, err
		}
	}
	return b, nil
}

// trimmed says whether the bay's oldest journal no longer begins with its first
// entry: then journals before it were confirmed and trimmed away whole.
func trimmed(h *event.Heartbeat) bool {
	return len(h.Journals) > 0 && h.Journals[0].First > 1
}

func (b *Bay) example(format string, args ...any) {
	if len(b.Examples) < 10 {
		b.Examples = append(b.Examples, fmt.Sprintf(format, args...))
	}
}

func (a Auditor) journal(ctx context.Context, place stream.Place, s *event.JournalState, log gap.Ranges, floor uint64) (Journal, error) {
	j := Journal{Journal: s.Journal, First: s.First, Last: s.Last, InLog: log.Count(), ClosedBelow: floor, Missing: gap.Ranges{}, Quarantined: gap.Ranges{}, Lost: gap.Ranges{}}
	stored, err := a.settled(ctx, place, s, floor)
	if err != nil {
		return j, err
	}
	j.Stored = stored.Count()
	for _, r := range stored {
		for _, m := range log.Missing(max(r.From, s.First), min(r.To, s.Last)) {
			j.NotInLog += m.To - m.From + 1
		}
	}
	if s.Last+1 > s.First {
		j.Entries = s.Last + 1 - s.First
	}
	given := append(gap.Ranges(nil), stored...)
	for _, q := range s.Quarantined {
		j.Quarantined.Add(q.From, q.To)
		given.Add(q.From, q.To)
		j.Entries -= min(j.Entries, q.To-q.From+1)
		for _, lost := range stored.Missing(max(q.From, floor), q.To) {
			j.Lost.Add(lost.From, lost.To)
		}
	}
	if from := max(s.First, floor); s.Last >= from && s.Last > 0 {
		j.Missing = append(j.Missing, given.Missing(from, s.Last)...)
	}
	return j, nil
}

// rows compares every row with what it should be, and mends what was asked for.
func (a Auditor) rows(ctx context.Context, place stream.Place, b *Bay) error {
	repair := a.Repair && b.Missing == 0 // of what is not whole nothing right can be computed
	wrong, err := Rows(ctx, a.Store, place, repair)
	if err != nil {
		return err
	}
	b.Rows = uint64(len(wrong))
	for _, r := range wrong {
		b.example("%s", r)
	}
	if !repair || len(wrong) == 0 {
		return nil
	}
	left, err := Rows(ctx, a.Store, place, false)
	b.Mended = b.Rows - min(b.Rows, uint64(len(left)))
	return err
}

// settled counts what is stored of a journal, and again while entries up to its
// mark are still coming.
func (a Auditor) settled(ctx context.Context, place stream.Place, s *event.JournalState, floor uint64) (gap.Ranges, error) {
	before, still := uint64(0), 0
	for look := 0; ; look++ {
		stored, err := a.Store.Stored(ctx, place, s.Journal, 0)
		if err != nil {
			return nil, err
		}
		missing := gap.Ranges{}
		if from := max(s.First, floor, 1); s.Last >= from {
			missing = stored.Missing(from, s.Last)
		}
		for _, q := range s.Quarantined {
			missing.Remove(q.From, q.To)
		}
		left := missing.Count()
		if still++; look == 0 || left < before {
			still = 0
		}
		// What comes often is stored every two seconds: this long nothing came.
		if left == 0 || still >= looks || look >= 3*looks {
			return stored, nil
		}
		before = left
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(lookAgain / 2):
		}
	}
}

func (a Auditor) counts(ctx context.Context, place stream.Place, b *Bay) error {
	const question = `SELECT count(), countIf(status = 'repeat'), countIf(status = 'rejected'),
			countIf(status IN ('', 'unknown')), countIf(certainty = 'unsure'),
			uniqExactIf(shot_id, counted > 1), uniqExactIf((journal, seq), claims > 1)
		FROM (
			SELECT journal, seq, shot_id, status, certainty,
				countIf(status NOT IN ('repeat', 'superseded', 'rejected', 'deleted')) OVER (PARTITION BY shot_id) AS counted,
				count() OVER (PARTITION BY journal, seq) AS claims
			FROM entries FINAL WHERE studio = ? AND bay = ?)`
	err := a.Store.Conn().QueryRow(ctx, question, place.Studio, place.Bay).
		Scan(&b.Stored, &b.Repeats, &b.Rejected, &b.Untagged, &b.Unsure, &b.Duplicate, &b.Claimed)
	if err != nil {
		return fmt.Errorf("count what is stored: %w", err)
	}
	if b.Claimed > 0 {
		b.example("%d journal numbers are claimed by two shots each; all are kept: was a disk copied or restored?", b.Claimed)
	}
	return nil
}
