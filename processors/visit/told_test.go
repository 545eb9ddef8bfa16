package visit

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
)

// story is a bay's log of a year in which about everything is said, some of it
// wrongly, with what of it was entered by forms.
type story struct {
	t *testing.T
	script
	out    strings.Builder
	number string // of the order
}

func (s *story) place(at int64) *Place {
	return &Place{Bay: "north", Timeline: s.log.Timeline(), Live: s.log.Events(), Now: at, Far: "yd", Event: s.log.Event}
}

// enter reads a form, says what it was read as, and takes it into the log where
// nothing speaks against it.
func (s *story) enter(act string, pairs ...string) *event.VisitEvent {
	in := Input{}
	for i := 0; i+1 < len(pairs); i += 2 {
		in[pairs[i]] = append(in[pairs[i]], pairs[i+1])
	}
	s.n++
	at := minute(s.n)
	ev, faults := Read(act, in, s.place(at))
	fmt.Fprintf(&s.out, "%d %s %v: %s\n", s.n, act, pairs, compact(ev))
	for _, f := range faults {
		fmt.Fprintf(&s.out, "\t%s %q: %s; %s\n", f.Field, f.Value, f.Reason, f.Hint)
	}
	if len(faults) > 0 {
		return ev
	}
	ev.Contract, ev.Id, ev.Studio, ev.Bay, ev.Who = 1, fmt.Sprintf("e%d", s.n), "harbour-row", "north", "f-bo"
	ev.EffectiveUnixNs, ev.RecordedUnixNs, ev.Visit = at, at, "v"
	if act == "open" {
		ev.Session = "s1"
	} else if m := s.place(at).Meant(ev); m != nil && ev.Session == "" {
		ev.Session = m.ID
	}
	if v := ev.GetVerdictGiven(); v != nil && v.Build == nil {
		v.Build = s.log.Timeline().Trial(v.GetTrial()).Build // as the console does
	}
	if o := ev.GetOrderPlaced(); o != nil {
		o.Order = s.number
	}
	if f := s.place(at).Fits(ev); f != nil {
		fmt.Fprintf(&s.out, "\tdoes not fit: %s %q: %s; %s\n", f.Field, f.Value, f.Reason, f.Hint)
		return ev
	}
	if f := Validate(ev, time.Unix(0, at)); len(f) > 0 {
		fmt.Fprintf(&s.out, "\tis refused: %s\n", faultsAt(ev, at))
		return ev
	}
	s.log.Add(ev)
	return ev
}

func faultsAt(ev *event.VisitEvent, at int64) (out string) {
	for _, f := range Validate(ev, time.Unix(0, at)) {
		out += fmt.Sprintf("%s %q: %s; %s ", f.Field, f.Value, f.Reason, f.Hint)
	}
	return out
}

func shotsNamed(names ...string) (ids [][]byte) {
	for _, n := range names {
		id := event.ShotIDFor("d", n)
		ids = append(ids, id[:])
	}
	return ids
}

func shotText(n string) string { id := event.ShotIDFor("d", n); return id.String() }

