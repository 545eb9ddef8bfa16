package visit

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"pgregory.net/rapid"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

// drawScript draws events of all kinds that the state machine knows, in any
// order and with equal times.
func drawScript(t *rapid.T) []*event.VisitEvent {
	s := &script{}
	var events []*event.VisitEvent
	for i := range rapid.IntRange(0, 30).Draw(t, "events") {
		bodies := []any{
			&event.SessionOpened{Player: "p"}, &event.SessionClosed{}, &event.SettingChanged{Place: "indoor"}, trial("a"), trial("b"),
			trial("c"), &event.TrialPaused{}, &event.TrialResumed{}, &event.TrialEnded{}, &event.HitterChanged{Kind: 1},
			&event.InstructionNoted{Words: "w"}, &event.IntentChanged{Intent: 1}, &event.ClassChanged{Class: 1},
			&event.BuildAmended{Trial: "a", Build: &event.Build{ClubId: "x"}}, &event.FeelNoted{Words: "soft"},
			&event.ShotsMoved{ShotIds: [][]byte{make([]byte, 16)}, Trial: "b"},
			&event.SessionOpened{Player: "q", Beside: true}, &event.TurnTaken{}, fmt.Sprintf("e%d", rapid.IntRange(1, i+2).Draw(t, "void")),
		}
		ev := s.add(bodies[rapid.IntRange(0, len(bodies)-1).Draw(t, "body")])
		if ev.GetSessionOpened() != nil || ev.GetTurnTaken() != nil {
			ev.Session = rapid.SampledFrom([]string{"s", "r", "q"}).Draw(t, "session")
		}
		ev.EffectiveUnixNs = minute(rapid.IntRange(0, 10).Draw(t, "at"))
		if rapid.Bool().Draw(t, "same") {
			ev.RecordedUnixNs = minute(30)
		}
		events = append(events, ev)
	}
	return events
}

func TestTimelineDependsOnTheSetOnly(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		events := drawScript(t)
		fold := func(order []*event.VisitEvent) *Timeline {
			l := &Log{}
			for i, ev := range order {
				before := l.Len()
				changed := l.Add(proto.Clone(ev).(*event.VisitEvent))
				if changed != (l.Len() == before+1) {
					t.Fatal("Add and Len disagree")
				}
				if i%3 == 0 {
					l.Timeline() // a fold in between changes nothing
				}
			}
			return l.Timeline()
		}
		a := fold(events)
		b := fold(rapid.Permutation(append(slices.Clone(events), events...)).Draw(t, "order"))
		all := cmp.AllowUnexported(Timeline{}, Span{}, bounds{})
		if diff := cmp.Diff(a, b, all, protocmp.Transform(),
			cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".movedIn" }, cmp.Ignore())); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestTimelineHoldsTogether(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		l := &Log{}
		for _, ev := range drawScript(t) {
			l.Add(ev)
		}
		tl := l.Timeline()
		for i, s := range tl.Spans[1:] {
			if s.From < tl.Spans[i].From {
				t.Fatal("spans run backwards")
			}
		}
		for i, s := range tl.Sessions {
			if s.To < s.From || i > 0 && s.From < tl.Sessions[i-1].To && s.Stay != tl.Sessions[i-1].Stay {
				t.Fatalf("session %s overlaps or runs backwards", s.ID)
			}
			if s.From < s.Stay.From || s.To > s.Stay.To || !slices.Contains(s.Stay.Sessions, s) {
				t.Fatalf("session %s lies outside of its stay", s.ID)
			}
		}
		for i, s := range tl.Stays {
			open := slices.ContainsFunc(s.Sessions, (*Session).Open)
			if s.To < s.From || i > 0 && s.From < tl.Stays[i-1].To || open != (s.To == Never) {
				t.Fatalf("stay %d overlaps, runs backwards or ends before its sessions", i)
			}
		}
		for at := minute(-1); at < minute(12); at += minute(1) - minute(0) {
			span := tl.At(at)
			s, from, to := tl.Around(at)
			on := span.Session
			if on != nil && (s != on.Stay || at < on.From || at >= on.To) || at < from || at >= to ||
				on == nil && s != nil && len(tl.Resting(at)) == 0 {
				t.Fatalf("at %d the span is of %v, around is %v in [%d, %d)", at, span.Session, s, from, to)
			}
			if tr := span.Trial; tr != nil && (tr.Session != on || at < tr.From || span.Part < 1 || tr.PartAt(at).Number != span.Part) {
				t.Fatalf("at %d trial %s part %d does not hold", at, tr.ID, span.Part)
			}
			if span.Trial == nil && span.Part != 0 || on == nil && (span.Paused || span.Trial != nil) {
				t.Fatalf("at %d: %+v", at, span)
			}
		}
	})
}

func BenchmarkFold(b *testing.B) {
	for _, n := range []int{1000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			s := &script{}
			for i := 0; s.n < n; i++ {
				s.add(&event.SessionOpened{Player: "p"}, session(fmt.Sprint("s", i)))
				for j := range 9 {
					s.add(trial(fmt.Sprint("t", i, "-", j)))
				}
			}
			for b.Loop() {
				s.log.timeline = nil
				s.log.Timeline()
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(s.n), "ns/event")
		})
	}
}
