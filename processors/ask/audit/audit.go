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
	"fairlead/processors/hub/store/question"
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
	NotInLog    uint64     `json:"not_in_log"`          // in a journal and stored, and not in the log
	Elsewhere   bool       `json:"elsewhere,omitempty"` // stored, but on no disk that answers

	held gap.Ranges // that is stored
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
	Rows      uint64    `json:"rows_wrong"`         // of entries, trials and verdicts that say other than entries and events give
	Outdated  uint64    `json:"outdated"`           // rows that another flight model computed: nothing is wrong with them but their age
	Compared  uint64    `json:"compared"`           // rows of entries that were held against the journals' records
	Altered   uint64    `json:"altered"`            // of them, those that say other than the record
	Forged    uint64    `json:"forged"`             // rows of entries that neither journal nor log know of
	Beside    uint64    `json:"side_by_side"`       // pairs of journals written at one time: two collectors in the bay's name
	Shared    uint64    `json:"in_two_bays"`        // shots that another bay has too
	Unnoted   uint64    `json:"unnoted"`            // entries that the store refused, without the note that says so
	Mended    uint64    `json:"mended"`             // of what was wrong, made right by this audit
	Renewed   uint64    `json:"renewed"`            // of what was outdated, computed anew by this audit
	NotInLog  uint64    `json:"not_in_log"`         // in a journal and stored, and not in the log: a replay would lack them
	Unsure    uint64    `json:"unsure"`             // entries whose time is not known well
	SetAside  uint64    `json:"set_aside"`          // messages and rows that could not be read or stored; their neighbours went on
	Examples  []string  `json:"examples,omitempty"` // of what is wrong, at most ten
}

// Report is the state of a studio.
type Report struct {
	Studio string    `json:"studio"`
	At     time.Time `json:"at"`
	Bays   []Bay     `json:"bays"`
	Visits *Visits   `json:"visits,omitempty"` // nil: not asked for
}

// Missing, Duplicate, Mistagged and Unknown sum up over bays.
func (r Report) Total(of func(Bay) uint64) (n uint64) {
	for _, b := range r.Bays {
		n += of(b)
	}
	return n
}

// Wrong says whether anything is missing, counted twice, untagged or mistagged,
// a row stored as other than it is, a number claimed by two shots, or a bay's
// name used by two.
func (r Report) Wrong() bool {
	return r.Total(Bay.Wrong) > 0 || r.Visits != nil && r.Visits.Wrong() > 0
}

// Wrong counts what is wrong with a bay.
func (b Bay) Wrong() uint64 {
	return b.Missing + b.Lost + b.Duplicate + b.Untagged + b.Mistagged + b.Rows + b.Claimed +
		b.Altered + b.Forged + b.Beside + b.Shared + b.Unnoted + b.NotInLog
}

// Unknown says whether some bay could not be asked.
func (r Report) Unknown() bool {
	for _, b := range r.Bays {
		if b.Unknown != "" {
			return true
		}
	}
	return r.Visits != nil && r.Visits.Unknown != ""
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
	// KeepUnknown leaves rows in the store that neither journal nor log know of:
	// they may be the only copy of what a disk lost.
	KeepUnknown bool
	// Again is how long what is on its way may take before it is looked at again; 0: two seconds.
	Again time.Duration
}

// Run audits the given bays. An error means that log or store could not be
// read; trouble with one bay is in its report.
func (a Auditor) Run(ctx context.Context, studio string, bays []stream.Place) (Report, error) {
	r := Report{Studio: studio, At: time.Now().UTC()}
	if a.Tags {
		v, err := a.visits(ctx, studio)
		if err != nil {
			return r, fmt.Errorf("audit of the visit events: %w", err)
		}
		r.Visits = &v
	}
	for _, place := range bays {
		b, err := a.bay(ctx, place)
		if err != nil {
			return r, fmt.Errorf("audit of bay %s: %w", place.Bay, err)
		}
		r.Bays = append(r.Bays, b)
	}
	return r, nil
}