// fitting is the visit in which a club is found.
func (s *story) fitting() {
	s.add(&event.TrialPaused{})
	s.enter("open", "player", "p-7kq2m", "category", "iron", "hand", "right", "fitter", "f-bo", "consent", "yes", "aim", "land it softer")
	first := s.log.All()[s.log.Len()-1]
	first.LastSeen = &event.Seen{Journal: "j", Seq: 10}
	s.enter("setting", "place", "outdoor", "surface", "tee", "wind_speed", "3m/s", "wind_toward", "90deg", "tee_height", "40mm")
	s.enter("trial", "trial", "t-own", "blank", "yes", "name", "own 7", "gamer", "yes", "part.loft", "32deg", "part.length", "37in",
		"part.lie", "62deg", "part.head_weight", "268g", "part.swing_weight", "D2", "part.shaft_model", "Reed 95", "part.grip_model", "Cord 58",
		"measured", "loft=32.5deg", "club", "c-1")
	s.enter("instruct", "words", "ball back", "kind", "setup")
	s.enter("hitter", "hitter", "guest", "id", "g-1", "hand", "left")
	s.enter("hitter", "hitter", "player")
	s.enter("intent", "intent", "shaping")
	s.enter("class", "class", "partial", "length", "55m")
	s.enter("pause")
	s.enter("resume")
	s.enter("trial", "trial", "t-2", "base", "t-own", "name", "longer", "set", "length=37.5in", "set", "shaft_model=Spar 80")
	s.enter("trial", "trial", "t-3", "set", "loft=31deg")
	s.enter("trial", "trial", "t-own")
	s.enter("amend", "base", "t-2", "set", "shaft_weight=80g", "measured", "lie=62.5deg",
		"measured", "swing_weight=D2")
	s.enter("feel", "trial", "t-2", "words", "heavy", "liking", "1")
	s.enter("exclude", "shot", shotText("1"), "reason", "thinned")
	s.add(&event.ShotsExcluded{ShotIds: shotsNamed("1", "2", "3"), Reason: "thinned"}, session("s1"))
	s.add(&event.ShotsRestored{ShotIds: shotsNamed("2")})
	s.add(&event.ShotsMoved{ShotIds: shotsNamed("4", "5"), Trial: "t-2"})
	s.add(&event.ShotsMoved{ShotIds: shotsNamed("6"), Trial: "t-none"})
	s.add(&event.ShotsMoved{ShotIds: append(shotsNamed("5"), []byte("short"))})
	s.add(&event.ShotsUnpaired{ShotIds: shotsNamed("7")})
	s.add(&event.ClassChanged{Class: event.ShotClass_CLASS_PARTIAL, LengthM: 40, ShotIds: shotsNamed("8")})
	s.add(&event.PriorTaken{Pair: "pair", Priors: []*event.Prior{somePrior()}}, session(s.sessions()[0]))
	s.enter("verdict", "verdict", "build", "trial", "t-2", "baseline", "t-own", "words", "longer and lower")
}

func (s *story) sessions() (ids []string) {
	for _, x := range s.log.Timeline().Sessions {
		ids = append(ids, x.ID)
	}
	return append(ids, "none")
}

func (s *story) verdict() string {
	for _, ev := range s.log.All() {
		if ev.GetVerdictGiven() != nil {
			return ev.Id
		}
	}
	return "none"
}

// ordering is what the shop does, and the bag and file of the player.
func (s *story) ordering() {
	v := s.verdict()
	whole := []string{"verdict", v, "clubs", "5-9i pw", "fix", "6i.lie=61deg", "promised", "2026-06-12", "words", "soon"}
	for _, change := range [][2]string{{"verdict", "none"}, {"clubs", "9q"}, {"hit", "6i"}, {"hit", "x"}, {"fix", "6i.lie"},
		{"fix", "6i.paint=3"},
		{"fix", "4i.lie=60deg"}, {"fix", "6i.lie=?"}, {"fix.7i.length", "38in"}, {"length_step", "0.003m"}, {"length_step", "0.0029m"},
		{"length_step", "30mm"}, {"length_step", "31mm"}, {"lie_step", "2deg"}, {"lie_step", "2.1deg"}, {"lie_step", "0"},
		{"wedge_points", "-10"},
		{"wedge_points", "+20"}, {"wedge_points", "20.1"}, {"wedge_points", "-10.1"}, {"wedge_points", "x"}, {"raw", "41in"}, {"raw", "1.4m"},
		{"raw", "1.5m"}, {"raw", "0.59m"}, {"tip_step", "12mm"}, {"tip_step", "-30mm"}, {"tip_step", "31mm"}, {"own", "yes"}, {"metal", "cast"},
		{"bend", "2deg"}, {"bend", "11deg"}, {"unhit", "yes"}, {"promised", "soon"}} {
		in := Input{}
		for i := 0; i < len(whole); i += 2 {
			in[whole[i]] = []string{whole[i+1]}
		}
		in["clubs"] = []string{"6-7i pw"}
		in[change[0]] = []string{change[1]}
		d, faults := DraftOrder(in, s.place(minute(s.n)))
		fmt.Fprintf(&s.out, "draft with %s=%s: %s\n", change[0], change[1], compact(d.Placed))
		for _, f := range faults {
			fmt.Fprintf(&s.out, "\t%s %q: %s; %s\n", f.Field, f.Value, f.Reason, f.Hint)
		}
	}
	s.enter("order", append(whole, "unhit", "yes")...)
	s.enter("order", "verdict", v, "clubs", "7i", "unhit", "yes")
	for _, cure := range []string{"24h", "0h", "-1h", "1440h", "1441h", "x"} {
		s.enter("shop", "order", s.number, "state", "curing", "cure", cure, "holder", "f-bench", "waits_for", "epoxy")
	}
	s.enter("shop", "order", s.number, "state", "ready")
	s.enter("shop", "order", "nonsense", "state", "ready")
	s.n += 1440 * 60 // minutes: the epoxy is cured
	s.enter("shop", "order", s.number, "state", "ready")
	s.enter("built", "order", s.number, "row", "7i", "judgement", "passed", "measured", "length=37.5in", "measured", "lie=70deg")
	s.enter("built", "order", s.number, "row", "3i", "judgement", "passed", "measured", "length=37.5in")
	for _, row := range []string{"5i", "6i", "7i", "8i", "9i", "pw"} {
		s.enter("built", "order", s.number, "row", row, "judgement", "rework", "reason", "too upright", "measured", "lie=66deg")
		s.enter("built", "order", s.number, "row", row, "judgement", "passed", "reason", "as asked", "measured", "loft=33deg",
			"measured", "lie=62deg")
	}
	s.enter("shop", "order", s.number, "state", "ready", "promised", "2026-06-20")
	s.enter("shop", "order", s.number, "state", "delivered")
	s.enter("bag", "clubs", "driver 5-7i 56 putter", "carry.7i", "150")
	s.enter("bag", "how", "measured", "bag.7i.loft", "30.2", "bag.6i.loft", "29!", "bag.56.loft", "55?", "gone.5i", "yes")
	s.enter("note", "kind", "pain", "words", "left wrist")
	s.enter("measures", "height", "1.81m", "wrist_floor", "0.86m", "glove", "ML")
	s.enter("check", "verdict", v, "trial", "t-3")
	s.enter("close")
}

