package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairlead/deploy/engine"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

func TestPapersByCommand(t *testing.T) {
	p, err := engine.Start(t.Context(), engine.Options{Binary: filepath.Join(filepath.Dir(program(t)), "fairlead-engine"),
		DataDir: t.TempDir(), Stderr: os.Stderr})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := p.Stop(); err != nil {
			t.Error(err)
		}
	})
	dir := t.TempDir()
	config := filepath.Join(dir, "studio.yaml")
	if err := os.WriteFile(config, []byte("studio: harbour-row\nunits: imperial\nbays:\n  - name: north\n    feeds:\n      - {name: ball, "+
		"map: m.yaml, tail: \"s.csv\"}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	do := func(code int, args ...string) (out, errs string) {
		t.Helper()
		var o, e bytes.Buffer
		if got := run(t.Context(), append(args, "--config", config, "--clickhouse", p.DSN()), strings.NewReader(""), &o, &e); got != code {
			t.Fatalf("%v: exit %d, not %d: %s%s", args, got, code, o.String(), e.String())
		}
		return o.String(), e.String()
	}
	s, err := store.Open(p.DSN())
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	if out, _ := do(0, "sheet"); !strings.Contains(out, "No verdict") {
		t.Error(out)
	}
	now := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC).UnixNano()
	build := &event.Build{Name: "longer", Specs: []*event.Spec{{Field: event.BuildField_BUILD_LENGTH, Number: 0.9525}}}
	given := &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD, Trial: "t-1", Build: build}
	events := []*event.VisitEvent{
		{Id: "e-1", Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-017", Category: "iron"}}},
		{Id: "e-2", Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t-1", Build: build}}},
		{Id: "e-3", Body: &event.VisitEvent_VerdictGiven{VerdictGiven: given}},
	}
	for i, ev := range events {
		ev.Contract, ev.Studio, ev.Bay, ev.Visit, ev.Session, ev.Journal, ev.Seq = 1, "harbour-row", "north", "v-1", "s-1", "00000000000000c0",
			uint64(i+1)
		ev.EffectiveUnixNs, ev.RecordedUnixNs = now+int64(i), now+int64(i)
	}
	if err := s.InsertEvents(t.Context(), events); err != nil {
		t.Fatal(err)
	}
	if err := s.InsertVerdicts(t.Context(), []store.VerdictRow{{Place: stream.Place{Studio: "harbour-row", Bay: "north"}, ID: "e-3",
		Version: 1, Visit: "v-1", Session: "s-1", Player: "p-017", Category: "iron", At: now, Given: given, Live: true}}); err != nil {
		t.Fatal(err)
	}
	if out, _ := do(0, "sheet"); !strings.Contains(out, "e-3") || !strings.Contains(out, "v-1") {
		t.Error(out)
	}
	if out, _ := do(0, "sheet", "e-3"); !strings.Contains(out, "BUILD SHEET   not ordered yet") || !strings.Contains(out, "37.5 in") ||
		!strings.Contains(out, "to be settled") {
		t.Error(out)
	}
	if out, _ := do(0, "sheet", "e-3", "--units", "metric"); !strings.Contains(out, "952.5 mm") {
		t.Error(out)
	}
	for _, args := range [][]string{{"sheet", "--json"}, {"sheet", "e-3", "--json"}, {"report", "v-1", "--json"}} {
		out, _ := do(0, args...)
		if !json.Valid([]byte(out)) || !strings.Contains(out, "e-3") {
			t.Errorf("%v: %s", args, out)
		}
	}
	if out, _ := do(0, "report", "v-1"); !strings.Contains(out, "This club is to be built: longer.") {
		t.Error(out)
	}
	for want, bads := range map[int][][]string{
		1: {{"sheet", "nobody"}, {"report", "nobody"}, {"report", "v-1", "--session", "none"}},
		2: {{"sheet", "a", "b"}, {"report"}, {"sheet", "e-3", "--units", "cubits"}},
	} {
		for _, bad := range bads {
			if _, errs := do(want, bad...); errs == "" {
				t.Errorf("%v says nothing", bad)
			}
		}
	}
}
