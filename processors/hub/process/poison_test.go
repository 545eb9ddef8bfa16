package process

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// rogue makes an entry as a broken program might write it.
func (y *bay) rogue(seq uint64, change func(*event.Entry)) []byte {
	id := event.ShotIDFor("rogue", fmt.Sprint(seq))
	now := time.Now().UnixNano()
	e := &event.Entry{Contract: event.Contract, Studio: y.place.Studio, Bay: y.place.Bay, Journal: "00000000000000ff", Seq: seq, ShotId: id[:],
		Device: "rogue", ReceivedUnixNs: now, EffectiveUnixNs: now, Certainty: event.Certainty_CERTAINTY_SYNCED,
		Measures: []*event.Measure{{Field: event.Field_FIELD_CARRY, Value: 150}}}
	change(e)
	data, err := proto.Marshal(e)
	if err != nil {
		y.b.t.Fatal(err)
	}
	return data
}

func (y *bay) rogueEvent(change func(*event.VisitEvent)) []byte {
	now := time.Now()
	ev := excluded("rogue", y.ids(1, 1))
	ev.Contract, ev.Studio, ev.Bay, ev.Visit, ev.Session, ev.Id = event.Contract, y.place.Studio, y.place.Bay, "v", "s", event.NewID(now)
	ev.RecordedUnixNs, ev.EffectiveUnixNs = now.UnixNano(), now.UnixNano()
	change(ev)
	data, err := proto.Marshal(ev)
	if err != nil {
		y.b.t.Fatal(err)
	}
	return data
}

