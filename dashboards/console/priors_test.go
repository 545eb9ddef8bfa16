package console

import (
	"fmt"
	"math"
	"math/rand/v2"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/evidence"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store"
	"fairlead/processors/sim"
	"fairlead/processors/visit/rolling"
)

// carry is the statement on carry of a bay's first comparison; nil: none yet.
func carry(s rolling.State) *rolling.Weighed {
	if len(s.Comparisons) == 0 {
		return nil
	}
	for i := range s.Comparisons[0].Outcomes {
		if o := &s.Comparisons[0].Outcomes[i]; o.Name == "carry" && !s.Comparisons[0].Stale && s.Pending == 0 {
			return o
		}
	}
	return nil
}

func (r *rig) page(bay string) string {
	r.t.Helper()
	code, text := r.raw("GET", "/bays/"+bay, nil)
	if code != 200 {
		r.t.Fatalf("%d %s", code, text)
	}
	return string(text)
}

func driverOpen(player string) *event.VisitEvent {
	ev := open(player)
	ev.GetSessionOpened().Category = "driver"
	return ev
}

// specs are a build's known parts.
func specs(a [fleet.AttributeCount]float64) (out []*event.Spec) {
	for i, part := range []event.BuildField{event.BuildField_BUILD_LENGTH, event.BuildField_BUILD_LOFT, event.BuildField_BUILD_LIE,
		event.BuildField_BUILD_SHAFT_WEIGHT} {
		if !math.IsNaN(a[i]) {
			out = append(out, &event.Spec{Field: part, Number: a[i]})
		}
	}
	return out
}

