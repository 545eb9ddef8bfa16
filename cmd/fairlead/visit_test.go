package main

import (
	"bytes"
	"context"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/encoding/protojson"

	"fairlead/dashboards/console"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/visit"
)

// visitConsole runs a console whose broker is away: what is entered must be
// taken all the same.
func visitConsole(t *testing.T) (address string) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	ready, done := make(chan string, 1), make(chan error, 1)
	dir := t.TempDir()
	go func() {
		done <- console.Run(ctx, console.Options{
			Studio: "harbour-row", Bays: []string{"north", "south"}, Listen: "127.0.0.1:0", JournalDir: filepath.Join(dir, "visits"),
			PeopleFile: filepath.Join(dir, "people.json"), Link: stream.Link{URL: "nats://127.0.0.1:1", Name: "console"},
			Registry: prometheus.NewRegistry(), Ready: func(a string) { ready <- a },
		})
	}()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	select {
	case address = <-ready:
	case err := <-done:
		done <- nil
		t.Fatal(err)
	}
	return address
}

// visit runs one visit command against a console.
func visitRun(t *testing.T, address string, args ...string) (code int, out, errs string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code = run(t.Context(), append([]string{"visit", "--console", address}, args...), strings.NewReader(""), &stdout, &stderr)
	return code, stdout.String(), stderr.String()
}

func TestAVisitByCommands(t *testing.T) {
	address := visitConsole(t)
	answers := map[string]struct{ ID, Session, Trial string }{}
	do := func(name string, args ...string) {
		t.Helper()
		code, out, errs := visitRun(t, address, append(args, "--bay", "north", "--json")...)
		if code != 0 {
			t.Fatalf("%v: exit %d: %s", args, code, errs)
		}
		var a struct{ ID, Session, Trial string }
		if err := json.Unmarshal([]byte(out), &a); err != nil || a.ID == "" {
			t.Fatalf("%v: %q %v", args, out, err)
		}
		answers[name] = a
	}
	const shot = "00112233-4455-6677-8899-aabbccddeeff"
	do("open", "open", "--player", "p-017", "--hand", "right", "--category", "iron", "--aim", "higher")
	do("setting", "setting", "--place", "indoor", "--surface", "mat", "--target-distance", "150yd")
	do("own", "trial", "--gamer", "--name", "own 7", "--set", "stated_loft=32deg", "--set", "swing_weight=D2")
	do("longer", "trial", "--set", "length=37.5in", "--measured", "loft=31deg")
	do("amend", "amend", answers["own"].Trial, "--measured", "lie=62deg")
	do("hitter", "hitter", "fitter")
	do("hitter2", "hitter", "player")
	do("instruct", "instruct", "--kind", "setup", "ball", "forward")
	do("intent", "intent", "full-effort")
	do("class", "class", "partial", "--length", "60yd")
	do("practice", "class", "practice", shot)
	do("feel", "feel", answers["own"].Trial, "light", "--liking", "-1")
	do("move", "move", shot, "--to", answers["longer"].Trial)
	do("exclude", "exclude", shot, "--reason", "mishit")
	do("restore", "restore", shot)
	do("unpair", "unpair", shot)
	do("pause", "pause")
	do("resume", "resume")
	do("end", "end")
	do("verdict", "verdict", "build", "--trial", answers["longer"].Trial)
	do("check", "check", answers["verdict"].ID, answers["longer"].Trial, "--measured", "loft=31.2deg")
	do("undo", "undo")
	do("correct", "correct", "--hand", "left")
	do("close", "close")

	code, out, errs := visitRun(t, address, "show", "--bay", "north", "--json")
	if code != 0 {
		t.Fatal(errs)
	}
	var state struct {
		Session struct{ Player, Hand string }
		Trials  []struct {
			Name    string
			Gamer   bool
			Changes []struct {
				Field string
				To    struct {
					Number   float64
					Measured bool
				}
			}
		}
	}
	if err := json.Unmarshal([]byte(out), &state); err != nil {
		t.Fatal(err)
	}
	if state.Session.Player != "p-017" || state.Session.Hand != "left" || len(state.Trials) < 2 || !state.Trials[0].Gamer {
		t.Fatalf("state %s", out)
	}
	last := state.Trials[len(state.Trials)-1]
	if last.Gamer || last.Name != "Length 37.5 in, loft 31°" {
		t.Errorf("last trial %+v", last)
	}
	for _, c := range last.Changes {
		if c.Field == "length" && (c.To.Number != 0.9525 || c.To.Measured) || c.Field == "loft" && (c.To.Number != 31 || !c.To.Measured) {
			t.Errorf("change %+v", c)
		}
	}
	if code, out, _ := visitRun(t, address, "show", "--bay", "north"); code != 0 || !strings.Contains(out, "own 7 (gamer)") {
		t.Errorf("show: exit %d\n%s", code, out)
	}
	if code, out, _ := visitRun(t, address, "log", "--bay", "north"); code != 0 || strings.Count(out, "\n") != len(answers)+1 ||
		!strings.Contains(out, "(taken back)") {
		t.Errorf("log: exit %d\n%s", code, out)
	}
}

