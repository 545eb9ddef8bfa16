package tag

import (
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// Status says whether and why an entry counts. Only Counts enters statistics.
type Status uint8

// The states of an entry. Counts to NoBall are the player's shots of a trial
// and have a place in its order.
const (
	Counts      Status = iota + 1 // a shot of the player in a trial
	Excluded                      // left out by the fitter; Reason says why
	Practice                      // a rehearsal that the device took for a shot
	NoBall                        // swung without a ball
	OtherHitter                   // the fitter or a guest hit it
	Paused                        // the session was paused: nobody's
	Nobody                        // no session or trial; Reason says which
	Paired                        // second device's view of a hit; PairedWith is the first's
	Repeat                        // the same line again; Of is the one that counts
	Superseded                    // an earlier or later version of the shot counts; Of is that
	Deleted                       // withdrawn by the device
	Rejected                      // the line was no valid shot
	Erased                        // of a session whose player asked to be forgotten
	Between                       // hit between two builds, as far as its time is known: someone has to say
)

var statusNames = [...]string{
	Counts: "counts", Excluded: "excluded", Practice: "practice", NoBall: "no_ball", OtherHitter: "other_hitter",
	Paused: "paused", Nobody: "nobody", Paired: "paired", Repeat: "repeat", Superseded: "superseded",
	Deleted: "deleted", Rejected: "rejected", Erased: "erased",
	Between: "between",
}

// String is the name in the store and in exports.
func (s Status) String() string {
	if int(s) < len(statusNames) && statusNames[s] != "" {
		return statusNames[s]
	}
	return "unknown"
}

// ParseStatus reads what String writes; ok is false for any other text.
func ParseStatus(name string) (s Status, ok bool) {
	for i, n := range statusNames {
		if n == name && n != "" {
			return Status(i), true
		}
	}
	return 0, false
}

// Statuses lists all states in order.
func Statuses() []Status {
	var all []Status
	for s := Counts; int(s) < len(statusNames); s++ {
		all = append(all, s)
	}
	return all
}

// Ordered says whether entries of this status have a place in the order of
// their trial and session.
func (s Status) Ordered() bool { return s >= Counts && s <= NoBall }

// Tag is what is known of an entry beside its own line. Where the status is
// Repeat, Superseded or Rejected, only Status, Reason, Of, At and Version are
// set, and for Rejected and Deleted also Visit and Session. Where Forgotten is
// true, nothing is set but what names the entry's place: Visit, Session,
// Category, Fitter and the keys of other entries.
type Tag struct {
	*Situation // never nil; for reading: the shots of a stretch of time share it

	Version uint64 // see Version
	Status  Status
	Reason  string // for people; why it does not count
	// The entry is of a session whose player asked to be forgotten, whatever its
	// status: its line and values may not be stored or shown.
	Forgotten bool

	Of         Key // of a repeat or superseded entry: the entry that counts for the shot
	PairedWith Key // the other device's entry of the same hit; zero: none

	// At is when the shot was hit: the effective time of the entry that was
	// seen first of this shot, settled by sequence where it is unsure.
	At int64
	// Between which instants it was hit, both included; 0 both: at At. Without a
	// known beginning From is the least integer.
	From, To int64
	Moved    bool // the fitter put it into its trial (or into none)

	// Places from 1 among the player's shots, excluded and practice ones too; 0
	// where the status has no order.
	OrderInTrial   int
	OrderInSession int
	// Swap counts the shots since the club in hand changed: 1 is the first with
	// another build than the shot before (or the first of the session).
	Swap int
}

// Situation is what the visit events say of the time and the trial in which a
// shot was hit, and is the same for many shots. It is comparable.
type Situation struct {
	Visit, Session string
	Category       string
	Fitter         string
	Player         string // empty when the shot is nobody's
	Consent        bool   // the player's own shot, and it may teach across players
	Minor          bool

	Trial       string
	TrialNumber int    // in the session, from 1
	Part        int    // of the trial, from 1, split by instructions
	BuildKey    string // event.BuildKey of the trial's build

	Hitter   event.HitterKind
	HitterID string
	Hand     event.Hand // of the hitter

	Intent          event.Intent
	Class           event.ShotClass
	ClassLength     float64 // m of carry meant in a partial shot, 0: not stated
	Instruction     string  // last one before the shot in its session
	InstructionKind event.InstructionKind
	Instructions    int // noted in the session before the shot

	Setting visit.Setting
}

// nowhere is the situation of entries that have none.
var nowhere = &Situation{}

// Same says whether two tags say the same, whatever was known when.
func (t *Tag) Same(o *Tag) bool {
	x := *t
	x.Version, x.Situation = o.Version, o.Situation
	return x == *o && (t.Situation == o.Situation || *t.Situation == *o.Situation)
}

// Change is an entry whose tag is new or other than before. A tag that was
// given never changes and may be kept and shared.
type Change struct {
	Key  Key
	Tag  *Tag
	Note any // the entry's, as it was first given
}
