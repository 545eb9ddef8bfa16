package backup

import (
	"fmt"
	"time"

	"fairlead/ingest/log/durable"
)

// State is what became of the latest copies; it is written to a file, so that
// the watch, the doctor and metrics can tell their age.
type State struct {
	Began   time.Time `json:"began,omitzero"`   // when copies were first asked for
	Taken   time.Time `json:"taken,omitzero"`   // of the newest copy
	Bytes   int64     `json:"bytes"`            // of its files
	New     int64     `json:"new"`              // that it sent
	Tried   time.Time `json:"tried,omitzero"`   // when a copy was last restored for a try and was whole
	Keys    string    `json:"keys,omitzero"`    // SHA-256 of the keys of people that stand beside the copies
	Failed  time.Time `json:"failed,omitzero"`  // when taking or trying last failed; zero once it went well again
	Failure string    `json:"failure,omitzero"` // why
}

// ReadState reads the file; one that is not there says nothing yet.
func ReadState(file string) (s State, err error) {
	if s, err = durable.ReadJSON[State](file); err != nil {
		return s, fmt.Errorf("%s: %w", file, err)
	}
	return s, nil
}

// Write writes the state in one piece.
func (s State) Write(file string) error { return durable.WriteJSON(file, s) }

// Late says in words that the newest copy is too old, or that none was ever
// taken, for copies that are taken each so often; "" while all is well.
func (s State) Late(now time.Time, every time.Duration) string {
	since := s.Taken
	if since.IsZero() {
		since = s.Began
	}
	age := now.Sub(since)
	switch {
	case ahead(since, now):
		return fmt.Sprintf("the newest backup is dated %s, which is yet to come: the clock was set since%s",
			since.Local().Format("2 Jan 2006 15:04"), s.why())
	case since.IsZero() || age <= every+every/2+10*time.Minute:
		return ""
	case s.Taken.IsZero():
		return fmt.Sprintf("no backup was ever taken, though one is asked for since %s%s", spoken(age), s.why())
	}
	return fmt.Sprintf("the newest backup is %s old%s", spoken(age), s.why())
}

// fast is how far a time may be ahead of the clock that is read later.
const fast = 10 * time.Minute

// ahead says that a time is yet to come: the clock was set back since it was noted.
func ahead(t, now time.Time) bool { return t.Sub(now) > fast }

// Due says whether something that was last done at a time, and is to be done each so
// often, is to be done now. Of a time that is yet to come nothing is known.
func Due(last time.Time, every time.Duration, now time.Time) bool {
	return ahead(last, now) || now.Sub(last) >= every
}

// Failing says in words that the latest attempt failed; "" while it did not.
func (s State) Failing() string {
	if s.Failed.IsZero() {
		return ""
	}
	return fmt.Sprintf("the last attempt, %s, failed: %s", s.Failed.Local().Format("2 Jan 15:04"), s.Failure)
}

// Untried says in words that no copy was restored for a try for too long, or
// that the last try failed.
func (s State) Untried(now time.Time, every time.Duration) string {
	since := s.Tried
	if since.IsZero() {
		since = s.Began
	}
	if every == 0 || s.Taken.IsZero() || since.IsZero() || now.Sub(since) <= 2*every {
		return ""
	}
	return fmt.Sprintf("no backup was restored for a try for %s%s", spoken(now.Sub(since)), s.why())
}

func (s State) why() string {
	if s.Failure == "" {
		return ""
	}
	return "; the last attempt failed: " + s.Failure
}

func spoken(d time.Duration) string {
	if d < 48*time.Hour {
		return d.Round(time.Minute).String()
	}
	return fmt.Sprintf("%d days", int(d.Hours()/24))
}
