package guess

import "testing"

// TestLatecomers scores them.
func TestLatecomers(t *testing.T) {
	t.Logf("%+v", score(t, outsiders(t, latecomerKinds, len(latecomerKinds), 5)))
}

// TestReserve scores those that were kept back.
func TestReserve(t *testing.T) {
	t.Logf("%+v", score(t, outsiders(t, reserveKinds, len(reserveKinds), 3)))
}
