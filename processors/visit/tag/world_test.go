package tag

import (
	"context"
	"fmt"
	"slices"
	"time"

	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// A world is a seeded bay: what was done and hit in it, sensible and not.
type world struct {
	events []*event.VisitEvent
	facts  []Fact
}

var morning = time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC).UnixNano()

const aSecond = int64(time.Second)

func drawWorld(t *rapid.T) world {
	w := world{}
	// A coarse grid of times makes equal times common.
	instant := rapid.Custom(func(t *rapid.T) int64 {
		return morning + int64(rapid.IntRange(0, 60).Draw(t, "minute"))*240*aSecond + int64(rapid.IntRange(0, 5).Draw(t, "half"))*aSecond/2
	})
	sessions := []string{"s1", "s2", "s3", ""}
	trials := []string{"t1", "t2", "t3", "t4", "t5", "t6"}
	journals := []string{"aaaaaaaaaaaaaaaa", "bbbbbbbbbbbbbbbb"}
	shots := make([]event.ShotID, rapid.IntRange(1, 14).Draw(t, "shots"))
	for i := range shots {
		shots[i] = event.ShotIDFor("d", fmt.Sprint(i))
	}
	n := rapid.IntRange(0, 40).Draw(t, "entries")
	for i := range n {
		f := Fact{
			Key:       Key{rapid.SampledFrom(journals).Draw(t, "journal"), uint64(i/2 + 1), rapid.SampledFrom(shots).Draw(t, "shot")},
			Content:   uint64(rapid.IntRange(1, 3).Draw(t, "content")),
			Revision:  uint32(rapid.SampledFrom([]int{0, 0, 0, 1}).Draw(t, "revision")),
			Deleted:   rapid.IntRange(0, 9).Draw(t, "deleted") == 0,
			Valid:     rapid.IntRange(0, 9).Draw(t, "valid") > 0,
			Reread:    int64(rapid.SampledFrom([]int{0, 0, 0, 0, 1, 2}).Draw(t, "reread")),
			Effective: instant.Draw(t, "effective"),
			Unsure:    rapid.IntRange(0, 5).Draw(t, "unsure") == 0,
			Device:    rapid.SampledFrom([]string{"d", "e"}).Draw(t, "device"),
			Role:      event.Role(rapid.IntRange(0, 3).Draw(t, "role")),
		}
		f.Received = f.Effective + int64(rapid.IntRange(-1, 1).Draw(t, "late"))*3600*aSecond
		reach := func() int64 {
			return int64(rapid.SampledFrom([]int{0, 1, 5, 600, 7000}).Draw(t, "reach")) * aSecond / 2
		}
		switch rapid.IntRange(0, 7).Draw(t, "known") {
		case 0:
			f.Unsure, f.Earliest, f.Latest = false, f.Effective-min(reach(), Narrow), f.Effective+min(reach(), Narrow)
		case 1:
			f.Unsure, f.Wide, f.Earliest, f.Latest = false, true, f.Effective-reach(), f.Effective+reach()
			if rapid.IntRange(0, 4).Draw(t, "since ever") == 0 {
				f.Earliest = 0
			}
		case 2:
			f.Unsure, f.Wide, f.Boot = true, true, rapid.SampledFrom([]string{"b1", "b2"}).Draw(t, "boot")
			f.Read = f.Effective - morning + 3600*aSecond
			f.Seen = f.Read - reach()
			if rapid.Bool().Draw(t, "not seen") {
				f.Seen, f.Earliest = 0, f.Effective-reach()
			}
		}
		w.facts = append(w.facts, f)
	}
	ids := func(t *rapid.T) (raw [][]byte) {
		for range rapid.IntRange(1, 3).Draw(t, "named") {
			id := rapid.SampledFrom(shots).Draw(t, "id")
			raw = append(raw, id[:])
		}
		return raw
	}
	sensible := rapid.Bool().Draw(t, "sensible") // begins as a day does
	for i := range rapid.IntRange(0, 40).Draw(t, "events") {
		ev := &event.VisitEvent{
			Contract: 1, Id: fmt.Sprintf("e%02d", i), Studio: "harbour-row", Bay: "north", Journal: "console", Seq: uint64(i + 1),
			Visit: "v", EffectiveUnixNs: instant.Draw(t, "effective"),
		}
		ev.RecordedUnixNs = ev.EffectiveUnixNs + int64(rapid.SampledFrom([]int{0, 0, 0, 5, 4000}).Draw(t, "recorded"))*aSecond
		if rapid.IntRange(0, 3).Draw(t, "saw") == 0 {
			ev.LastSeen = &event.Seen{Journal: rapid.SampledFrom(journals).Draw(t, "journal"), Seq: uint64(rapid.IntRange(1, 20).Draw(t, "seen"))}
		}
		if rapid.IntRange(0, 4).Draw(t, "names") == 0 {
			ev.Session = rapid.SampledFrom(sessions).Draw(t, "session")
		}
		trial := rapid.SampledFrom(trials).Draw(t, "trial")
		build := &event.Build{Name: rapid.SampledFrom([]string{"", "a", "b"}).Draw(t, "build")}
		kind := rapid.IntRange(0, 21).Draw(t, "kind")
		if sensible && i < 2 {
			kind = []int{0, 4}[i]
			ev.EffectiveUnixNs = morning + int64(i)*aSecond
			ev.RecordedUnixNs, ev.Session = ev.EffectiveUnixNs, ""
		}
		switch kind {
		case 0, 1, 2:
			ev.Session = rapid.SampledFrom(sessions).Draw(t, "session")
			ev.Body = &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{
				Player: "p", Hand: event.Hand_HAND_RIGHT, Category: "iron", PoolingConsent: true,
				Beside: rapid.Bool().Draw(t, "beside")}}
		case 3:
			ev.Body = &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}
		case 4, 5, 6, 7:
			ev.Body = &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: trial, Build: build}}
		case 8:
			ev.Body = &event.VisitEvent_TrialPaused{TrialPaused: &event.TrialPaused{}}
		case 9:
			ev.Body = &event.VisitEvent_TrialResumed{TrialResumed: &event.TrialResumed{}}
		case 10:
			ev.Body = &event.VisitEvent_TrialEnded{TrialEnded: &event.TrialEnded{}}
		case 11:
			ev.Body = &event.VisitEvent_HitterChanged{HitterChanged: &event.HitterChanged{Kind: event.HitterKind(rapid.IntRange(0, 1).Draw(t,
				"hitter"))}}
		case 12:
			ev.Body = &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{Words: "stand closer"}}
		case 13:
			named := [][]byte(nil)
			if rapid.Bool().Draw(t, "named") {
				named = ids(t)
			}
			ev.Body = &event.VisitEvent_ClassChanged{ClassChanged: &event.ClassChanged{Class: event.ShotClass(rapid.IntRange(0, 3).Draw(t, "class")),
				ShotIds: named}}
		case 14:
			ev.Body = &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: ids(t), Reason: "thinned"}}
		case 15:
			ev.Body = &event.VisitEvent_ShotsRestored{ShotsRestored: &event.ShotsRestored{ShotIds: ids(t)}}
		case 16, 17:
			if rapid.IntRange(0, 4).Draw(t, "nobody") == 0 {
				trial = ""
			}
			moved := &event.ShotsMoved{ShotIds: ids(t), Trial: trial}
			if rapid.Bool().Draw(t, "as when") {
				moved.AtUnixNs = instant.Draw(t, "at")
			}
			ev.Body = &event.VisitEvent_ShotsMoved{ShotsMoved: moved}
		case 18:
			switch rapid.IntRange(0, 5).Draw(t, "sub") {
			case 5:
				ev.Body = &event.VisitEvent_ClockMet{ClockMet: &event.ClockMet{
					Boot: rapid.SampledFrom([]string{"b1", "b2"}).Draw(t, "boot"), ErrorNs: 1000,
					AheadNs: morning - 3600*aSecond + int64(rapid.IntRange(-1, 1).Draw(t, "off"))*3600*aSecond}}
			case 0:
				ev.Body = &event.VisitEvent_ShotsUnpaired{ShotsUnpaired: &event.ShotsUnpaired{ShotIds: ids(t)}}
			case 1:
				ev.Body = &event.VisitEvent_BuildAmended{BuildAmended: &event.BuildAmended{Trial: trial, Build: build}}
			case 2:
				ev.Body = &event.VisitEvent_SessionCorrected{SessionCorrected: &event.SessionCorrected{
					Player: "q", Bay: rapid.SampledFrom([]string{"", "south", "north"}).Draw(t, "bay")}}
			case 4:
				ev.Session = rapid.SampledFrom(sessions).Draw(t, "session")
				ev.Body = &event.VisitEvent_SessionErased{SessionErased: &event.SessionErased{Player: "p"}}
			case 3:
				ev.Body = &event.VisitEvent_SettingChanged{SettingChanged: &event.SettingChanged{Place: rapid.SampledFrom([]string{"indoor",
					"outdoor"}).Draw(t, "place")}}
			}
		case 20, 21:
			ev.Session = rapid.SampledFrom(sessions).Draw(t, "session")
			ev.Body = &event.VisitEvent_TurnTaken{TurnTaken: &event.TurnTaken{}}
		case 19:
			ev.Body = &event.VisitEvent_Voided{Voided: &event.Voided{Event: fmt.Sprintf("e%02d", rapid.IntRange(0, i+2).Draw(t, "target"))}}
		}
		w.events = append(w.events, ev)
	}
	return w
}

