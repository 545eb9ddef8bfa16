package console

import (
	"bufio"
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/process"
)

func TestEventsAreCompletedAndCarriedToTheLog(t *testing.T) {
	r := newRig(t)
	opened := r.must("north", open("p-017"))
	if opened.Session == "" || opened.Visit == "" || opened.ID == "" || opened.Seq != 1 || opened.Journal == "" {
		t.Fatalf("answer %+v", opened)
	}
	trial := r.must("north", start("own 7", true))
	shot := r.hit("north", 150, 2)
	r.until("the shot counts in the trial", func() bool {
		s := r.state("north")
		return len(s.Shots) == 1 && s.Shots[0].ID == shot && s.Shots[0].Trial == trial.Trial && s.Shots[0].Status == "counts"
	})
	r.mu.Lock()
	defer r.mu.Unlock()
	ev := r.events["north"].Event(trial.ID)
	if ev == nil || ev.Session != opened.Session || ev.Visit != opened.Visit || ev.Studio != testStudio || ev.Bay != "north" ||
		ev.Contract != 1 ||
		ev.RecordedUnixNs == 0 || ev.EffectiveUnixNs != trial.Effective || ev.Journal != trial.Journal || ev.Seq != trial.Seq {
		t.Errorf("in the log: %v", ev)
	}
}

func TestTheSameIDTwiceWritesNothing(t *testing.T) {
	r := newRig(t)
	first := open("p-017")
	first.Id = "one"
	a := r.must("north", first)
	if b := r.must("north", first); b != a {
		t.Errorf("again: %+v, first %+v", b, a)
	}
	other := open("p-018")
	other.Id = "one"
	if code, _, p := r.post("north", other); code != http.StatusUnprocessableEntity || p.Faults[0].Field != "id" {
		t.Errorf("other content under the same id: %d %+v", code, p)
	}
	if code, _, _ := r.post("south", first); code != http.StatusUnprocessableEntity {
		t.Errorf("the same id in another bay: %d", code)
	}
	trial := start("own 7", true)
	trial.Id = "two"
	b := r.must("north", trial)
	broker := r.nc.ConnectedUrl()
	r.stop()
	r.start(broker) // what was taken is known again from the journal
	if again := r.must("north", trial); again != b {
		t.Errorf("after a restart: %+v, before %+v", again, b)
	}
	if c := r.must("north", start("next", false)); c.Seq != b.Seq+1 {
		t.Errorf("next seq %d after %d", c.Seq, b.Seq)
	}
}

func TestRefusals(t *testing.T) {
	r := newRig(t)
	code, _, p := r.post("nowhere", open("p"))
	if code != http.StatusNotFound || len(p.Bays) != 2 {
		t.Errorf("unknown bay: %d %+v", code, p)
	}
	for name, c := range map[string]struct {
		ev    *event.VisitEvent
		field string
	}{
		"no player":        {open(""), "player"},
		"no session":       {start("a", false), "session"},
		"pause of nothing": {&event.VisitEvent{Body: &event.VisitEvent_TrialPaused{}}, "session"},
		"unknown trial": {&event.VisitEvent{Body: &event.VisitEvent_ShotsMoved{ShotsMoved: &event.ShotsMoved{ShotIds: [][]byte{make([]byte,
			16)}, Trial: "x"}}}, "trial"},
		"unknown event": {&event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: "x"}}}, "event"},
		"no body":       {&event.VisitEvent{}, "body"},
	} {
		code, _, p := r.post("north", c.ev)
		if code != http.StatusUnprocessableEntity || len(p.Faults) == 0 || p.Faults[0].Field != c.field || p.Faults[0].Hint == "" {
			t.Errorf("%s: %d %+v", name, code, p)
		}
	}
	if code, text := r.raw("POST", "/api/bays/north/events", []byte("{no")); code != http.StatusUnprocessableEntity {
		t.Errorf("broken JSON: %d %s", code, text)
	}
	if code, text := r.raw("POST", "/api/bays/north/events",
		[]byte(strings.Repeat("x", mostBody+1))); code != http.StatusRequestEntityTooLarge {
		t.Errorf("too long: %d %s", code, text)
	}
	if got := len(r.state("north").Trials); got != 0 {
		t.Errorf("%d trials after refusals", got)
	}
}

