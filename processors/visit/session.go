package visit

import (
	"math"

	"fairlead/ingest/contract/event"
)

// Never is the end of what has not ended.
const Never = math.MaxInt64

// Session is one club category in one bay, with corrections applied.
type Session struct {
	SessionWords
	Aim      string // what the player came for, in the player's words
	Trials   []*Trial
	Verdicts []Verdict
	Checks   []Check
	Orders   []Placed
	Moves    []Move
	Built    []Built
	Marks    []Mark
	Notes    []Noted // about the player, for longer than the session
	Joins    []Joined
	Measured []Measured                   // of the player
	Bagged   []Bagged                     // of the player's clubs
	Priors   map[string]*event.PriorTaken // by pair of builds; the latest of each. nil: none
	Stay     *Stay                        // with those that its player takes turns with
}

// SessionWords are what tags take from a session. It is comparable.
type SessionWords struct {
	ID, Visit string
	From, To  int64 // [From, To); To is Never while it is open
	Player    string
	Hand      event.Hand
	Category  string
	Fitter    string
	Consent   bool // may the shots teach across players
	Minor     bool
	Erased    bool   // the player asked to be forgotten: nothing of it may be read or shown
	MovedTo   string // bay that this session really was in; empty: this one
}

// Open says whether nothing closed the session.
func (s *Session) Open() bool { return s.To == Never }

// Trial is a run of shots with one build, one hitter and one instruction.
type Trial struct {
	ID       string
	Session  *Session
	Number   int   // order in the session, from 1
	From, To int64 // first start and last end; To is Never while it runs
	Build    *event.Build
	BuildKey string       // event.BuildKey(Build)
	Stated   *event.Build // as it was when the trial started, before amendments
	Parts    []Part       // in time; the first begins with the trial
	Feels    []Feel
}

// Part is a stretch of a trial under one instruction.
type Part struct {
	Number      int // from 1
	From        int64
	Instruction string
	Kind        event.InstructionKind
	Choice      *event.Choice // why this club was hit then; nil: nobody said
}

// Feel is what the player felt of a trial.
type Feel struct {
	Event  string
	At     int64
	Words  string
	Liking int32 // -2 dislikes .. +2 likes
}

// Verdict is what was decided, with the id and time of its event.
type Verdict struct {
	Event string
	At    int64
	Who   string
	Given *event.VerdictGiven
}

// Check is the hit check of a delivered club.
type Check struct {
	Event string
	At    int64
	Who   string
	Made  *event.HitChecked
}

// Neighbours returns the trials before and after t in its session, nil where
// there is none.
func (t *Trial) Neighbours() (before, after *Trial) {
	trials := t.Session.Trials
	if t.Number > 1 {
		before = trials[t.Number-2]
	}
	if t.Number < len(trials) {
		after = trials[t.Number]
	}
	return before, after
}

// PartAt returns the part that holds at an instant; before the trial, its first.
func (t *Trial) PartAt(at int64) Part {
	part := t.Parts[0]
	for _, p := range t.Parts[1:] {
		if p.From <= at {
			part = p
		}
	}
	return part
}
