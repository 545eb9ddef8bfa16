package process

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

// damage is one kind of damage to what is stored: how it is done and where the
// audit's report says it. The table of all kinds is in processors/ask/audit/DESIGN.md.
type damage struct {
	kind int // its number there
	name string
	do   func(b *bench, y *bay) error
	seen func(b audit.Bay, v audit.Visits) bool
}

// byStatement gives statements as a hand would.
func byStatement(statements ...string) func(*bench, *bay) error {
	return func(b *bench, _ *bay) error {
		for _, s := range statements {
			if err := b.store.Conn().Exec(context.Background(), s); err != nil {
				return fmt.Errorf("%s: %w", s, err)
			}
		}
		return nil
	}
}

const synced = " SETTINGS mutations_sync = 2"

func altered(b audit.Bay, _ audit.Visits) bool   { return b.Altered > 0 }
func rowsWrong(b audit.Bay, _ audit.Visits) bool { return b.Rows > 0 }

// byHand are the damages that somebody does to the tables while nobody tags. They
// are done together, each to a row of its own.
var byHand = []damage{
	{kind: 1, name: "a value of an entry's row", seen: rowsWrong,
		do: byStatement("ALTER TABLE entries UPDATE carry_m = 300 WHERE bay = 'north' AND seq = 3" + synced)},
	{kind: 2, name: "an entry put under another trial", seen: func(b audit.Bay, _ audit.Visits) bool { return b.Mistagged > 0 && b.Rows > 0 },
		do: byStatement("ALTER TABLE entries UPDATE trial = 'north-2' WHERE bay = 'north' AND seq = 4" + synced)},
	{kind: 3, name: "the stored record of an entry", do: alterRecord, seen: altered},
	{kind: 4, name: "a forged version of an entry's row", seen: rowsWrong,
		do: byStatement("INSERT INTO entries SELECT * REPLACE (999999999999999999 AS version, 250 AS carry_m) FROM entries FINAL WHERE bay = " +
			"'north' AND seq = 9")},
	{kind: 5, name: "a forged entry under a number that another has", do: forge(10, 10),
		seen: func(b audit.Bay, _ audit.Visits) bool { return b.Claimed > 0 && b.Forged > 0 }},
	{kind: 6, name: "a forged entry beyond the journal's end", do: forge(11, 9011),
		seen: func(b audit.Bay, _ audit.Visits) bool { return b.Forged > 1 }},
	{kind: 22, name: "rows of another flight model", do: byStatement(ofBefore...),
		seen: func(b audit.Bay, _ audit.Visits) bool { return b.Outdated > 5 }},
	{kind: 8, name: "a trial's row changed or forged", seen: rowsWrong, do: byStatement(
		"ALTER TABLE trials UPDATE n = 99 WHERE trial = 'north-1'"+synced,
		"INSERT INTO trials SELECT * REPLACE ('north-9' AS trial) FROM trials FINAL WHERE trial = 'north-1'")},
	{kind: 9, name: "trial rows deleted", seen: rowsWrong, do: byStatement("ALTER TABLE trials DELETE WHERE trial = 'north-2'" + synced)},
	{kind: 10, name: "a verdict's row", seen: rowsWrong,
		do: byStatement("INSERT INTO verdicts SELECT * REPLACE ('other' AS trial, version + 9 AS version) FROM verdicts FINAL")},
	{kind: 11, name: "a visit event changed", do: alterEvent, seen: func(_ audit.Bay, v audit.Visits) bool { return v.Altered > 0 }},
	{kind: 12, name: "a visit event deleted", seen: func(_ audit.Bay, v audit.Visits) bool { return v.Missing > 0 },
		do: byStatement("ALTER TABLE visit_events DELETE WHERE kind = 'voided'" + synced)},
	{kind: 13, name: "a forged visit event", seen: func(_ audit.Bay, v audit.Visits) bool { return v.Forged > 0 },
		do: byStatement("INSERT INTO visit_events SELECT * REPLACE ('forged' AS id, 9000 AS seq) FROM visit_events FINAL WHERE kind = " +
			"'shots_excluded' LIMIT 1")},
	{kind: 14, name: "a refused entry whose note is gone", do: refuse, seen: func(b audit.Bay, _ audit.Visits) bool { return b.Unnoted > 0 }},
}

// ofBefore makes rows such as an earlier program wrote, whose flights were longer.
var ofBefore = []string{
	"ALTER TABLE entries UPDATE our_carry_m = our_carry_m + 4, flight_model = 'ferguson-0badcafe' WHERE isNotNull(our_carry_m)" + synced,
	"ALTER TABLE trials UPDATE carry_mean_m = carry_mean_m + 1, flight_model = 'before' WHERE flight_model != ''" + synced,
}

