package visit

import (
	"slices"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
)

// aYear is a player's file over a year: a bag that is entered, an order that is
// built and handed out, and measured again.
func aYear(t *testing.T) (*script, func(act string, in Input, at int64)) {
	t.Helper()
	s := &script{}
	s.add(&event.SessionOpened{Player: "p-7kq2m", Category: "iron", Hand: event.Hand_HAND_RIGHT}, session("s"))
	say := func(act string, in Input, at int64) {
		t.Helper()
		place := &Place{Bay: "north", Timeline: s.log.Timeline(), Live: s.log.All(), Now: at, Far: "yd"}
		ev, faults := Read(act, in, place)
		if len(faults) > 0 {
			t.Fatalf("%s: %v", act, faults)
		}
		s.n++
		ev.Contract, ev.Id, ev.Session, ev.EffectiveUnixNs, ev.RecordedUnixNs = 1, act+time.Unix(0, at).String(), "s", at, at
		ev.Studio, ev.Bay = "harbour-row", "north"
		s.log.Add(ev)
	}
	return s, say
}

func TestABagIsEnteredOnOneGridAndItsDriftIsTold(t *testing.T) {
	s, say := aYear(t)
	in := func(pairs ...string) Input {
		out := Input{}
		for i := 0; i < len(pairs); i += 2 {
			out[pairs[i]] = []string{pairs[i+1]}
		}
		return out
	}
	say("bag", in("clubs", "driver 6-7i pw 56 putter"), minute(1))
	say("bag", in("how", "measured", "bag.6i.loft", "29", "bag.7i.loft", "32.3", "bag.7i.length", `37 1/2"`, "bag.pw.length", `35 3/4"?`,
		"bag.6i.shaft_model", "Reed 95", "bag.7i.shaft_model", `"`, "carry.7i", "150"), minute(2))
	file := func() *File { return FileOf("p-7kq2m", map[string]*Timeline{"north": s.log.Timeline()}) }
	var names []string
	for _, c := range file().Clubs() {
		names = append(names, c.Name)
	}
	if !slices.Equal(names, []string{"driver", "6i", "7i", "pw", "56", "putter"}) {
		t.Fatalf("bag: %v", names)
	}
	seven := file().Clubs()[2]
	if got := seven.Build.Spec(event.BuildField_BUILD_LOFT); got.GetNumber() != 32.3 ||
		got.GetKnowledge() != event.Knowledge_KNOWLEDGE_MEASURED {
		t.Errorf("loft: %v", got)
	}
	if got := seven.Build.Spec(event.BuildField_BUILD_SHAFT_MODEL).GetText(); got != "Reed 95" ||
		seven.CarryM < 137.1 || seven.CarryM > 137.2 {
		t.Errorf("shaft %q, carry %g", got, seven.CarryM)
	}
	if got := file().Clubs()[3].Build.Spec(event.BuildField_BUILD_LENGTH); got.GetKnowledge() == event.Knowledge_KNOWLEDGE_MEASURED {
		t.Errorf("pw's length was stated: %v", got)
	}
	// A year later the irons are gauged: the 7-iron bent, the 6-iron did not.
	later := minute(2) + int64(364*24*time.Hour)
	say("bag", in("how", "measured", "bag.6i.loft", "29", "bag.7i.loft", "30.2"), later)
	for _, o := range file().Owned() {
		d := o.Drifts()
		if o.Name != "7i" && len(d) > 0 || o.Name == "7i" && (len(d) != 1 ||
			d[0].Was.Number != 32.3 || d[0].Now.Number != 30.2 || d[0].Tolerated) {
			t.Errorf("%s drifted: %+v", o.Name, d)
		}
	}
	// Another shaft: what the old one weighed is not known any more, its loft is.
	say("bag", in("bag.7i.swing_weight", "D2", "bag.7i.shaft_weight", "95"), later+1)
	say("bag", in("bag.7i.shaft_model", "Spar 80"), later+2)
	b := file().Clubs()[2].Build
	if b.Spec(event.BuildField_BUILD_SWING_WEIGHT) != nil || b.Spec(event.BuildField_BUILD_SHAFT_WEIGHT) != nil ||
		b.Spec(event.BuildField_BUILD_LOFT) == nil {
		t.Errorf("after another shaft: %v", b)
	}
	say("bag", in("gone.6i", "yes"), later+3)
	if n := len(file().Clubs()); n != 5 {
		t.Errorf("%d clubs after one left the bag", n)
	}
	due := file().Due(&Checks{})
	if len(due) != 2 || due[0].What != DueYear && due[1].What != DueYear {
		t.Errorf("due: %+v", due)
	}
}

func TestPainIsSaidUntilItIsOver(t *testing.T) {
	s, say := aYear(t)
	file := func() *File { return FileOf("p-7kq2m", map[string]*Timeline{"north": s.log.Timeline()}) }
	say("note", Input{"kind": {"pain"}, "words": {"left wrist"}}, minute(1))
	if p := file().Pain(); len(p) != 1 || p[0].Given.Words != "left wrist" {
		t.Errorf("pain: %v", p)
	}
	say("note", Input{"kind": {"pain-over"}}, minute(2))
	if p := file().Pain(); len(p) != 0 {
		t.Errorf("still: %v", p)
	}
	say("note", Input{"kind": {"pain"}, "words": {"again"}}, minute(3))
	say("measures", Input{"wrist_floor": {"33.5in"}, "glove": {"ML"}}, minute(4))
	say("measures", Input{"height": {"1.8m"}}, minute(5))
	m, at := file().Sizes()
	if len(file().Pain()) != 1 || m.GetWristFloorM() < 0.85 || m.GetHeightM() != 1.8 || m.Glove != "ML" || at != minute(5) {
		t.Errorf("%v %v", m, at)
	}
	// The session was really somebody else's: what was noted goes with it.
	s.add(&event.SessionCorrected{Player: "p-other"}, session("s"))
	if len(file().Seats) != 0 || len(FileOf("p-other", map[string]*Timeline{"north": s.log.Timeline()}).Pain()) != 1 {
		t.Error("the notes did not follow the correction")
	}
}
