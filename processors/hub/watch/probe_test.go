package watch

import (
	"context"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// A process may be gone, say that it does not get on, or take the question and
// never answer, as one does that is stopped.
func TestProcessesThatDoNotGetOn(t *testing.T) {
	answers := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {}))
	defer answers.Close()
	sick := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		http.Error(w, "bay north stands still", http.StatusServiceUnavailable)
	}))
	defer sick.Close()
	hung, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer hung.Close()
	at := func(url string) Probe { return Healthz(http.DefaultClient, func() string { return url }) }
	now := time.Now()
	p := &Prober{Now: func() time.Time { return now }, Probes: map[string]Probe{
		Engine: at(answers.URL), Process: at(sick.URL), Broker: at("http://" + hung.Addr().String()), Console: at(""),
	}}
	if first := p.Look(t.Context()); len(first) != 0 {
		t.Errorf("at once: %+v", first)
	}
	now = now.Add(failsFor)
	found := map[string]string{}
	for _, a := range p.Look(t.Context()) {
		found[a.Where] = a.Text
	}
	for where, word := range map[string]string{Process: "bay north stands still", Broker: "does not answer within",
		Console: "has not said where"} {
		if !strings.Contains(found[where], word) {
			t.Errorf("%s: %q, want %q", where, found[where], word)
		}
	}
	if len(found) != 3 {
		t.Errorf("found %v", found)
	}
	p.Probes[Process], p.Probes[Broker], p.Probes[Console] = at(answers.URL), at(answers.URL), func(context.Context) error { return nil }
	if again := p.Look(t.Context()); len(again) != 0 {
		t.Errorf("well again: %+v", again)
	}
}

func TestNewLivesAreNoticed(t *testing.T) {
	var l Lives
	now := time.Now()
	step := func(broker int, after time.Duration) []Alarm {
		now = now.Add(after)
		return l.Look(map[string]int{Broker: broker, Engine: 2}, now)
	}
	if a := step(3, 0); len(a) != 0 {
		t.Errorf("lives before the first look: %+v", a)
	}
	if a := step(4, time.Minute); len(a) != 1 || a[0].Where != Broker || a[0].Severity != Warning || !strings.Contains(a[0].Text, "once") {
		t.Errorf("one new life: %+v", a)
	}
	if a := step(10, time.Minute); len(a) != 1 || a[0].Severity != Critical || !strings.Contains(a[0].Text, "7 times") {
		t.Errorf("six more: %+v", a)
	}
	if a := step(10, livesFor+time.Second); len(a) != 0 {
		t.Errorf("long ago: %+v", a)
	}
	if a := step(0, time.Minute); len(a) != 0 {
		t.Errorf("counted anew: %+v", a)
	}
	if a := step(1, time.Minute); len(a) != 1 {
		t.Errorf("after that: %+v", a)
	}
	step(1, livesFor+time.Second)
	fails := true
	l.Fails = func(process string) bool { return fails && process == Broker }
	if a := step(2, time.Second); len(a) != 0 {
		t.Errorf("of one that does not answer yet: %+v", a)
	}
	fails = false
	if a := step(2, time.Second); len(a) != 1 || !strings.Contains(a[0].Text, "once") {
		t.Errorf("now it does: %+v", a)
	}
	fails = true
	if a := step(3, time.Second); len(a) != 1 || !strings.Contains(a[0].Text, "2 times") {
		t.Errorf("what was told of is not over: %+v", a)
	}
}