// alterRecord changes a measure within the bytes that the bay wrote.
func alterRecord(b *bench, y *bay) error {
	lines, err := b.store.Of(context.Background(), y.place, []event.ShotID{y.id(14)})
	if err != nil || len(lines) != 1 {
		return errors.Join(err, fmt.Errorf("%d lines", len(lines)))
	}
	e := &event.Entry{}
	if err := proto.Unmarshal(lines[0].Bytes, e); err != nil {
		return err
	}
	e.Measures[0].Value *= 1.1
	row := store.EntryRow{Entry: e, Tag: &tag.Tag{Situation: &tag.Situation{}, Status: tag.Nobody, Version: math.MaxInt64},
		Values: &shot.Values{}}
	return b.store.InsertEntries(context.Background(), []store.EntryRow{row})
}

// forge stores a shot that nobody hit, made of one that somebody did.
func forge(of int, seq uint64) func(*bench, *bay) error {
	return func(b *bench, y *bay) error {
		lines, err := b.store.Of(context.Background(), y.place, []event.ShotID{y.id(of)})
		if err != nil || len(lines) != 1 {
			return errors.Join(err, fmt.Errorf("%d lines", len(lines)))
		}
		e := &event.Entry{}
		if err := proto.Unmarshal(lines[0].Bytes, e); err != nil {
			return err
		}
		id := event.ShotIDFor("nobody", fmt.Sprint(seq))
		e.ShotId, e.Seq = id[:], seq
		row := store.EntryRow{Entry: e, Tag: &tag.Tag{Situation: &tag.Situation{}, Status: tag.Nobody}, Values: &shot.Values{}}
		return b.store.InsertEntries(context.Background(), []store.EntryRow{row})
	}
}

// alterEvent gives a trial another build.
func alterEvent(b *bench, y *bay) error {
	events, err := b.store.Events(context.Background(), y.place)
	for _, ev := range events {
		if t := ev.GetTrialStarted(); t != nil {
			t.Build.Specs[0].Number++
			return b.store.InsertEvents(context.Background(), []*event.VisitEvent{ev})
		}
	}
	return errors.Join(err, errors.New("no trial"))
}

// refuse stores what stands for a refused entry in the place of a line that was
// no shot, and no note of it.
func refuse(b *bench, y *bay) error {
	lines, err := b.store.All(context.Background(), y.place)
	for _, l := range lines {
		if !l.Entry.Valid() {
			row := store.EntryRow{Entry: l.Entry, Tag: &tag.Tag{Situation: &tag.Situation{}, Version: math.MaxInt64, At: l.Entry.EffectiveUnixNs}}
			return b.store.InsertEntries(context.Background(), []store.EntryRow{row.Refused("code 469", false)})
		}
	}
	return errors.Join(err, errors.New("no line that was no shot"))
}