// Messages that are nothing of the bay's are set aside and counted by reason;
// entries that can't be right are stored as rejected, with the reason. The
// bay's own shots, before, between and after them, go on as ever.
func TestPoisonIsSetAsideAndHurtsNobody(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y, z := b.bay("north"), b.bay("quay")
	b.startHub()
	y.say(opened())
	y.say(started("t1", 30))
	y.hit(5)
	z.hit(5)
	y.arrived()
	_, js := b.connect()
	publish := func(subject string, data []byte) error {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		_, err := js.Publish(ctx, subject, data)
		return err
	}
	shots, visits := y.place.ShotsSubject(), y.place.VisitsSubject()
	far := time.Date(2400, 1, 1, 0, 0, 0, 0, time.UTC)
	if !far.Before(time.Unix(0, math.MaxInt64)) {
		far = time.Unix(0, math.MaxInt64)
	}
	aside := []struct {
		reason, subject string
		data            []byte
	}{
		{"undecodable", shots, []byte("\xff\xfe not protobuf")},
		{"contract", shots, y.rogue(1, func(e *event.Entry) { e.Contract = event.Contract + 7 })},
		{"identity", shots, y.rogue(2, func(e *event.Entry) { e.Journal = "" })},
		{"identity", shots, y.rogue(0, func(*event.Entry) {})},
		{"identity", shots, y.rogue(3, func(e *event.Entry) { e.ShotId = e.ShotId[:5] })},
		{"foreign", shots, y.rogue(4, func(e *event.Entry) { e.Bay = "quay" })},
		{"undecodable", visits, []byte("\xff\xfe not protobuf")},
		{"contract", visits, y.rogueEvent(func(e *event.VisitEvent) { e.Contract = event.Contract + 7 })},
		{"identity", visits, y.rogueEvent(func(e *event.VisitEvent) { e.Id = "" })},
		{"foreign", visits, y.rogueEvent(func(e *event.VisitEvent) { e.Bay = "quay" })},
		{"time", visits, y.rogueEvent(func(e *event.VisitEvent) { e.EffectiveUnixNs = far.UnixNano() })},
		{"time", visits, y.rogueEvent(func(e *event.VisitEvent) { e.RecordedUnixNs = 0 })},
		{"not finite", visits, y.rogueEvent(func(e *event.VisitEvent) {
			e.Body = started("bad", math.NaN()).Body
		})},
	}
	want := map[string]float64{"not finite": 1} // the odd one below
	for _, m := range aside {
		if err := publish(m.subject, m.data); err != nil {
			t.Fatalf("%s: %v", m.reason, err)
		}
		want[m.reason]++
		y.hit(1)
	}
	mended := []struct {
		field, reason string
		data          []byte
	}{
		{"carry", "not a finite number", y.rogue(11, func(e *event.Entry) { e.Measures[0].Value = math.NaN() })},
		{"carry", "not a finite number", y.rogue(12, func(e *event.Entry) { e.Measures[0].Value = math.Inf(-1) })},
		{"effective", "a time that can't be right", y.rogue(13, func(e *event.Entry) { e.EffectiveUnixNs = far.UnixNano() })},
		{"received", "a time that can't be right", y.rogue(14, func(e *event.Entry) { e.ReceivedUnixNs = far.UnixNano() })},
		{"device_time", "a time that can't be right", y.rogue(15, func(e *event.Entry) { e.DeviceUnixNs = math.MinInt64 })},
		{"effective", "a time that can't be right",
			y.rogue(16, func(e *event.Entry) { e.EffectiveUnixNs, e.ReceivedUnixNs = math.MinInt64, math.MinInt64 })},
	}
	for _, m := range mended {
		if err := publish(shots, m.data); err != nil {
			t.Fatal(err)
		}
		y.hit(1)
	}
	// What is finite and absurd, or of a later dictionary, is for the tagger to bear.
	for i, change := range []func(*event.Entry){
		func(e *event.Entry) {
			for n := range event.Field(64) {
				e.Measures = append(e.Measures, &event.Measure{Field: n, Value: math.MaxFloat64})
			}
		},
		func(e *event.Entry) {
			for n := range event.Field(64) {
				e.Measures = append(e.Measures, &event.Measure{Field: n, Value: -1e200})
			}
		},
		func(e *event.Entry) { e.Measures[0].Field, e.Measures[0].Provenance = 9999, 77 },
		func(e *event.Entry) { e.Role, e.Certainty = 77, 77 },
		func(e *event.Entry) {
			e.DeviceShotId, e.File = strings.Repeat("x", 100<<10), strings.Repeat("y", 50<<10)
		},
		func(e *event.Entry) { e.EarliestUnixNs, e.LatestUnixNs = math.MaxInt64, math.MinInt64 },
		func(e *event.Entry) { e.Boot, e.ReadMonoNs, e.SeenMonoNs = "b", math.MinInt64, math.MaxInt64 },
	} {
		data := y.rogue(uint64(100+i), func(e *event.Entry) { e.Device = "odd"; change(e) })
		if err := publish(shots, data); err != nil {
			t.Fatal(err)
		}
	}
	for _, data := range [][]byte{
		y.rogueEvent(func(e *event.VisitEvent) { e.Body, e.EffectiveUnixNs = nil, e.EffectiveUnixNs-int64(time.Hour) }),
		y.rogueEvent(func(e *event.VisitEvent) {
			e.Body = &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Hand: 77, Category: strings.Repeat("c", 60<<10)}}
			e.Session, e.EffectiveUnixNs = "odd", e.EffectiveUnixNs-int64(time.Hour)
		}),
		y.rogueEvent(func(e *event.VisitEvent) {
			e.Body = started("odd", math.MaxFloat64).Body
			e.EffectiveUnixNs -= int64(time.Hour)
		}),
	} {
		if err := publish(visits, data); err != nil {
			t.Fatal(err)
		}
	}
	if err := publish(shots, y.rogue(21, func(e *event.Entry) { e.Raw = make([]byte, 300<<10) })); err == nil {
		t.Error("the log takes an entry of 300 KiB")
	}
	// What a device itself may write: a line that never ends, and a broken one.
	y.write("99," + strings.Repeat("9", 400<<10))
	y.write("\x00\x01\x02,,,,,\xff")
	y.hit(5)
	z.hit(5)
	counting := func() int { // of the device's own
		return b.count("SELECT count() FROM entries FINAL WHERE device = 'willow-north' AND trial = 't1' AND status = 'counts'")
	}
	b.until("the poison is counted", func() bool {
		for reason, n := range want {
			if b.metric("fairlead_process_messages_set_aside_total", reason) != n {
				return false
			}
		}
		return b.metric("fairlead_process_messages_set_aside_total", "value") == float64(len(mended)+2)
	})
	b.untilStored("its neighbours are stored", func() bool { return counting() == y.lines && z.stored() == z.lines })
	for _, m := range mended {
		b.until("rejected for "+m.field, func() bool {
			var n uint64
			err := b.store.Conn().QueryRow(context.Background(),
				"SELECT count() FROM entries FINAL WHERE device = 'rogue' AND status = 'rejected' AND position(faults, ?) > 0 AND position(faults, "+
					"?) > 0", m.field, m.reason).Scan(&n)
			return err == nil && n >= 1
		})
	}
	b.until("both broken lines are stored as rejected", func() bool {
		return b.count("SELECT count() FROM entries FINAL WHERE bay = 'north' AND device NOT IN ('rogue', 'odd') AND status = 'rejected'") == 2
	})
	b.until("nothing else came in", func() bool {
		return b.count("SELECT uniqExact(seq) FROM entries WHERE device = 'rogue'") == len(mended) &&
			b.count("SELECT count() FROM visit_events FINAL WHERE session NOT IN ('s', 'odd')") == b.console.seq
	})
	// A hub that begins anew meets all of it again, and stays as it is.
	before := b.checksums()
	b.stopHub()
	names, _ := b.taggers(context.Background(), js)
	for _, name := range names {
		js.DeleteConsumer(context.Background(), stream.Shots, name)
	}
	b.startHub()
	y.hit(1)
	y.b.until("the next shot is stored", func() bool { return counting() == y.lines })
	after := b.checksums()
	if before[0].Rows+1 != after[0].Rows {
		t.Errorf("%d rows, then %d", before[0].Rows, after[0].Rows)
	}
}

// count reads one number; -1 when it can't.
func (b *bench) count(question string) int {
	var n uint64
	if b.store.Conn().QueryRow(context.Background(), question).Scan(&n) != nil {
		return -1
	}
	return int(n)
}
