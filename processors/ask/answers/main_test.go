package answers

import (
	"testing"

	"go.uber.org/goleak"

	"fairlead/deploy/engine/enginetest"
	"fairlead/processors/hub/store"
	"fairlead/processors/sim"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(enginetest.Wrap(m)) }

// planted stores a fleet whose effects are known.
func planted(t testing.TB, o sim.FleetOptions) (*Fleet, *sim.Fleet, *store.Store) {
	t.Helper()
	db := enginetest.New(t)
	s := store.New(db.Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	made, err := sim.NewFleet(o)
	if err != nil {
		t.Fatal(err)
	}
	to, err := store.OpenBlocks(db.DSN())
	if err != nil {
		t.Fatal(err)
	}
	defer to.Close()
	if _, err := made.Write(t.Context(), to, nil); err != nil {
		t.Fatal(err)
	}
	return New(s, Options{}), made, s
}
