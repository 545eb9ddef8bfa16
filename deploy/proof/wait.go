package proof

import (
	"context"
	"testing"
	"time"
)

// patience is far longer than anything takes that is waited for here, on a machine
// that is busy with other programs too: a test that reaches it has failed.
const patience = 2 * time.Minute

// Until waits for something that must come, and ends the test when it does not.
// It asks often at first and five times a second in the end, for whoever asks a
// store or a broker takes from what is waited for.
func Until(t testing.TB, what string, ok func() bool) {
	t.Helper()
	within(t, patience, what, ok)
}

func within(t testing.TB, limit time.Duration, what string, ok func() bool) {
	t.Helper()
	deadline := time.Now().Add(limit)
	for wait := 2 * time.Millisecond; !ok(); wait = min(wait*5/4+1, 200*time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("not within %v: %s", limit, what)
		}
		<-time.After(wait)
	}
}

// Pause lets time pass where the passing itself is the matter: a moment drawn for
// a power cut, a window that has to be over. Whatever can be asked for is waited for
// by Until. It is cut short by the test's end.
func Pause(t testing.TB, d time.Duration) { Rest(t.Context(), d) }

// Rest is Pause for what ends with a context of its own; false: it has ended.
func Rest(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-ctx.Done():
		return false
	}
}
