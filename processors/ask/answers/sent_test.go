package answers

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/log/authority"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store"
)

// headOffice has a studio take what a head office's fleet says: the answer that more
// players stand behind is used as it is, with nothing of the studio's own answer beside
// it; of a visit that had begun it is none; what a program of another release gave,
// what doesn't hold together and what nobody signed is refused in words.
func headOffice(t *testing.T, head *Fleet, asked *Stored, from, to *event.Build) {
	db := enginetest.New(t)
	own := store.New(db.Open(t))
	if err := own.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	now := time.Now()
	studio := New(own, Options{Now: func() time.Time { return now }})
	a, err := authority.Ensure(t.TempDir(), "head", nil, now)
	if err != nil {
		t.Fatal(err)
	}
	stranger, err := authority.Ensure(t.TempDir(), "head", nil, now)
	if err != nil {
		t.Fatal(err)
	}
	g := NewGiver(head, "head", a.Sign)
	offers, err := g.Offers(t.Context())
	if err != nil || len(offers) == 0 {
		t.Fatal(offers, err)
	}
	sealed, err := g.Give(t.Context(), asked.ID)
	if err != nil {
		t.Fatal(err)
	}
	for _, word := range []string{"studio-", "\"player\"", "harbour"} {
		if strings.Contains(string(sealed.Text), word) {
			t.Errorf("what is given to studios holds %q", word)
		}
	}
	o := FetchOptions{Signed: func(text, sign []byte) (string, error) { return authority.Signed(a.PEM(), text, sign) }}
	offer := Offer{ID: asked.ID}
	refused := func(what string, s Sealed, word string) {
		t.Helper()
		var unfit *UnfitError
		if err := studio.take(t.Context(), o, offer, s); !errors.As(err, &unfit) || !strings.Contains(err.Error(), word) {
			t.Errorf("%s: %v", what, err)
		}
	}
	changed := func(change func(s *Sent)) Sealed {
		s := &Sent{}
		if err := json.Unmarshal(sealed.Text, s); err != nil {
			t.Fatal(err)
		}
		change(s)
		text, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		sign, err := a.Sign(text)
		if err != nil {
			t.Fatal(err)
		}
		return Sealed{text, sign}
	}
	other, _ := stranger.Sign(sealed.Text)
	refused("another authority", Sealed{sealed.Text, other}, "not believed")
	refused("nobody", Sealed{Text: sealed.Text}, "not believed")
	refused("changed on the way", Sealed{append([]byte(" "), sealed.Text...), sealed.Sign}, "not believed")
	refused("a newer format", changed(func(s *Sent) { s.Format++ }), "format 2")
	refused("another model", changed(func(s *Sent) { s.Answer.Model = "fleet-99" }), "fleet-99")
	refused("flights of another model", changed(func(s *Sent) { s.Answer.Mark.Flight = "flight-0" }), "flight-0")
	refused("flights of nobody knows which model", changed(func(s *Sent) { s.Answer.Mark.Flight = "" }), "flights in")
	refused("other units", changed(func(s *Sent) { s.Scale = strings.Replace(s.Scale, " in m", " in yd", 1) }), "other units")
	refused("another answer", changed(func(s *Sent) { s.Answer.ID = "x" }), "gave answer x")
	refused("a coefficient too few", changed(func(s *Sent) { s.Answer.Answer.Prior.Beta = s.Answer.Answer.Prior.Beta[1:] }), "other lengths")
	refused("a covariance of another form", changed(func(s *Sent) {
		s.Answer.Answer.Prior.Cov = s.Answer.Answer.Prior.Cov[1:]
	}), "other lengths")
	refused("a trait that nobody knows", changed(func(s *Sent) { s.Answer.Answer.Design.Traits[0] = "mood" }), "traits")
	refused("a column less", changed(func(s *Sent) { s.Answer.Answer.Design.Curved = nil; s.Answer.Answer.Design.Order = false }), "columns")
	refused("a wander beyond all", changed(func(s *Sent) {
		s.Answer.Wanders = []Wander{{Outcome: "carry", Share: 40, Players: 90}}
	}), "a wander")
	refused("too few players", changed(func(s *Sent) { s.Answer.Players = 3 }), "3 players")
	refused("another question", changed(func(s *Sent) { s.Answer.Question.Filter.Category = "iron" }), "question")
	if ids, err := studio.havePriors(t.Context()); err != nil || len(ids) > 0 {
		t.Fatal("something refused was kept: ", ids, err)
	}

	began := now.Add(-time.Second)
	learnt, err := head.wandered(t.Context(), "driver", now)
	if err != nil {
		t.Fatal(err)
	}
	sent := &Sent{}
	if err := json.Unmarshal(sealed.Text, sent); err != nil ||
		(asked.Question.Outcome == wanderWith && !slices.Equal(sent.Answer.Wanders, learnt)) {
		t.Errorf("sent of wander %v, learnt %v, %v", sent.Answer.Wanders, learnt, err)
	}
	// What the head office's players who came back to a club showed, of more than the studio's.
	shown := Wander{Outcome: "carry", Share: 2 * leastWander, Players: 10_000}
	if err := studio.take(t.Context(), o, offer, changed(func(s *Sent) { s.Answer.Wanders = []Wander{shown} })); err != nil {
		t.Fatal(err)
	}
	_, err = studio.Prior(t.Context(), "", "driver", from, to, began)
	var none *NoPriorError
	if !errors.As(err, &none) {
		t.Errorf("a visit that began before it was here: %v", err)
	}
	want, err := head.Prior(t.Context(), "", "driver", from, to, now.Add(time.Minute))
	if err != nil {
		t.Fatal(err)
	}
	got, err := studio.Prior(t.Context(), "", "driver", from, to, now.Add(time.Minute))
	if err != nil {
		t.Fatal(err)
	}
	name := glossary.Carry
	if w := got.Wanders; asked.Question.Outcome == wanderWith && (len(w) != 1 || w[0].Share != shown.Share || w[0].Players != shown.Players) {
		t.Errorf("of wander %v is taken, want the head office's", w)
	}
	x, y := priorNamed(got, name), priorNamed(want, name)
	if x == nil || y == nil || x.Mean != y.Mean || x.Sd != y.Sd || x.Office != "head" || x.Studios != asked.Studios || x.Studios < 2 ||
		x.Players != asked.Players || x.Answer != asked.ID {
		t.Errorf("taken %v, at the head office %v", x, y)
	}
	// The studio's own answer of fewer players is not weighed beside it, and one of more
	// is used as it is.
	for _, players := range []uint64{asked.Players - 1, asked.Players + 1} {
		mine := *asked
		mine.ID, mine.Players = "own", players
		mine.Mark.Inserted, mine.Mark.Snapshot = now.Add(-time.Hour), uint64(now.Add(-time.Hour).UnixMilli())
		mine.Mark.Made, mine.Asked = now.Add(-time.Hour), now
		if err := studio.keep(t.Context(), &mine); err != nil {
			t.Fatal(err)
		}
		got, err := studio.Prior(t.Context(), "", "driver", from, to, now.Add(time.Minute))
		if err != nil {
			t.Fatal(err)
		}
		z := priorNamed(got, name)
		if theirs := players < asked.Players; (z.Office == "head") != theirs || z.Sd != y.Sd || z.Mean != y.Mean {
			t.Errorf("with %d players of the studio's own: %v", players, z)
		}
		now = now.Add(time.Second)
		told, err := studio.PriorsInUse(t.Context())
		if err != nil || len(told.Lines) != 1 || (told.Lines[0].Office == "head") != (players < asked.Players) || told.Lines[0].Own != players ||
			told.Lines[0].Theirs != asked.Players {
			t.Errorf("told %+v, %v", told, err)
		}
		var text strings.Builder
		if err := told.WriteText(&text); err != nil || !strings.Contains(text.String(), "carry") {
			t.Error(text.String(), err)
		}
	}
	if s, err := studio.Answer(t.Context(), asked.ID); err != nil || s.HeadOffice == nil || s.HeadOffice.Signed != a.Fingerprint() {
		t.Errorf("the answer is not to be had by its id: %+v, %v", s, err)
	}
	if s, err := studio.Answer(t.Context(), asked.ID); err == nil {
		if _, err := s.Answer.Effects(fleet.Person{}); err != nil {
			t.Error(err)
		}
	}
	if _, err := NewGiver(studio, "studio", nil).Give(t.Context(), asked.ID); !errors.Is(err, ErrNoAnswer) {
		t.Errorf("a studio gives on what it was given: %v", err)
	}
}
