package question

import (
	"io/fs"
	"os"
	"strings"
	"testing"

	"fairlead/deploy/engine/enginetest"
	"fairlead/processors/hub/store"
)

// Every question is one that the engine answers over the schema as it is, empty,
// and what a snapshot's columns are is what its table takes.
func TestEveryQuestionIsAnswered(t *testing.T) {
	e := enginetest.New(t)
	s, err := store.Open(e.DSN())
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	const one = "player = 'p-7kq2m' AND "
	asked := []Step{
		{"profiles.sql", Profiles(7, one)}, {"fleet_trials.sql", Trials(7, one, Profiles(7, one))},
		{"fleet_counts.sql", Counts(7)}, {"fleet_older.sql", Older(7)}, {"fleet_latest.sql", Latest()}, {"trials_mark.sql", TrialsMark()},
		{"fleet_builds.sql", Snapshot(7)[2].SQL}, {"fleet_days.sql", Snapshot(7)[3].SQL},
	}
	for _, q := range append(asked, Snapshot(7)...) {
		if strings.Contains(q.SQL, "{{") || strings.Contains(q.SQL, "--") {
			t.Errorf("%s is not written out: %s", q.What, q.SQL)
		}
		if err := s.Conn().Exec(t.Context(), q.SQL); err != nil {
			t.Errorf("%s: %v", q.What, err)
		}
	}
	files, err := fs.Glob(os.DirFS("."), "*.sql")
	if err != nil || len(files) != len(asked) {
		t.Errorf("%d files of questions, %d are tried here (%v)", len(files), len(asked), err)
	}
}

// A question about a field that there is none of is not written.
func TestAQuestionNamesFieldsThatThereAre(t *testing.T) {
	if _, err := field("CLUBHEAD_SPEED"); err != nil {
		t.Error(err)
	}
	if n, err := field("CLUBHED_SPEED"); err == nil {
		t.Errorf("a field that there is none of has number %d", n)
	}
	if _, err := shift("tempo"); err == nil {
		t.Error("a build moves the tempo")
	}
	if got := flex("f"); !strings.HasPrefix(got, "transform(f, ['L', 'l', 'L+', ") || strings.Contains(got, "NaN") {
		t.Errorf("flexes in SQL: %s", got)
	}
}
