package tag

import (
	"fmt"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// bayDay is a small world told in words: times are seconds after nine.
type bayDay struct {
	log   visit.Log
	facts []Fact
	n     int
}

func (d *bayDay) event(at int, session string, set func(*event.VisitEvent)) *event.VisitEvent {
	d.n++
	ev := &event.VisitEvent{Contract: 1, Id: fmt.Sprintf("e%d", d.n), Bay: "north", Journal: "console", Seq: uint64(d.n), Visit: "v",
		Session: session}
	ev.EffectiveUnixNs = morning + int64(at)*aSecond
	ev.RecordedUnixNs = ev.EffectiveUnixNs
	set(ev)
	d.log.Add(ev)
	return ev
}

func (d *bayDay) open(at int, session string) {
	d.event(at, session, func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p", Hand: event.Hand_HAND_LEFT, Category: "iron",
			Fitter: "f", PoolingConsent: true}}
	})
}

func startOf(trial string) func(*event.VisitEvent) {
	build := &event.Build{Name: strings.TrimRight(trial, "'")}
	return func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: trial, Build: build}}
	}
}

func moveOf(trial string, shots ...string) func(*event.VisitEvent) {
	return func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_ShotsMoved{ShotsMoved: &event.ShotsMoved{Trial: trial, ShotIds: raw(shots...)}}
	}
}

func raw(shots ...string) (ids [][]byte) {
	for _, s := range shots {
		id := event.ShotIDFor("d", s)
		ids = append(ids, id[:])
	}
	return ids
}

// shot adds an entry of the journal j and returns it for changes.
func (d *bayDay) shot(at float64, name string) *Fact {
	ns := morning + int64(at*float64(aSecond))
	d.facts = append(d.facts, Fact{
		Key: Key{"j", uint64(len(d.facts) + 1), event.ShotIDFor("d", name)}, Content: uint64(len(d.facts) + 1),
		Valid: true, Received: ns, Effective: ns, Device: "d",
	})
	return &d.facts[len(d.facts)-1]
}

