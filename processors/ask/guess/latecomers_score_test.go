package guess

import "testing"

// TestLatecomers scores them.
func TestLatecomers(t *testing.T) {
	t.Logf("%+v", score(t, outsiders(t, latecomerKinds, len(latecomerKinds), 2)))
}