// wrongly is what does not fit, is taken back, or is of others.
func (s *story) wrongly() {
	s.add(&event.TrialStarted{Trial: "t-late"}, session("s-none"))
	s.add(&event.FeelNoted{Words: "whose?"})
	s.add(&event.SessionOpened{Player: "p-two", Category: "driver"}, session("s-two"))
	s.add(&event.TrialStarted{Trial: "t-2"}, session("s-two")) // of another session
	s.add(&event.TrialStarted{}, session("s-two"))             // without an id
	s.add(&event.TrialResumed{}, session("s-two"))
	s.add(&event.TrialEnded{}, session("s-two"))
	s.add(&event.TrialEnded{}, session("s-two"))
	s.add(&event.VerdictGiven{Kind: event.VerdictKind_VERDICT_KEEP_GAMER}, session("s-two"))
	s.add(&event.SessionOpened{Player: "p-three", Category: "putter"}, session("s-three"))
	s.add(&event.SessionCorrected{Player: "p-7kq2m", Hand: event.Hand_HAND_LEFT, Bay: "quay"}, session("s-three"))
	s.add(&event.SessionCorrected{Player: "p-x"}, session("s-none"))
	undone := s.add(&event.IntentChanged{Intent: 2}, session("s-three"))
	s.add(undone.Id)
	a := s.add("e-none")
	b := s.add(fmt.Sprintf("e%d", s.n+2))
	s.add(b.Id)
	again := proto.Clone(undone).(*event.VisitEvent)
	again.EffectiveUnixNs--
	s.log.Add(again)
	s.add(&event.SessionOpened{Player: "p-four", Category: "iron"}, session("s-four"))
	s.add(&event.FeelNoted{Words: "to be forgotten"}, session("s-four"))
	gone := proto.Clone(a).(*event.VisitEvent)
	gone.Id, gone.Session, gone.Body = "gone", "s-four", &event.VisitEvent_SessionErased{SessionErased: &event.SessionErased{Player: "p-four"}}
	gone.EffectiveUnixNs, gone.RecordedUnixNs = minute(s.n), minute(s.n)
	s.log.Add(gone)
	s.add("gone")
	later := proto.Clone(undone).(*event.VisitEvent)
	later.Id, later.Contract, later.EffectiveUnixNs = "later", 99, minute(s.n)
	later.LastSeen = &event.Seen{Journal: "j", Seq: 20}
	s.log.Add(later)
}