// told writes the tag of each entry in the order they were added.
func (d *bayDay) told() string {
	tags := Compute(&d.log, d.facts)
	var lines []string
	for _, f := range d.facts {
		t := tags[f.Key]
		line := t.Status.String()
		if t.Trial != "" {
			line += fmt.Sprintf(" %s %d/%d/%d", t.Trial, t.OrderInTrial, t.OrderInSession, t.Swap)
		}
		if t.Of != (Key{}) {
			line += fmt.Sprintf(" of %d", t.Of.Seq)
		}
		if t.PairedWith != (Key{}) {
			line += fmt.Sprintf(" with %d", t.PairedWith.Seq)
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, ", ")
}

func TestScenarios(t *testing.T) {
	trialA := func(d *bayDay) {
		d.open(0, "s")
		d.event(10, "", startOf("a"))
	}
	for name, c := range map[string]struct {
		play func(*bayDay)
		want string
	}{
		"before, in, paused and after": {func(d *bayDay) {
			d.shot(-5, "1")
			trialA(d)
			d.shot(5, "2")
			d.shot(10, "3") // an event holds from its own instant on
			d.event(20, "", func(ev *event.VisitEvent) { ev.Body = &event.VisitEvent_TrialPaused{} })
			d.shot(25, "4")
			d.event(30, "", func(ev *event.VisitEvent) { ev.Body = &event.VisitEvent_SessionClosed{} })
			d.shot(31, "5")
		}, "nobody, nobody, counts a 1/1/1, paused, nobody"},
		"a file read again": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1").Content = 7
			d.shot(9000, "1").Content = 7
		}, "counts a 1/1/1, repeat of 1"},
		"the lowest received counts, not the lowest number": {func(d *bayDay) {
			trialA(d)
			d.shot(40, "1").Content = 7
			d.shot(20, "1").Content = 7
		}, "repeat of 2, counts a 1/1/1"},
		"a later version counts, hit when first seen": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			d.event(30, "", startOf("b"))
			d.shot(40, "1")
			d.shot(45, "2")
		}, "superseded of 2, counts a 1/1/1, counts b 1/2/1"},
		"both versions read again": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1").Content = 1
			d.shot(21, "1").Content = 2
			d.shot(90, "1").Content = 1
			d.shot(91, "1").Content = 2
		}, "superseded of 2, counts a 1/1/1, superseded of 2, repeat of 2"},
		"a numbered version outranks a later line": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1").Revision = 2
			d.shot(21, "1").Revision = 1
		}, "counts a 1/1/1, superseded of 1"},
		"withdrawn by the device": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			d.shot(21, "1").Deleted = true
			d.shot(22, "2")
		}, "superseded of 2, deleted, counts a 1/1/1"},
		"a broken revision takes nothing away": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			d.shot(21, "1").Valid = false
		}, "counts a 1/1/1, rejected"},
		"read again with a mended map": {func(d *bayDay) {
			trialA(d)
			f := d.shot(20, "1")
			f.Valid, f.Content = false, 7
			d.event(30, "", startOf("b"))
			d.shot(90, "1").Content = 7
		}, "rejected, counts a 1/1/1"},
		"lines read again with a corrected map": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1").Content = 1
			d.shot(21, "1").Content = 2
			d.event(30, "", startOf("b"))
			for i, reread := range []int64{900, 900, 950} {
				f := d.shot(20+float64(i%2), "1")
				f.Content, f.Reread = uint64(1+i%2), reread
			}
		}, "superseded of 4, superseded of 4, superseded of 4, counts a 1/1/1, superseded of 4"},
		"withdrawn by a corrected map, and brought back": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1").Content = 7
			f := d.shot(20, "1")
			f.Content, f.Reread, f.Deleted = 7, 900, true
			d.shot(25, "2").Content = 8
			f = d.shot(25, "2")
			f.Content, f.Reread, f.Deleted = 8, 900, true
			f = d.shot(25, "2")
			f.Content, f.Reread = 8, 950
		}, "superseded of 2, deleted, superseded of 5, superseded of 5, counts a 1/1/1"},
		"moved after the build was entered late": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			d.shot(25, "2")
			d.event(30, "", startOf("b"))
			d.shot(35, "3")
			d.event(40, "", moveOf("b", "2"))
		}, "counts a 1/1/1, counts b 1/2/1, counts b 2/3/2"},
		"taken out, and back by undo": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			d.shot(21, "2")
			d.event(30, "", moveOf("", "1"))
			undo := d.event(31, "", moveOf("", "2"))
			d.event(32, "", func(ev *event.VisitEvent) {
				ev.Body = &event.VisitEvent_Voided{Voided: &event.Voided{Event: undo.Id}}
			})
		}, "nobody, counts a 1/1/1"},
		"back to the first club": {func(d *bayDay) {
			trialA(d)
			d.shot(11, "1")
			d.shot(12, "2")
			d.event(20, "", startOf("b"))
			d.shot(21, "3")
			d.event(30, "", startOf("a'")) // another trial, the same build as a
			d.shot(31, "4")
			d.event(40, "", startOf("a''"))
			d.shot(41, "5")
		}, "counts a 1/1/1, counts a 2/2/2, counts b 1/3/1, counts a' 1/4/1, counts a'' 1/5/2"},
		"the fitter shows one": {func(d *bayDay) {
			trialA(d)
			d.shot(11, "1")
			d.event(20, "", func(ev *event.VisitEvent) {
				ev.Body = &event.VisitEvent_HitterChanged{HitterChanged: &event.HitterChanged{Kind: event.HitterKind_HITTER_FITTER}}
			})
			d.shot(21, "2")
			d.event(30, "", func(ev *event.VisitEvent) {
				ev.Body = &event.VisitEvent_HitterChanged{HitterChanged: &event.HitterChanged{}}
			})
			d.shot(31, "3")
		}, "counts a 1/1/1, other_hitter a 0/0/0, counts a 2/2/2"},
		"excluding keeps the order of the rest": {func(d *bayDay) {
			trialA(d)
			d.shot(11, "1")
			d.shot(12, "2")
			d.event(20, "", func(ev *event.VisitEvent) {
				ev.Body = &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: raw("1"), Reason: "thinned"}}
			})
		}, "excluded a 1/1/1, counts a 2/2/2"},
		"two devices, one hit": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			club(d.shot(20.4, "2"))
			d.shot(30, "3")
			club(d.shot(31.6, "4")) // too far away
		}, "counts a 1/1/1 with 2, paired a 0/0/0 with 1, counts a 2/2/2, counts a 3/3/3"},
		"each the nearest to the other": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			d.shot(21, "2")
			club(d.shot(20.8, "3"))
			club(d.shot(21.9, "4"))
		}, "counts a 1/1/1, counts a 2/2/2 with 3, paired a 0/0/0 with 2, counts a 3/3/3"},
		"of one device, of one role, taken apart": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			d.shot(20.2, "2").Role = event.Role_ROLE_CLUB
			d.shot(30, "3")
			d.shot(30.2, "4").Device = "e"
			d.shot(40, "5")
			club(d.shot(40.2, "6"))
			d.event(50, "", func(ev *event.VisitEvent) {
				ev.Body = &event.VisitEvent_ShotsUnpaired{ShotsUnpaired: &event.ShotsUnpaired{ShotIds: raw("6")}}
			})
		}, "counts a 1/1/1, counts a 2/2/2, counts a 3/3/3, counts a 4/4/4, counts a 5/5/5, counts a 6/6/6"},
		"a putt's roll and stroke": {func(d *bayDay) {
			trialA(d)
			stroke := club(d.shot(20, "1"))
			stroke.Role = event.Role_ROLE_STROKE
			d.shot(20.1, "2").Role = event.Role_ROLE_ROLL
		}, "paired a 0/0/0 with 2, counts a 1/1/1 with 1"},
		"the last word on either view holds for both": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			club(d.shot(20.4, "2"))
			d.event(30, "", startOf("b"))
			d.event(40, "", startOf("c"))
			d.event(41, "", moveOf("b", "1"))
			d.event(42, "", moveOf("c", "2"))
		}, "counts c 1/1/1 with 2, paired c 0/0/0 with 1"},
		"the second view came after the swap was tapped": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			d.event(20, "", startOf("b"))
			club(d.shot(20.4, "2"))
		}, "counts b 1/1/1 with 2, paired b 0/0/0 with 1"},
		"a clock that steps back keeps the order of the journal": {func(d *bayDay) {
			trialA(d)
			for i, at := range []float64{20, 22, 12, 13} {
				d.shot(at, fmt.Sprint(i)).Unsure = true
			}
		}, "counts a 1/1/1, counts a 2/2/2, counts a 3/3/3, counts a 4/4/4"},
		"a session of another bay": {func(d *bayDay) {
			trialA(d)
			d.shot(20, "1")
			d.event(30, "s", func(ev *event.VisitEvent) {
				ev.Body = &event.VisitEvent_SessionCorrected{SessionCorrected: &event.SessionCorrected{Bay: "south"}}
			})
		}, "nobody"},
	} {
		d := &bayDay{}
		c.play(d)
		if got := d.told(); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", name, got, c.want)
		}
	}
}