func (w world) log() *visit.Log {
	l := &visit.Log{}
	for _, ev := range w.events {
		l.Add(ev)
	}
	return l
}

// shelf is a store of entries and tags that keeps of each row the one with the
// greatest version, as the real one does.
type shelf struct {
	facts map[Key]Fact
	tags  map[Key]Tag
	asked int
	fail  func() bool // whether the next question fails; nil: never
}

func newShelf() *shelf { return &shelf{facts: map[Key]Fact{}, tags: map[Key]Tag{}} }

// noted gives each fact a note that says whose it is.
func noted(facts ...Fact) (out []Noted) {
	for _, f := range facts {
		out = append(out, Noted{f, f.Key})
	}
	return out
}

func (s *shelf) put(changes []Change) {
	for _, c := range changes {
		if c.Note != c.Key {
			panic(fmt.Sprintf("the tag of %s has the note %v", c.Key, c.Note))
		}
		if old, ok := s.tags[c.Key]; !ok || c.Tag.Version >= old.Version {
			s.tags[c.Key] = *c.Tag
		}
	}
}

func (s *shelf) find(want func(Fact) bool) (found []Noted, err error) {
	s.asked++
	if s.fail != nil && s.fail() {
		return nil, fmt.Errorf("the store is away")
	}
	for _, f := range s.facts {
		if want(f) {
			found = append(found, noted(f)...)
		}
	}
	return found, nil
}

func (s *shelf) Range(_ context.Context, from, to int64) ([]Noted, error) {
	hit := map[event.ShotID]bool{}
	for _, f := range s.facts {
		if !f.roving() && from <= f.Effective && f.Effective < to {
			hit[f.ID] = true
		}
	}
	return s.find(func(f Fact) bool { return hit[f.ID] })
}

func (s *shelf) ByID(_ context.Context, ids []event.ShotID) ([]Noted, error) {
	return s.find(func(f Fact) bool { return slices.Contains(ids, f.ID) })
}

func (s *shelf) Unsure(context.Context) ([]Noted, error) {
	return s.find(func(f Fact) bool { return f.roving() })
}

func clone(ev *event.VisitEvent) *event.VisitEvent { return proto.Clone(ev).(*event.VisitEvent) }