// What hands and disks do to the store, the log and the journals is found, each
// kind by the name it has in the report, and made right where a copy exists.
func TestDamagesAreFoundAndHealed(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y := b.bayWith("north", true)
	b.startHub()
	y.day()
	y.say(verdict("north-2"))
	y.write("no shot at all")
	b.untilStored("the bad line has a row", func() bool { return b.count("SELECT count() FROM entries FINAL WHERE status = 'rejected'") == 1 })
	b.whole()
	b.untilStored("the verdict is stored", func() bool { return b.count("SELECT count() FROM verdicts FINAL") == 1 })
	good := b.checksums()
	b.stopHub()
	for _, d := range byHand {
		if err := d.do(b, y); err != nil {
			t.Fatalf("%s: %v", d.name, err)
		}
	}
	lost := [2]func() bool{b.cutLog(stream.Shots), b.cutLog(stream.Visits)}
	nc, js := b.connect()
	for _, place := range []stream.Place{y.place, b.console.place} {
		b.until(place.Bay+" is there again", func() bool {
			_, err := audit.Ask(t.Context(), nc, place, time.Second)
			return err == nil
		})
	}
	a := audit.Auditor{Conn: nc, JS: js, Store: b.store, Wait: 5 * time.Second, Tags: true, Again: 50 * time.Millisecond}
	report := b.audit(a)
	bay, v := report.Bays[0], *report.Visits
	for _, d := range byHand {
		if !d.seen(bay, v) {
			t.Errorf("%s is not found", d.name)
		}
		found(t, d.kind)
	}
	// What the log lost of the last minutes is sent again by itself, before or after the audit looks.
	for i, missed := range []uint64{bay.NotInLog, v.NotInLog} {
		if missed == 0 && lost[i]() {
			t.Errorf("messages that the log lost are neither found nor there again: %d and %d", bay.NotInLog, v.NotInLog)
		}
	}
	if t.Failed() {
		t.Fatalf("the audit says %+v, %+v", bay, v)
	}
	found(t, 16)
	found(t, 17)
	a.Repair = true
	report = b.audit(a)
	bay, v = report.Bays[0], *report.Visits
	// What the log lost its journals give again once the hub is there.
	if bay.Wrong() != bay.NotInLog || v.Wrong() != v.NotInLog {
		t.Errorf("after the repair: %+v, %+v", bay, v)
	}
	if bay.Renewed == 0 || bay.Outdated != 0 {
		t.Errorf("of another flight model %d rows were computed anew, %d left", bay.Renewed, bay.Outdated)
	}
	t.Logf("mended %d of the bay, %d visit events, %d computed anew", bay.Mended, v.Mended, bay.Renewed)
	if err := byStatement("ALTER TABLE entries DELETE WHERE bay = 'north' AND seq = 7"+synced)(b, y); err != nil {
		t.Fatal(err)
	}
	a.Repair, a.Tags = false, false
	if bay = b.audit(a).Bays[0]; bay.Missing != 1 {
		t.Errorf("an entry's row was deleted: %+v", bay)
	}
	found(t, 7)
	// A hub that begins computes anew what another flight model made, long before its first audit.
	if err := byStatement(ofBefore...)(b, y); err != nil {
		t.Fatal(err)
	}
	if o, err := b.store.Outdated(t.Context()); err != nil || o.Shots < 10 || o.Trials != 2 {
		t.Errorf("of another flight model: %+v, %v", o, err)
	}
	b.startHub()
	b.whole()
	b.untilStored("rows of another flight model are computed anew", func() bool {
		nudge(nc, y.place)
		nudge(nc, b.console.place)
		o, err := b.store.Outdated(context.Background())
		return err == nil && o == store.Outdated{}
	})
	if now := b.checksums(); now[1] != good[1] || now[2] != good[2] || now[3] != good[3] {
		t.Errorf("%v after all, %v before", now, good)
	}
	for _, d := range byHand {
		healed(t, d.kind)
	}
	healed(t, 7)
	healed(t, 16)
	healed(t, 17)

	// And by itself: rows deleted while the hub is there.
	for _, s := range []string{"ALTER TABLE trials DELETE WHERE 1", "ALTER TABLE visit_events DELETE WHERE kind = 'trial_started'",
		"ALTER TABLE verdicts DELETE WHERE 1",
		"ALTER TABLE entries UPDATE trial = 'north-2' WHERE seq = 4"} {
		if err := byStatement(s+synced)(b, y); err != nil {
			t.Fatal(err)
		}
	}
	audited := b.metric("fairlead_audit_ended_timestamp_seconds", "")
	// The audit that the changes are a sign for takes long on a busy machine.
	b.until("the hub audits itself", func() bool {
		nudge(nc, y.place)
		nudge(nc, b.console.place)
		return b.metric("fairlead_audit_ended_timestamp_seconds", "") != audited
	})
	b.untilStored("all is as it was", func() bool {
		nudge(nc, y.place)
		nudge(nc, b.console.place)
		now := b.checksums()
		return now[1] == good[1] && now[2] == good[2] && now[3] == good[3]
	})
	b.whole()
}

func verdict(trial string) *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_VerdictGiven{VerdictGiven: &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD,
		Trial: trial}}}
}

func (b *bench) audit(a audit.Auditor) audit.Report {
	b.t.Helper()
	r, err := a.Run(b.t.Context(), b.studio, b.bayPlaces())
	if err != nil {
		b.t.Fatal(err)
	}
	return r
}

// cutLog cuts the end off a stream, as a lost disk cache does.
func (b *bench) cutLog(name string) (lost func() bool) {
	b.t.Helper()
	had := b.messages(name)
	b.broker.kill()
	files := b.blocks(name)
	file := files[len(files)-1]
	info, err := os.Stat(file)
	if err == nil {
		err = os.Truncate(file, info.Size()*2/3)
	}
	if err != nil {
		b.t.Fatal(err)
	}
	for _, index := range []string{"index.db"} {
		os.Remove(filepath.Join(filepath.Dir(file), index))
	}
	b.broker.start()
	return func() bool { return b.messages(name) < had }
}

// messages is how many a stream holds.
func (b *bench) messages(name string) uint64 {
	b.t.Helper()
	_, js := b.connect()
	s, err := js.Stream(b.t.Context(), name)
	if err != nil {
		b.t.Fatal(err)
	}
	return s.CachedInfo().State.Msgs
}