// club makes an entry that of another device which sees the club alone.
func club(f *Fact) *Fact {
	f.Device, f.Role = "e", event.Role_ROLE_CLUB
	return f
}

func TestWhatATagCarries(t *testing.T) {
	d := &bayDay{}
	height := 0.03
	d.event(-1, "", func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_SettingChanged{SettingChanged: &event.SettingChanged{Place: "indoor", Surface: "tee", TeeHeightM: &height}}
	})
	d.open(0, "s")
	d.event(10, "", startOf("a"))
	d.event(11, "", func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{Words: "slower back",
			Kind: event.InstructionKind_INSTRUCTION_SWING}}
	})
	d.event(12, "", func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_ClassChanged{ClassChanged: &event.ClassChanged{Class: event.ShotClass_CLASS_PARTIAL, LengthM: 60}}
	})
	d.event(13, "", func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_IntentChanged{IntentChanged: &event.IntentChanged{Intent: event.Intent_INTENT_SHAPING}}
	})
	f := *d.shot(20, "1")
	d.event(30, "", func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_HitterChanged{HitterChanged: &event.HitterChanged{Kind: event.HitterKind_HITTER_GUEST, Hitter: "g",
			Hand: event.Hand_HAND_RIGHT}}
	})
	g := *d.shot(31, "2")
	tags := Compute(&d.log, d.facts)
	got := tags[f.Key]
	want := Tag{Situation: &Situation{
		Visit: "v", Session: "s", Category: "iron", Fitter: "f",
		Player: "p", Consent: true, Trial: "a", TrialNumber: 1, Part: 2, BuildKey: d.log.Timeline().Trial("a").BuildKey,
		Hand: event.Hand_HAND_LEFT, Intent: event.Intent_INTENT_SHAPING, Class: event.ShotClass_CLASS_PARTIAL, ClassLength: 60,
		Instruction: "slower back", InstructionKind: event.InstructionKind_INSTRUCTION_SWING, Instructions: 1,
		Setting: visit.Setting{Place: "indoor", Surface: "tee", TeeHeight: visit.Number{Value: 0.03, Known: true}},
	},
		Version: Version(d.log.Len(), 1, 2), Status: Counts, At: f.Effective,
		OrderInTrial: 1, OrderInSession: 1, Swap: 1,
	}
	if !got.Same(&want) || got.Version != want.Version {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	if guest := tags[g.Key]; guest.Status != OtherHitter || guest.Consent || guest.HitterID != "g" || guest.Hand != event.Hand_HAND_RIGHT {
		t.Errorf("the guest's shot is %+v", guest)
	}
	for _, s := range Statuses() {
		if back, ok := ParseStatus(s.String()); !ok || back != s {
			t.Errorf("%s is read back as %s", s, back)
		}
	}
	if _, ok := ParseStatus(""); ok || Status(0).String() != "unknown" || Status(99).String() != "unknown" {
		t.Error("an unknown status has a name")
	}
}

