package rolling

import (
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

// Two balls with one club are a question like any other: also where the ball was
// changed amid a trial, and without disturbing what is said of clubs.
func TestBallsAreCompared(t *testing.T) {
	w := newWorld(5, "iron")
	ball := ""
	take := func(name string) {
		ball = name
		w.say(&event.VisitEvent{Body: &event.VisitEvent_SettingChanged{SettingChanged: &event.SettingChanged{BallModel: name}}})
	}
	hit := func(n int, c clubMeans) {
		for range n {
			w.hit(c)
			w.shots[len(w.shots)-1].Tag.Setting.BallModel = ball
		}
	}
	take("Buoy")
	first := w.enter("own", true, length(0.94))
	hit(14, own)
	if s := Build(w.snapshot()); len(s.Comparisons) != 0 || len(s.Trials) != 1 {
		t.Fatalf("one ball: %+v", s.Comparisons)
	}
	take("Fender") // amid the trial
	hit(12, far)
	second := w.enter("own", true, length(0.94))
	hit(4, far)
	state := Build(w.snapshot())
	if len(state.Trials) != 3 || state.Trials[0].N != 14 || state.Trials[1].Key != first+".1.ball-2" || state.Trials[1].N != 12 {
		t.Fatalf("rows: %+v", state.Trials)
	}
	if len(state.Comparisons) != 1 {
		t.Fatalf("%d comparisons", len(state.Comparisons))
	}
	c := state.Comparisons[0]
	if c.Ball != "Fender" || c.BallWas != "Buoy" || c.RowWas != first+".1" || c.Pair != "" ||
		strings.Join(c.Rows, " ") != first+".1.ball-2 "+second+".1" {
		t.Errorf("%+v", c)
	}
	shorter := false
	for _, o := range c.Outcomes {
		shorter = shorter || o.Name == "carry" && o.Change < 0 && o.High < 0
	}
	if !shorter {
		t.Errorf("a ball that flies six metres shorter: %+v", c.Outcomes)
	}
	w.enter("longer", false, length(0.96))
	hit(10, same)
	state = Build(w.snapshot())
	if n := len(state.Comparisons); n != 2 || state.Comparisons[0].Ball != "" || state.Comparisons[0].Blocked != "" ||
		state.Comparisons[1].Ball != "Fender" {
		t.Errorf("%d comparisons: %+v", n, state.Comparisons)
	}
}
