package rolling

import (
	"encoding/json"
	"math"
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/tag"
)

func length(m float64) *event.Spec {
	return &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: m}
}

func twoClubs(n int) *world {
	w := newWorld(5, "iron")
	w.enter("own", true, length(0.94))
	for range n {
		w.hit(own)
	}
	w.enter("longer", false, length(0.95), &event.Spec{Field: event.BuildField_BUILD_LOFT, Number: 31,
		Knowledge: event.Knowledge_KNOWLEDGE_MEASURED})
	for range n {
		w.hit(weaker)
	}
	return w
}

func TestStateOfTwoClubs(t *testing.T) {
	s := Build(twoClubs(12).snapshot())
	if s.Session == nil || s.Session.N != 24 || len(s.Trials) != 2 || s.Pending != 0 || !s.Trials[1].Running || !s.Trials[0].Gamer {
		t.Fatalf("%+v", s)
	}
	if s.Incumbent != s.Trials[0].Key || s.Trials[1].Against != s.Incumbent {
		t.Errorf("incumbent %q against %q", s.Incumbent, s.Trials[1].Against)
	}
	// The gamer's loft is not known: that is said, not taken as a difference of known size.
	changes := s.Trials[1].Changes
	if len(changes) != 2 || changes[0].Field != "loft" || changes[0].From.Known || !changes[0].To.Measured || changes[1].From.Number != 0.94 ||
		changes[1].To.Number != 0.95 {
		t.Errorf("changes %+v", changes)
	}
	if len(s.Comparisons) != 1 || len(s.Comparisons[0].Outcomes) != 12 {
		t.Fatalf("comparisons %+v", s.Comparisons)
	}
	launch := s.Comparisons[0].Outcomes[0]
	if launch.ProbBetter < 0.99 || launch.EValue < 10 || launch.NeedP50 > 10 { // one run with each: nearly, and the next runs decide
		t.Errorf("1.5 deg of launch in 12 shots says too little: %+v", launch)
	}
	if s.Trials[0].Deep == nil || s.Trials[0].Deep.N != 12 || s.Next == nil {
		t.Errorf("deep %+v, next %+v", s.Trials[0].Deep, s.Next)
	}
	if s.LastSeen == nil || s.LastSeen.Seq != 24 {
		t.Errorf("last seen %+v", s.LastSeen)
	}
	finite(t, s)
}

// finite writes the state as JSON, which refuses NaN and infinities, and reads
// it back.
func finite(t *testing.T, s State) {
	t.Helper()
	text, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var back State
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(back)
	if err != nil || string(again) != string(text) {
		t.Errorf("read back and written again it differs: %v\n%s\n%s", err, text, again)
	}
}

func TestFewShots(t *testing.T) {
	for n := range 7 {
		s := Build(twoClubs(n).snapshot())
		finite(t, s)
		for _, row := range s.Trials {
			for _, p := range row.Primary {
				if n < 5 && (!p.Stat.NotYet || p.Stat.More != 5-n) {
					t.Errorf("n %d: %+v", n, p)
				}
			}
		}
	}
	finite(t, Build(Snapshot{}))
	equal := newWorld(1, "iron")
	equal.enter("own", true)
	equal.hit(own)
	for range 9 {
		equal.shots = append(equal.shots, equal.shots[0])
		equal.shots[len(equal.shots)-1].Key.ID[0]++
	}
	finite(t, Build(equal.snapshot()))
}

func TestOnlyCountingShotsEnter(t *testing.T) {
	w := twoClubs(8)
	w.shots[2].Tag.Status, w.shots[2].Tag.Reason = tag.Excluded, "mishit"
	w.shots[3].Tag.Status = tag.Practice
	w.shots[3].Tag.Class = event.ShotClass_CLASS_PRACTICE
	s := Build(w.snapshot())
	if len(s.Trials) != 2 || s.Trials[0].N != 6 || s.Trials[0].Excluded != 1 || s.Trials[0].SetAside != 1 {
		t.Fatalf("%+v", s.Trials[0])
	}
	mean := 0.0
	for i, shot := range w.shots[:8] {
		if i != 2 && i != 3 {
			x, _ := shot.Values.Get(event.Field_FIELD_CARRY)
			mean += x / 6
		}
	}
	if got := s.Trials[0].Fields["carry_m"].Mean; math.Abs(got-mean) > 1e-9 {
		t.Errorf("mean carry %v, want %v", got, mean)
	}
}

// However a state was reached, shot by shot with a builder that remembers, or
// at once, it is the same.
func TestABuilderForgetsNothingAndInventsNothing(t *testing.T) {
	b := NewBuilder()
	w := newWorld(9, "iron")
	check := func() {
		t.Helper()
		b.Build(w.snapshot())
		for b.Refine() {
		}
		got, _ := json.Marshal(b.Build(w.snapshot()))
		want, _ := json.Marshal(Build(w.snapshot()))
		if string(got) != string(want) {
			t.Fatalf("after %d shots\n%s\n%s", len(w.shots), got, want)
		}
	}
	for i, c := range []clubMeans{own, weaker, own} {
		w.enter([]string{"own", "weaker", "own"}[i], c == own)
		for range 6 {
			w.hit(c)
			check()
		}
	}
	w.shots[9].Tag.Status = tag.Excluded
	check()
	w.shots[9].Tag.Status = tag.Counts
	check()
}

func TestDriftIsMarked(t *testing.T) {
	w := newWorld(3, "iron")
	w.enter("own", true)
	for range 12 {
		w.hit(own)
	}
	if s := Build(w.snapshot()); s.Trials[0].Drifting {
		t.Errorf("marked without drift: %+v", s.Trials[0].LastFive)
	}
	tired := own
	tired.ball *= 0.92
	for range 5 {
		w.hit(tired)
	}
	if s := Build(w.snapshot()); !s.Trials[0].Drifting {
		t.Errorf("not marked: %+v", s.Trials[0].LastFive)
	}
}

// BenchmarkShot is what a shot costs before it shows, in a session of 300.
func BenchmarkShot(b *testing.B) {
	w := newWorld(2, "iron")
	for i := range 20 {
		w.enter([]string{"own", "weaker", "third", "fourth"}[i%4], i%4 == 0, length(0.94+0.01*float64(i%4)))
		for range 15 {
			w.hit([]clubMeans{own, weaker, same, own}[i%4])
		}
	}
	builder := NewBuilder()
	builder.Build(w.snapshot())
	for builder.Refine() {
	}
	size := 0
	for b.Loop() {
		b.StopTimer()
		w.hit(own)
		s := w.snapshot()
		b.StartTimer()
		text, err := json.Marshal(builder.Build(s))
		if err != nil {
			b.Fatal(err)
		}
		size = len(text)
		b.StopTimer()
		w.shots = w.shots[:len(w.shots)-1]
		w.order--
		b.StartTimer()
	}
	b.ReportMetric(float64(size)/1024, "KiB")
}