// From planted truth to the fitter's page: a fleet is asked at night, a player
// of it comes back, and what the fleet expects of the change of build is weighed
// in the live state, named, and kept with the verdict. Of a player whom
// nobody measured it expects what builds do to players as they come, and says so.
func TestThePriorReachesThePage(t *testing.T) {
	db := enginetest.New(t)
	s := store.New(db.Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	made, err := sim.NewFleet(sim.FleetOptions{Players: 150, Seed: 9, Shots: 10, PerStudio: 150})
	if err != nil {
		t.Fatal(err)
	}
	to, err := store.OpenBlocks(db.DSN())
	if err != nil {
		t.Fatal(err)
	}
	defer to.Close()
	if _, err := made.Write(t.Context(), to, nil); err != nil {
		t.Fatal(err)
	}
	asked := answers.New(s, answers.Options{})
	if _, err := asked.Nightly(t.Context()); err != nil {
		t.Fatal(err)
	}
	night, err := asked.Newest(t.Context(), answers.Question{Outcome: "carry", Filter: answers.Filter{Category: "driver"}})
	if err != nil || night.Answer == nil {
		t.Fatal(err, night)
	}
	var player string
	if err := s.Conn().QueryRow(t.Context(), "SELECT min(player) FROM profiles WHERE category = 'driver'").Scan(&player); err != nil {
		t.Fatal(err)
	}
	known, err := asked.Player(t.Context(), player, "driver")
	if err != nil {
		t.Fatal(err)
	}
	r := newRigWith(t, func() *answers.Fleet { return asked }, s)
	visit := r.must("north", driverOpen(player))
	own := [fleet.AttributeCount]float64{1.143, 10.5, 58, 0.060}
	for i, x := range known.Incumbent[:4] {
		if !math.IsNaN(x) {
			own[i] = x
		}
	}
	lighter := own
	lighter[fleet.ShaftWeight] -= 0.012
	base := r.must("north", start("own", true, specs(own)...))
	rng := rand.New(rand.NewPCG(1, 2))
	hit := func(bay string, n int, carry float64) {
		for range n {
			r.hit(bay, carry+4*rng.NormFloat64(), 5*rng.NormFloat64())
		}
	}
	hit("north", 12, 205)
	r.until("the own club is hit", func() bool { s := r.state("north").Session; return s != nil && s.N == 12 })
	r.must("north", start("lighter", false, specs(lighter)...))
	r.until("what the fleet expects is written down", func() bool { return len(r.priors("north")) == 1 })
	hit("north", 10, 207)
	r.until("carry is weighed with the fleet's word",
		func() bool { o := carry(r.state("north")); return o != nil && !o.NotYet && o.NCandidate == 8 })

	got := carry(r.state("north"))
	p := got.Prior
	if !p.Fleet() || p.Answer != night.ID || p.Players != night.Players || p.Without == nil || p.Mark > visit.Effective ||
		p.Profile > visit.Effective {
		t.Fatalf("the prior is not named: %+v; the night's answer is %s", p, night.ID)
	}
	taken, err := asked.Prior(t.Context(), player, "driver", &event.Build{Specs: specs(own)}, &event.Build{Specs: specs(lighter)},
		time.Unix(0, visit.Effective))
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range taken.Priors {
		if x.Outcome == "carry" && (x.Mean != p.Mean || x.Sd != p.SD) {
			t.Errorf("weighed with %g ± %g, the fleet says %g ± %g", p.Mean, p.SD, x.Mean, x.Sd)
		}
	}
	// The statement moves from that of the shots alone toward what the fleet
	// expects, or stays, and gets surer.
	if (got.Change-p.Without.Change)*(p.Mean-p.Without.Change) < 0 || !p.Disagrees && got.High-got.Low >= p.Without.High-p.Without.Low {
		t.Errorf("%.2f (%.2f to %.2f), without the fleet %.2f (%.2f to %.2f), the fleet expects %.2f ± %.2f", got.Change, got.Low, got.High,
			p.Without.Change, p.Without.Low, p.Without.High, p.Mean, p.SD)
	}
	t.Logf("%s: %+.2f m, without the fleet %+.2f m", p.Text, got.Change, p.Without.Change)
	page := r.page("north")
	for _, words := range []string{fmt.Sprintf("What the fleet expects: %d players", night.Players), "Without the fleet:", "the fleet expects",
		night.ID} {
		if !strings.Contains(page, words) {
			t.Errorf("the page does not say %q", words)
		}
	}
	if strings.Contains(page, "expects of a build taken down") {
		t.Error("what the console wrote by itself stands among what the fitter entered")
	}

	// A verdict keeps what it was made with: the shots' own evidence and the
	// frozen prior give the promise again.
	given := "verdict=build&trial=" + r.state("north").Trials[1].ID
	if code, text := r.form("north", "verdict", given); code != 200 {
		t.Fatalf("%d %s", code, text)
	}
	var promise *event.Promise
	for _, ev := range r.log("north") {
		for _, x := range ev.GetVerdictGiven().GetPromises() {
			if x.Outcome == "carry" {
				promise = x
			}
		}
	}
	if promise == nil || promise.Prior == nil || promise.Prior.Answer != night.ID || promise.Prior.Mean != p.Mean ||
		promise.Prior.Sd != p.SD || promise.PriorHeld != p.Held {
		t.Fatalf("the verdict promises %v", promise)
	}
	// It is in the store, too, with the verdict's event.
	r.until("the verdict is stored with its prior", func() bool {
		var n uint64
		err := s.Conn().QueryRow(t.Context(), "SELECT count() FROM visit_events WHERE kind = 'verdict_given' AND position(body, '"+night.ID+
			"') > 0").Scan(&n)
		return err == nil && n > 0
	})
	if base.Trial == "" {
		t.Error("no baseline")
	}

	// Nobody measured this player before.
	r.must("south", driverOpen("p-new"))
	r.must("south", start("own", true, specs(own)...))
	hit("south", 10, 205)
	r.until("the own club is hit", func() bool { s := r.state("south").Session; return s != nil && s.N == 10 })
	r.must("south", start("lighter", false, specs(lighter)...))
	hit("south", 8, 207)
	r.until("carry is weighed", func() bool { o := carry(r.state("south")); return o != nil && !o.NotYet && o.NCandidate == 6 })
	weak := evidence.WeakPrior("driver", glossary.Carry)
	r.until("the fleet's word of players as they come is weighed", func() bool {
		o := carry(r.state("south"))
		return o != nil && o.Prior.Fleet() && !o.Prior.Swing() && o.Prior.Answer == night.ID && o.Prior.SD < weak.SD
	})
	r.until("the page says whose word it is", func() bool {
		return strings.Contains(r.page("south"), "for players as they come, since this player’s swing was not measured before this visit")
	})
	if len(r.priors("south")) != 1 {
		t.Error("what was weighed is not written down once")
	}
	askedBack(t, r, asked, player)
}

// priors are the events in which the console wrote down what a fleet expects.
func (r *rig) priors(bay string) (out []*event.PriorTaken) {
	for _, ev := range r.log(bay) {
		if p := ev.GetPriorTaken(); p != nil {
			out = append(out, p)
		}
	}
	return out
}

// A store that takes connections and never answers: shots show as always, the
// weak default holds, and the page says that the fleet can't be asked.
func TestAFleetThatNeverAnswersDelaysNothing(t *testing.T) {
	silent, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer silent.Close()
	reached := make(chan struct{}, 64)
	go func() {
		for {
			c, err := silent.Accept()
			if err != nil {
				return
			}
			defer c.Close()
			reached <- struct{}{}
		}
	}()
	for what, address := range map[string]string{"silent": silent.Addr().String(), "gone": "127.0.0.1:1"} {
		t.Run(what, func(t *testing.T) {
			conn, err := clickhouse.Open(&clickhouse.Options{Addr: []string{address}, DialTimeout: time.Second, ReadTimeout: 2 * time.Second})
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			away := answers.New(store.New(conn), answers.Options{})
			r := newRigWith(t, func() *answers.Fleet { return away }, nil)
			r.must("north", open("p-1"))
			r.must("north", start("own", true, &event.Spec{Field: event.BuildField_BUILD_LOFT, Number: 31}))
			for i := range 8 {
				r.hit("north", 150-float64(i), float64(i%3))
			}
			r.must("north", start("weaker", false, &event.Spec{Field: event.BuildField_BUILD_LOFT, Number: 33}))
			if what == "silent" {
				<-reached // the question is under way
			}
			for i := range 6 {
				id := r.hit("north", 150+float64(i), 1-float64(i))
				r.until("the shot is there", func() bool { return strings.Contains(r.page("north"), id) })
			}
			r.until("the page says that the fleet can't be asked", func() bool {
				return strings.Contains(r.page("north"), "Nothing was known of it beforehand: the fleet can")
			})
			if n := len(r.priors("north")); n != 0 {
				t.Errorf("%d priors from nowhere", n)
			}
		})
	}
}

// askedBack keeps an answer that says whom a step would help, and looks whether they are
// asked back for it who were not here since.
func askedBack(t *testing.T, r *rig, f *answers.Fleet, player string) {
	t.Helper()
	keep := func(id string, chance float64, asked time.Time) {
		t.Helper()
		body := fmt.Sprintf(`{"id":%q,"enquiry":{"kind":"whom","filter":{}},"title":"Whom, driver, carry, a shaft 10 g lighter",`+
			`"columns":[{"name":"player"},{"name":"studio"},{"name":"chance"}],"rows":[[%q,%q,%g],["p-else","elsewhere",0.99]],"asked":%q}`,
			id, player, testStudio, chance, asked.Format(time.RFC3339Nano))
		if err := f.KeepOther(t.Context(), answers.Other{ID: id, Kind: "enquiry", Hash: id, Asked: asked, Body: []byte(body)}); err != nil {
			t.Fatal(err)
		}
	}
	r.must("north", &event.VisitEvent{Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}})
	list := func() string {
		_, text := r.raw("GET", "/players/due.csv?what=news+of+the+fleet", nil)
		return string(text)
	}
	keep("unsure", 0.8, time.Now().Add(time.Minute))
	keep("early", 0.95, time.Now().Add(-time.Hour))
	if text := list(); strings.Contains(text, player) {
		t.Errorf("asked back for what nobody is sure of, or was known: %s", text)
	}
	keep("news", 0.95, time.Now().Add(time.Minute))
	if text := list(); !strings.Contains(text, player) || !strings.Contains(text, "a shaft 10 g lighter (a gain with 95 %)") ||
		strings.Contains(text, "p-else") {
		t.Errorf("whom the news would help: %s", text)
	}
	if _, page := r.raw("GET", "/players/due", nil); !strings.Contains(string(page), "a shaft 10 g lighter") {
		t.Error("the page does not say it")
	}
}