// Back with the own club, a verdict orders that club, by the command line as by
// the page: both ask the folded log.
func TestAVerdictOrdersTheClubOfItsTrial(t *testing.T) {
	address := visitConsole(t)
	var made struct{ ID, Trial string }
	do := func(args ...string) string {
		t.Helper()
		code, out, errs := visitRun(t, address, append(args, "--bay", "north", "--json")...)
		if code != 0 {
			t.Fatalf("%v: exit %d: %s", args, code, errs)
		}
		if err := json.Unmarshal([]byte(out), &made); err != nil {
			t.Fatal(err)
		}
		return made.Trial
	}
	do("open", "--player", "p-017", "--hand", "right", "--category", "iron")
	own := do("trial", "--gamer", "--name", "own 7", "--set", "length=37in", "--measured", "swing_weight=D2")
	candidate := do("trial", "--set", "length=36in")
	do("trial", "--trial", own) // back to the own club
	do("verdict", "build", "--trial", own)
	code, out, errs := visitRun(t, address, "log", "--bay", "north", "--json")
	if code != 0 {
		t.Fatal(errs)
	}
	log := &visit.Log{}
	var ordered *event.Build
	for line := range strings.Lines(out) {
		ev := &event.VisitEvent{}
		if err := protojson.Unmarshal([]byte(line), ev); err != nil {
			t.Fatal(err)
		}
		log.Add(ev)
		if v := ev.GetVerdictGiven(); v != nil {
			ordered = v.Build
		}
	}
	tl := log.Timeline()
	if event.BuildKey(ordered) != tl.Trial(own).BuildKey || ordered.GetName() != "own 7" || !ordered.GetGamer() {
		t.Errorf("ordered %v; the trial is of %v", ordered, tl.Trial(own).Build)
	}
	// The cut club was not weighed: what the longer one weighed is not known of it.
	if b := tl.Trial(candidate).Build; b.Spec(event.BuildField_BUILD_SWING_WEIGHT) != nil || b.Gamer || b.Name != "Length 36 in" {
		t.Errorf("candidate %v", b)
	}
	// A measurement of the own club leaves it what it is.
	do("amend", own, "--measured", "swing_weight=D1")
	do("amend", candidate, "--set", "length=36.5in")
	do("trial", "--from", candidate, "--set", "loft=31deg")
	if code, out, _ = visitRun(t, address, "show", "--bay", "north"); code != 0 || !strings.Contains(out, "own 7 (gamer)") ||
		!strings.Contains(out, "Length 36.5 in") {
		t.Errorf("%d %s", code, out)
	}
	if code, _, errs := visitRun(t, address, "feel", own, "--liking", "lots", "--bay", "north"); code != 2 ||
		!strings.Contains(errs, "lots") || !strings.Contains(errs, "-2") {
		t.Errorf("nonsense as a liking: exit %d %s", code, errs)
	}
}

func TestVisitRefusals(t *testing.T) {
	address := visitConsole(t)
	for name, c := range map[string]struct {
		args []string
		say  string
	}{
		"no bay":       {[]string{"pause"}, "--bay"},
		"unknown bay":  {[]string{"pause", "--bay", "attic"}, "north"},
		"no session":   {[]string{"pause", "--bay", "north"}, "open one first"},
		"no player":    {[]string{"open", "--bay", "north", "--category", "iron"}, "player"},
		"bad hand":     {[]string{"open", "--bay", "north", "--player", "p-1", "--hand", "both", "--category", "iron"}, "left"},
		"bad category": {[]string{"open", "--bay", "north", "--player", "p-1", "--category", "spoon"}, "driver"},
		"bad part":     {[]string{"trial", "--bay", "north", "--set", "colour=red"}, "colour"},
		"bad unit":     {[]string{"trial", "--bay", "north", "--set", "length=3kg"}, "not a unit of length"},
		"no equals":    {[]string{"trial", "--bay", "north", "--set", "length"}, "PART=VALUE"},
		"bad time":     {[]string{"open", "--bay", "north", "--at", "noon"}, "--at"},
		"bad shot":     {[]string{"exclude", "--bay", "north", "x", "--reason", "y"}, "shot id"},
		"nowhere":      {[]string{"move", "--bay", "north", "1"}, "--to"},
		"unknown sub":  {[]string{"dance"}, "dance"},
		"nothing back": {[]string{"undo", "--bay", "north"}, "no event"},
	} {
		code, out, errs := visitRun(t, address, c.args...)
		if code != 2 || out != "" || !strings.Contains(errs, c.say) {
			t.Errorf("%s: exit %d, out %q, said %q", name, code, out, errs)
		}
	}
	code, _, errs := visitRun(t, "127.0.0.1:1", "pause", "--bay", "north")
	if code != 1 || !strings.Contains(errs, "running?") {
		t.Errorf("no console: exit %d %s", code, errs)
	}
}