func TestOtherSitesCantWrite(t *testing.T) {
	r := newRig(t)
	request, _ := http.NewRequest("POST", r.url+"/bays/north/open", strings.NewReader("player=p&hand=right&category=iron"))
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Sec-Fetch-Site", "cross-site")
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	http.DefaultClient.CloseIdleConnections()
	if answer.StatusCode != http.StatusForbidden {
		t.Errorf("answered %s", answer.Status)
	}
}

func TestCorrectingTheBayCarriesTheSessionOver(t *testing.T) {
	r := newRig(t)
	opened := r.must("north", open("p-017"))
	trial := r.must("north", start("own 7", true))
	voided := r.must("north", start("slip", false))
	r.must("north", &event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: voided.ID}}})
	shot := r.hit("south", 150, 2) // it was hit there
	correct := func(bay, to string) Answer {
		return r.must(bay, &event.VisitEvent{Session: opened.Session,
			Body: &event.VisitEvent_SessionCorrected{SessionCorrected: &event.SessionCorrected{Bay: to}}})
	}
	correct("north", "south")
	r.until("the session is in the other bay", func() bool {
		s := r.state("south")
		return s.Session != nil && s.Session.ID == opened.Session && len(s.Trials) == 1 && s.Trials[0].ID == trial.Trial && s.Trials[0].N == 1
	})
	if s := r.state("south"); s.Shots[0].ID != shot {
		t.Errorf("shots %+v", s.Shots)
	}
	r.until("and no longer in the first", func() bool { return r.state("north").Session == nil })
	late := r.must("south", start("late", false))
	correct("south", "north")
	r.until("back, with what was said meanwhile", func() bool {
		s := r.state("north")
		return s.Session != nil && len(s.Trials) == 2 && s.Trials[1].ID == late.Trial && r.state("south").Session == nil
	})
	r.must("south", open("p-1"))
	if code, _, p := r.post("north", &event.VisitEvent{Session: opened.Session,
		Body: &event.VisitEvent_SessionCorrected{
			SessionCorrected: &event.SessionCorrected{Bay: "south"},
		}}); code != http.StatusUnprocessableEntity {
		t.Errorf("two sessions at once: %d %+v", code, p)
	}
}

func TestLiveStatesArePushed(t *testing.T) {
	r := newRig(t)
	r.must("north", open("p-017"))
	r.must("north", start("own 7", true))
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	request, _ := http.NewRequestWithContext(ctx, "GET", r.url+"/api/bays/north/live", nil)
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	lines := make(chan string, 1000)
	go func() {
		defer close(lines)
		scanner := bufio.NewScanner(answer.Body)
		scanner.Buffer(nil, 1<<22)
		for scanner.Scan() {
			lines <- scanner.Text()
		}
	}()
	id := r.hit("north", 150, 2)
	limit := time.After(20 * time.Second)
	for {
		select {
		case line := <-lines:
			if strings.HasPrefix(line, "data: ") && strings.Contains(line, id) {
				cancel()
				for range lines {
				}
				http.DefaultClient.CloseIdleConnections()
				return
			}
		case <-limit:
			t.Fatal("the shot never came")
		}
	}
}

