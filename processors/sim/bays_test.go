package sim

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"go.uber.org/goleak"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
	"fairlead/processors/visit/tag"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(enginetest.Wrap(m)) }

var opening = time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)

// world is what a simulated day left behind.
type world struct {
	dir     string
	summary Summary
	truth   []byte
	events  []*event.VisitEvent
	lines   []LineRecord
	slips   []SlipRecord
	clubs   []ClubRecord
}

func day(t testing.TB, seed uint64, shots int, change ...func(*Options)) world {
	t.Helper()
	w := world{dir: t.TempDir()}
	var truth bytes.Buffer
	hand := &MemoryHand{}
	o := Options{
		Studio: "harbour-row", Bays: DemoBays(w.dir), Hand: hand, Seed: seed, Shots: shots, Rate: 0.05, Truth: &truth,
		Clock: func(string) Clock { return &VirtualClock{opening} },
	}
	for _, f := range change {
		f(&o)
	}
	s, err := RunBays(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	w.summary, w.truth, w.events = s, truth.Bytes(), hand.Events()
	for line := range bytes.Lines(w.truth) {
		var kind struct{ Record string }
		if err := json.Unmarshal(line, &kind); err != nil {
			t.Fatal(err)
		}
		switch kind.Record {
		case "line":
			w.lines = append(w.lines, decode[LineRecord](t, line))
		case "slip":
			w.slips = append(w.slips, decode[SlipRecord](t, line))
		case "club":
			w.clubs = append(w.clubs, decode[ClubRecord](t, line))
		}
	}
	return w
}

func decode[T any](t testing.TB, line []byte) (v T) {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(line))
	d.DisallowUnknownFields()
	if err := d.Decode(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

func TestOneSeedGivesTheSameBytes(t *testing.T) {
	a, b, c := day(t, 7, 60), day(t, 7, 60), day(t, 8, 60)
	if !bytes.Equal(a.truth, b.truth) {
		t.Error("the truth differs between two runs of one seed")
	}
	if bytes.Equal(a.truth, c.truth) {
		t.Error("two seeds give the same truth")
	}
	for _, bay := range DemoBays(a.dir) {
		for _, f := range bay.Feeds {
			one, err1 := os.ReadFile(f.Path)
			two, err2 := os.ReadFile(filepath.Join(b.dir, "feeds", filepath.Base(f.Path)))
			if err1 != nil || err2 != nil || !bytes.Equal(one, two) || len(one) == 0 {
				t.Errorf("%s: %d and %d bytes, %v %v", f.Path, len(one), len(two), err1, err2)
			}
		}
	}
}

// The maps read every line as the truth says: as a shot with its id, or not.
func TestFeedsReadAsTheTruthSays(t *testing.T) {
	w := day(t, 3, 500)
	truth := map[string][]LineRecord{}
	for _, l := range w.lines {
		truth[l.File] = append(truth[l.File], l)
	}
	rejected, shots := 0, map[string]bool{}
	for _, bay := range DemoBays(w.dir) {
		for _, f := range bay.Feeds {
			entries := entriesOf(t, bay.Name, f)
			want := truth[filepath.Base(f.Path)]
			if len(entries) != len(want) {
				t.Fatalf("%s: %d entries for %d lines", f.Path, len(entries), len(want))
			}
			for i, e := range entries {
				if e.Valid() != want[i].Valid || e.ID().String() != want[i].ShotID {
					t.Errorf("%s line %d (%s): valid %v id %s, want %v %s: %v\n%s", f.Path, e.Line, want[i].Kind, e.Valid(), e.ID(), want[i].Valid,
						want[i].ShotID, e.Faults, e.Raw)
				}
				if !e.Valid() {
					rejected++
				} else {
					shots[e.ID().String()] = true
				}
				checkValues(t, e, want[i])
			}
		}
	}
	s := w.summary
	if rejected != s.Rejected || len(shots) != s.Shots || s.Rejected == 0 || s.Repeats == 0 || s.Revisions == 0 || s.Withdrawn == 0 ||
		s.Misread == 0 || s.Dropped == 0 {
		t.Errorf("rejected %d, shots %d, summary %+v", rejected, len(shots), s)
	}
}

// checkValues compares what the map read with the latent swing, in the frame
// of the target: units and signs of writer and map are each other's check.
func checkValues(t *testing.T, e *event.Entry, l LineRecord) {
	t.Helper()
	if l.Latent == nil || !e.Valid() || l.Misread != "" {
		return
	}
	left := l.left(t)
	for f, want := range map[event.Field][2]float64{ // value, tolerance
		event.Field_FIELD_BALL_SPEED: {l.Latent.BallSpeed, 0.8}, event.Field_FIELD_LAUNCH_DIRECTION: {l.Latent.Direction, 1.2},
		event.Field_FIELD_CLUB_PATH: {l.Latent.Path, 2}, event.Field_FIELD_FACE_ANGLE: {l.Latent.Face, 2.2},
		event.Field_FIELD_CARRY:   {l.Latent.Carry, 6},
		event.Field_FIELD_OFFLINE: {l.Latent.Offline, 4}, event.Field_FIELD_STRIKE_X: {l.Latent.StrikeX, 0.008},
		event.Field_FIELD_SPIN_RATE:    {l.Latent.Spin, 500},
		event.Field_FIELD_DYNAMIC_LOFT: {l.Latent.DynamicLoft, 2.2}, event.Field_FIELD_CLUBHEAD_SPEED: {l.Latent.HeadSpeed, 1.2},
	} {
		m := e.Measure(f)
		if m == nil || l.Practice {
			continue
		}
		v := m.Value
		if info, _ := f.Info(); m.Handed && left && info.Mirrors {
			v = -v
		}
		if math.Abs(v-want[0]) > want[1] {
			t.Errorf("%s %s: %s reads %g, swung %g\n%s", l.Device, l.ShotID, f, v, want[0], e.Raw)
		}
	}
}

var handsOfSeed3 = map[string]bool{}

// left finds the hitter's hand again from the players of seed 3.
func (l *LineRecord) left(t *testing.T) (left bool) {
	t.Helper()
	if left, known := handsOfSeed3[l.Hitter]; known {
		return left
	}
	defer func() { handsOfSeed3[l.Hitter] = left }()
	for n := range 4 {
		if f := newFitter(3, n); f.ID == l.Hitter {
			return f.Left
		}
		for v := range 100 {
			for _, number := range []int{n*1000 + v, 0xe000 + n*100 + v} {
				if p := NewPlayer(3, number); p.ID == l.Hitter {
					return p.Left
				}
			}
		}
	}
	t.Fatalf("no player %s", l.Hitter)
	return false
}

func TestFitterForgetsOneSwapInTen(t *testing.T) {
	w := day(t, 11, 1500, func(o *Options) { o.Truth = nil })
	s := w.summary
	share := float64(s.Forgotten) / float64(s.Swaps)
	if sd := math.Sqrt(0.1 * 0.9 / float64(s.Swaps)); math.Abs(share-0.1) > 4*sd+0.01 {
		t.Errorf("%d of %d swaps forgotten", s.Forgotten, s.Swaps)
	}
	if s.Mended == 0 || s.Mended == s.Forgotten || s.MislabelledLast == 0 || s.MislabelledLast*2 > s.MislabelledFirst || s.Refused != 0 {
		t.Errorf("%+v", s)
	}
	for _, ev := range w.events {
		if f := visit.Validate(ev, opening.Add(48*time.Hour)); len(f) > 0 {
			t.Errorf("event %v: %v", ev, f)
		}
	}
}

// What the summary says of labels is what tags computed from the events say,
// hit by hit.
func TestMislabelledAgreesWithTheTags(t *testing.T) {
	// Bays with one device; pairs are the tagger's own matter.
	w := day(t, 5, 400, func(o *Options) { o.Bays, o.Forget = o.Bays[1:], 0.4 })
	wrong, standing := 0, 0
	for _, bay := range DemoBays(w.dir)[1:] {
		log := &visit.Log{}
		for _, ev := range w.events {
			if ev.Bay == bay.Name {
				log.Add(ev)
			}
		}
		truth := map[string]LineRecord{}
		var written []int64
		for _, l := range w.lines {
			if l.Bay == bay.Name {
				written = append(written, l.Written)
				if l.Kind == KindShot {
					truth[l.ShotID] = l
				}
			}
		}
		var facts []tag.Fact
		for i, e := range entriesOf(t, bay.Name, bay.Feeds[0]) {
			e.Journal, e.Seq, e.EffectiveUnixNs, e.ReceivedUnixNs, e.Certainty = "00000000000000aa", uint64(i+1), written[i], written[i],
				event.Certainty_CERTAINTY_SYNCED
			facts = append(facts, tag.FactOf(e))
		}
		for key, g := range tag.Compute(log, facts) {
			l, ok := truth[key.ID.String()]
			if !ok || l.Practice || g.Status == tag.Repeat || g.Status == tag.Superseded || g.Status == tag.Deleted {
				continue
			}
			standing++
			counts := g.Status == tag.Counts
			if l.HitterKind != "player" && counts || l.HitterKind == "player" && (!counts && g.Status != tag.Excluded || g.BuildKey != l.Build) {
				wrong++
			}
		}
	}
	if s := w.summary; standing != s.Standing || wrong != s.MislabelledLast || wrong == 0 {
		t.Errorf("the tags say %d of %d hits are mislabelled: %+v", wrong, standing, s)
	}
}

func entriesOf(t *testing.T, bay string, f Feed) []*event.Entry {
	t.Helper()
	text, err := MapFile(f.Device)
	if err != nil {
		t.Fatal(err)
	}
	m, err := feed.ParseMap(f.Device, text)
	if err != nil {
		t.Fatal(err)
	}
	in, err := os.Open(f.Path)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	entries, _, err := feed.ParseAll(m, filepath.Base(f.Path), in,
		feed.Stamp{Studio: "harbour-row", Bay: bay, Feed: f.Name, Received: opening.Add(24 * time.Hour), Effective: opening})
	if err != nil {
		t.Fatal(err)
	}
	return entries
}

func TestStoppedByItsContext(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
	defer cancel()
	hand := &MemoryHand{}
	s, err := RunBays(ctx, Options{Studio: "harbour-row", Bays: DemoBays(t.TempDir()), Hand: hand, Seed: 1, Rate: 200, Quiet: time.Millisecond,
		Truth: &bytes.Buffer{}})
	if err != nil {
		t.Fatal(err)
	}
	if s.Bays != 4 || s.Events != len(hand.Events()) || s.Hits == 0 || s.Sessions == 0 {
		t.Errorf("%+v", s)
	}
	open := map[string]int{}
	for _, ev := range hand.Events() {
		switch ev.Body.(type) {
		case *event.VisitEvent_SessionOpened:
			open[ev.Bay]++
		case *event.VisitEvent_SessionClosed:
			open[ev.Bay]--
		}
	}
	for bay, n := range open {
		if n != 0 {
			t.Errorf("%s: %d sessions left open", bay, n)
		}
	}
}