// tell writes down all that can be asked of the story.
func (s *story) tell() string {
	tl := s.log.Timeline()
	tell := func(format string, args ...any) { fmt.Fprintf(&s.out, format+"\n", args...) }
	for i := range tl.Spans {
		tell("span %d: %s", i, plain(tl.Spans[i].Holding()))
	}
	for _, x := range tl.Sessions {
		tell("session %s hand %v open %v: %s", x.ID, x.Hand, x.Open(), plain(x))
		tell("moved into it: %v; in hand: %v", tl.MovedInto(x), x.InHand() != nil && x.InHand().ID != "")
	}
	tell("overlays: %s\noddities: %s", plain(tl.Overlays), plain(tl.Oddities))
	checks, teller := &Checks{}, &Teller{Timeline: tl, Name: func(id string) string { return "<" + id + ">" }}
	for _, ev := range s.log.All() {
		tell("%s says %s; is of now %v; changes checks %v", ev.Id, teller.Says(ev), OfNow(ev), checks.Add(ev))
	}
	tell("again: %v; abroad %d and %d; trials %v; live %d", checks.Add(s.log.All()[0]), checks.Abroad("north"), checks.Abroad("quay"),
		checks.Trials(), len(checks.Live(s.verdict())))
	for _, of := range []string{"", "s-two"} {
		tell("judged of %q: %s", of, plain(Verdicts(&s.log, of, checks.Trials())))
	}
	for _, o := range tl.Orders() {
		state, since := o.State()
		took, ok := o.Since(event.OrderState_ORDER_READY)
		tell("order %s: %v since %d, holder %q, waits for %q, promised %d, cures until %d, ready after %v %v, 7i %v",
			o.Number(), state, since, o.Holder(), o.WaitsFor(), o.Promised(), o.CureUntil(), took, ok, o.Club("7i") != nil)
		for _, c := range o.Placed.Given.GetClubs() {
			for _, b := range o.Built[c.Name] {
				tell("%s: %s", c.Name, plain(Finishes(c.Build, b.Given.GetBuild())))
			}
		}
	}
	for _, player := range []string{"p-7kq2m", "p-three", "p-four", ""} {
		f := FileOf(player, map[string]*Timeline{"north": tl})
		sizes, at := f.Sizes()
		tell("file of %q: %d seats, pain %s, sizes %s at %d, due %s", player, len(f.Seats), plain(f.Pain()), compact(sizes), at,
			plain(f.Due(checks)))
		for _, o := range f.Owned() {
			tell("owned: %s\ndrifts: %s", plain(o), plain(o.Drifts()))
		}
	}
	for _, seq := range []uint64{1, 10, 11, 20, 21} {
		for _, ago := range []int{0, 5, 9, 10, 11, 30} {
			before, ok := tl.SeenBy("j", seq)
			tell("entry %d of minute %d counts at %d; seen by %d %v", seq, ago, tl.Place("j", seq, minute(ago)), before, ok)
		}
	}
	if last, redo := Last(s.log.Events()), Redoable(s.log.All()); last != nil {
		tell("last %s, comes back %v", last.Id, redo.GetId())
	}
	s.fits()
	less := s.log.Without(map[string]bool{"later": true, "e2": true})
	tell("less: %d of %d, %d sessions", less.Len(), s.log.Len(), len(less.Timeline().Sessions))
	return s.out.String()
}

// fits says of one good event of each kind whether it fits at a few moments, and
// which session it would be of.
func (s *story) fits() {
	good := goodEvents()
	for _, name := range slices.Sorted(maps.Keys(good)) {
		for _, at := range []int64{minute(0), minute(4), minute(11), minute(14), minute(s.n)} {
			for _, of := range []string{"", "s-two", s.sessions()[0]} {
				ev := proto.Clone(good[name]).(*event.VisitEvent)
				ev.EffectiveUnixNs, ev.Session = at, of
				m := s.place(at).Meant(ev)
				f := s.place(at).Fits(ev)
				fmt.Fprintf(&s.out, "%s at %d of %q: meant %s, %s\n", name, (at-nine)/int64(time.Minute), of, nameOf(m), f.GetReason())
			}
		}
	}
}

// A year of a bay, told whole: what its forms are read as, what is folded of it,
// and what orders, files and checks make of that, is kept in testdata/told.txt.
func TestAYearIsToldAsItWas(t *testing.T) {
	s := &story{t: t, number: order.NumberFrom("e1", 0)}
	s.fitting()
	s.ordering()
	s.wrongly()
	golden(t, "told.txt", s.tell())
}