func TestTheConsoleSpeaksForItsJournal(t *testing.T) {
	r := newRig(t)
	a := r.must("north", open("p-017"))
	place := stream.Place{Studio: testStudio, Bay: process.ConsoleBay}
	m, err := r.nc.Request(place.AskSubject(), nil, 10*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	var h event.Heartbeat
	if err := proto.Unmarshal(m.Data, &h); err != nil {
		t.Fatal(err)
	}
	if len(h.Journals) != 1 || h.Journals[0].Journal != a.Journal || h.Journals[0].Last != 1 {
		t.Errorf("heartbeat %v", &h)
	}
	request, _ := proto.Marshal(&event.RepairRequest{Journal: a.Journal, Ranges: []*event.Range{{From: 1, To: 1}}, Nonce: "n"})
	m, err = r.nc.Request(place.RepairSubject(), request, 10*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	var reply event.RepairReply
	if err := proto.Unmarshal(m.Data, &reply); err != nil || reply.Sent != 1 || reply.Error != "" {
		t.Errorf("repair: %v %v", &reply, err)
	}
}

func TestNames(t *testing.T) {
	r := newRig(t)
	code, text := r.raw("POST", "/api/people", []byte(`{"role":"player","name":"Ada Quill","hand":"left"}`))
	if code != http.StatusOK || !strings.Contains(string(text), `"id":"p-`) {
		t.Fatalf("%d %s", code, text)
	}
	if code, text := r.raw("POST", "/api/people", []byte(`{"role":"cat","name":"x"}`)); code != http.StatusUnprocessableEntity {
		t.Errorf("%d %s", code, text)
	}
	if _, page := r.raw("GET", "/people", nil); !strings.Contains(string(page), "Ada Quill") {
		t.Error("the page does not show the name")
	}
	id := strings.Split(strings.Split(string(text), `"id":"`)[1], `"`)[0]
	if code, text := r.raw("DELETE", "/api/people/"+id, nil); code != http.StatusConflict || !strings.Contains(string(text), "no erasure") {
		t.Errorf("erase unasked: %d %s", code, text)
	}
	if code, text := r.raw("POST", "/api/erasures", []byte(`{"player":"`+id+`","name":"Ada"}`)); code != http.StatusUnprocessableEntity ||
		!strings.Contains(string(text), "as it stands on file") {
		t.Errorf("half a name: %d %s", code, text)
	}
	if code, text := r.raw("POST", "/api/erasures", []byte(`{"player":"`+id+`","name":"ada  quill"}`)); code != http.StatusOK {
		t.Errorf("ask: %d %s", code, text)
	}
	if code, _ := r.raw("DELETE", "/api/people/"+id, nil); code != http.StatusOK {
		t.Errorf("erase: %d", code)
	}
	if code, _ := r.raw("DELETE", "/api/people/"+id, nil); code != http.StatusNotFound {
		t.Errorf("erase again: %d", code)
	}
}

// Two devices' lines that were taken as one hit say so, and can be taken apart,
// and that be undone.
func TestAPairIsSeenAndTakenApart(t *testing.T) {
	r := newRig(t)
	r.must("north", open("p-017"))
	r.must("north", start("own", true))
	ball := r.hit("north", 151, -3)
	page := func() string {
		_, text := r.raw("GET", "/bays/north", nil)
		return string(text)
	}
	r.until("one hit of one device", func() bool { return strings.Count(page(), `name="shot"`) == 1 })
	if strings.Contains(page(), "tap-unpair") {
		t.Error("without a pair there is nothing to take apart")
	}
	r.seen("north", "camera")
	joined := func() bool {
		p := page()
		return strings.Count(p, `name="shot"`) == 1 && strings.Contains(p, "seen by radar and camera") && strings.Contains(p, "tap-unpair")
	}
	r.until("the pair", joined)
	if code, text := r.form("north", "unpair", "shot="+ball); code != http.StatusOK {
		t.Fatalf("%d %s", code, text)
	}
	r.until("two hits", func() bool { return strings.Count(page(), `name="shot"`) == 2 && !strings.Contains(page(), "seen by") })
	said := r.log("north")
	if code, text := r.form("north", "undo", "event="+said[len(said)-1].Id); code != http.StatusOK {
		t.Fatalf("%d %s", code, text)
	}
	r.until("the pair again", joined)
}

func TestAFullDiskIsSaidAndWritesNothing(t *testing.T) {
	r := newRig(t)
	broker := r.nc.ConnectedUrl()
	r.stop()
	r.minFree = 1 << 60
	r.start(broker)
	if code, _, p := r.post("north", open("p-017")); code != http.StatusServiceUnavailable || !strings.Contains(p.Error, "full") {
		t.Errorf("%d %+v", code, p)
	}
	r.stop()
	r.minFree = 0
	r.start(broker)
	if a := r.must("north", open("p-017")); a.Seq != 1 {
		t.Errorf("seq %d after a refusal", a.Seq)
	}
}