// bay audits a bay, mends what was asked for, and audits it again then.
func (a Auditor) bay(ctx context.Context, place stream.Place) (Bay, error) {
	b, suspects, unnoted, err := a.look(ctx, place)
	if err != nil || !a.Repair || b.Wrong()+b.Outdated == 0 {
		return b, err
	}
	if err := a.mend(ctx, place, &b, suspects, unnoted); err != nil {
		return b, err
	}
	after, _, _, err := a.look(ctx, place)
	after.Examples, after.Mended = b.Examples, b.Wrong()-min(b.Wrong(), after.Wrong())
	after.Renewed = b.Outdated - min(b.Outdated, after.Outdated)
	return after, err
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

// look audits a bay once. What may be mended is beside the report.
func (a Auditor) look(ctx context.Context, place stream.Place) (Bay, []suspect, []string, error) {
	b := Bay{Bay: place.Bay, Journals: []Journal{}}
	// First what the bay holds: what comes later is not asked for.
	h, asking := Ask(ctx, a.Conn, place, a.Wait)
	stored, err := a.Store.Journals(ctx, place)
	if err != nil {
		return b, nil, nil, err
	}
	floors, err := a.Store.Floors(ctx, place)
	if err != nil {
		return b, nil, nil, err
	}
	log, err := gap.InLog(ctx, a.JS, stream.Shots, place.ShotsSubject())
	if err != nil {
		return b, nil, nil, err
	}
	if asking != nil {
		if ctx.Err() != nil {
			return b, nil, nil, ctx.Err()
		}
		b.Unknown = "its collector does not answer (" + asking.Error() + "): what it holds and did not send is not known"
		h = &event.Heartbeat{}
	}
	told := map[string]bool{}
	for _, s := range h.Journals {
		told[s.Journal] = true
		j, err := a.journal(ctx, place, s, log[s.Journal], floors[s.Journal].Below)
		if err != nil {
			return b, nil, nil, err
		}
		b.Journals = append(b.Journals, j)
	}
	for id, span := range stored {
		if told[id] {
			continue
		}
		ranges, err := a.Store.Stored(ctx, place, id, 0)
		if err != nil {
			return b, nil, nil, err
		}
		j := Journal{Journal: id, First: span.From, Last: span.To, InLog: log[id].Count(), Stored: ranges.Count(), ClosedBelow: floors[id].Below,
			Elsewhere: true}
		// Without its disk nobody knows how far the journal went; holes below what
		// is stored are known to be missing all the same.
		j.Missing = ranges.Missing(max(1, j.ClosedBelow), span.To)
		b.Journals = append(b.Journals, j)
		if b.Unknown == "" && j.ClosedBelow <= span.To && !trimmed(h) {
			b.Unknown = fmt.Sprintf("journal %s is on no disk that answers: if its disk is gone for good, `fairlead audit --close %s`", id, id)
		}
	}
	if err := a.logged(ctx, place, b.Journals, log); err != nil {
		return b, nil, nil, err
	}
	for _, j := range b.Journals {
		b.Journaled += j.Entries
		b.Missing += j.Missing.Count()
		b.Lost += j.Lost.Count()
		b.NotInLog += j.NotInLog
		if len(j.Missing) > 0 {
			b.example("journal %s: %v in the journal and not in the store", j.Journal, j.Missing)
		}
		if j.NotInLog > 0 {
			b.example("journal %s: %d entries are stored and not in the log", j.Journal, j.NotInLog)
		}
	}
	for _, r := range log {
		b.Published += r.Count()
	}
	if err := a.counts(ctx, place, &b); err != nil {
		return b, nil, nil, err
	}
	n, asides, err := a.Store.Asides(ctx, place, 3)
	if err != nil {
		return b, nil, nil, err
	}
	b.SetAside = n
	for _, x := range asides {
		b.example("set aside: %s", x)
	}
	if !a.Tags {
		return b, nil, nil, nil
	}
	suspects, unnoted, err := a.proof(ctx, place, h, &b)
	return b, suspects, unnoted, err
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
	j := Journal{Journal: s.Journal, First: s.First, Last: s.Last, InLog: log.Count(), ClosedBelow: floor, Missing: gap.Ranges{},
		Quarantined: gap.Ranges{}, Lost: gap.Ranges{}}
	stored, err := a.settled(ctx, place, s, floor)
	if err != nil {
		return j, err
	}
	j.Stored = stored.Count()
	j.held = stored
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

// quiet is how many looks nothing may come to what a journal has in the store
// before the rest is called missing.
const quiet = 4

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
		if left == 0 || still >= quiet || look >= 3*quiet {
			return stored, nil
		}
		before = left
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(a.again() / 2):
		}
	}
}

func (a Auditor) counts(ctx context.Context, place stream.Place, b *Bay) error {
	err := a.Store.Conn().QueryRow(ctx, question.BayCounts(), place.Studio, place.Bay).
		Scan(&b.Stored, &b.Repeats, &b.Rejected, &b.Untagged, &b.Unsure, &b.Duplicate, &b.Claimed)
	if err != nil {
		return fmt.Errorf("count what is stored: %w", err)
	}
	if b.Claimed > 0 {
		b.example("%d journal numbers are claimed by two shots each; all are kept: was a disk copied or restored?", b.Claimed)
	}
	return nil
}