// Of an erased session a tag says where it stood, and no more: not where and off
// what it was hit.
func TestAnErasedTagCarriesNothing(t *testing.T) {
	d := &bayDay{}
	d.event(-1, "", func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_SettingChanged{SettingChanged: &event.SettingChanged{Place: "indoor", Surface: "tee"}}
	})
	d.open(0, "s")
	d.event(10, "", startOf("a"))
	f := *d.shot(20, "1")
	d.event(30, "s", func(ev *event.VisitEvent) { ev.Body = &event.VisitEvent_SessionErased{} })
	got := Compute(&d.log, d.facts)[f.Key]
	if !got.Forgotten || *got.Situation != (Situation{Visit: "v", Session: "s", Category: "iron", Fitter: "f"}) &&
		*got.Situation != (Situation{Visit: "v", Session: "s"}) {
		t.Errorf("the tag is %+v of %+v", got, got.Situation)
	}
}

// Of what was said of two views of a hit the last counts, whichever view it was said of.
func TestTheLastSaidOfTwoViewsCounts(t *testing.T) {
	at := func(rank int) visit.Overlay {
		said := visit.Said{Event: fmt.Sprint(rank), Rank: rank}
		return visit.Overlay{Excluded: &visit.Excluded{Said: said}, Moved: &visit.Moved{Said: said}, Classed: &visit.Classed{Said: said}}
	}
	for _, c := range []struct {
		a, b visit.Overlay
		want int
	}{{at(1), at(2), 2}, {at(2), at(1), 2}, {visit.Overlay{}, at(1), 1}, {at(1), visit.Overlay{}, 1}} {
		got := later(c.a, c.b)
		if got.Excluded.Rank != c.want || got.Moved.Rank != c.want || got.Classed.Rank != c.want {
			t.Errorf("%+v", got)
		}
	}
	if got := later(visit.Overlay{}, visit.Overlay{}); got != (visit.Overlay{}) {
		t.Errorf("of nothing said %+v", got)
	}
}

// alarmsOf lists, in order, the numbers of journals that several shots claim.
func alarmsOf(facts []Fact) []Alarm {
	seen := newClaims()
	for i := range facts {
		seen.add(&facts[i])
	}
	return seen.alarms()
}

func TestAlarms(t *testing.T) {
	d := &bayDay{}
	d.shot(1, "1")
	d.shot(2, "2").Seq = 1
	d.shot(3, "3").Seq = 1
	d.shot(4, "4")
	alarms := alarmsOf(append(d.facts, d.facts...))
	if len(alarms) != 1 || alarms[0].Seq != 1 || len(alarms[0].Shots) != 3 || !strings.Contains(alarms[0].String(), d.facts[0].ID.String()) {
		t.Errorf("alarms: %v", alarms)
	}
	if tags := Compute(&d.log, d.facts); len(tags) != 4 {
		t.Errorf("%d of 4 entries survive", len(tags))
	}
}

func TestFactOf(t *testing.T) {
	id := event.ShotIDFor("d", "1")
	e := &event.Entry{
		Journal: "j", Seq: 3, ShotId: id[:], Device: "d", Role: event.Role_ROLE_ROLL, Raw: []byte("x"), ReceivedUnixNs: 4,
		EffectiveUnixNs: 5, Revision: 6, Deleted: true, Faults: []*event.Fault{{Reason: "bad"}},
	}
	want := Fact{Key: Key{"j", 3, id}, Content: e.Content(), Revision: 6, Deleted: true, Received: 4, Effective: 5, Unsure: true,
		Device: "d", Role: event.Role_ROLE_ROLL}
	if got := FactOf(e); got != want {
		t.Errorf("got %+v", got)
	}
}
