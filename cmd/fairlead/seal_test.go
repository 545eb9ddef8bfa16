package main

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/dashboards/console/people"
	"fairlead/deploy/proof"
	"fairlead/deploy/studio/copies"
	"fairlead/deploy/studio/sealing"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/processors/hub/process"
	"fairlead/processors/hub/store"
	"fairlead/processors/sim"
	"fairlead/processors/visit"
)

// oldWords are what people wrote in a studio of before, by where they wrote it.
type oldWords struct {
	player string
	all    []string
}

// keptInClear writes into the journals of a studio that is new what a bay and a
// console of before kept: a visit in which every free text is a word of its own.
func keptInClear(r *rig) (w oldWords) {
	t := r.t
	t.Helper()
	ctx := t.Context()
	bay := sim.DemoBays(t.TempDir())[0]
	hand := &sim.MemoryHand{}
	var entries []journal.Record
	clock := &sim.VirtualClock{At: time.Now().Add(-40 * 24 * time.Hour)}
	_, err := sim.RunBays(ctx, sim.Options{
		Studio: r.config.Studio, Bays: []sim.Bay{bay}, Hand: hand, Seed: 11, Visits: 2, Rate: 0.1, Log: slog.New(slog.DiscardHandler),
		Clock: func(string) sim.Clock { return clock }, Truth: io.Discard,
		Keep: func(e *event.Entry) error {
			payload, err := proto.MarshalOptions{Deterministic: true}.Marshal(e)
			entries = append(entries, journal.Record{Payload: payload})
			return err
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	events := hand.Events()
	trial := slices.IndexFunc(events, func(ev *event.VisitEvent) bool { return ev.GetTrialStarted() != nil })
	ids := []*event.VisitEvent{}
	for i, body := range []func(*event.VisitEvent){
		func(ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_FeelNoted{FeelNoted: &event.FeelNoted{Trial: events[trial].GetTrialStarted().Trial, Words: "whippy"}}
		},
		func(ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{Words: "swing easier"}}
		},
	} {
		ev := proto.Clone(events[trial]).(*event.VisitEvent)
		body(ev)
		ev.EffectiveUnixNs += int64(i + 1)
		ev.RecordedUnixNs += int64(i + 1)
		ev.Id = event.NewID(time.Unix(0, ev.EffectiveUnixNs))
		ids = append(ids, ev)
	}
	events = append(events, ids...)
	spoken := map[string]string{}
	var records []journal.Record
	for _, ev := range events {
		if o := ev.GetSessionOpened(); o != nil && w.player == "" {
			w.player = o.Player
		}
		event.Texts(ev, func(text string) string {
			if text != "" && spoken[text] == "" {
				spoken[text] = fmt.Sprintf("spokenof%02d%s", len(spoken), event.KindOf(ev))
			}
			return spoken[text]
		})
		if faults := visit.Validate(ev, time.Now()); len(faults) > 0 {
			t.Fatalf("%s: %v", event.KindOf(ev), faults[0])
		}
		ev.Seq = 0
		payload, err := proto.MarshalOptions{Deterministic: true}.Marshal(ev)
		if err != nil {
			t.Fatal(err)
		}
		records = append(records, journal.Record{Payload: payload})
	}
	for _, word := range spoken {
		w.all = append(w.all, word)
	}
	for _, j := range []struct {
		dir, bay string
		records  []journal.Record
	}{{r.config.JournalDir(bay.Name), bay.Name, entries}, {r.config.ConsoleJournalDir(), process.ConsoleBay, records}} {
		if err := os.MkdirAll(filepath.Dir(j.dir), 0o700); err != nil {
			t.Fatal(err)
		}
		o, _, err := journal.Open(journal.Options{Dir: j.dir, Studio: r.config.Studio, Bay: j.bay})
		if err == nil {
			_, err = o.Append(ctx, j.records...)
		}
		if err = errors.Join(err, o.Close()); err != nil {
			t.Fatal(err)
		}
	}
	return w
}

// stored are the counts of what a studio stored, and what its rows say beside words.
func stored(t *testing.T, s *store.Store) (out []string) {
	t.Helper()
	for _, question := range []string{
		"SELECT toString((count(), sum(cityHash64(toString((bay, journal, seq, shot_id, status, session, trial, player, at)))))) " +
			"FROM entries FINAL",
		"SELECT toString((count(), sum(n), sum(cityHash64(toString((bay, session, trial, part, carry_mean_m)))))) " +
			"FROM trials FINAL WHERE n > 0",
		"SELECT toString((count(), sum(cityHash64(toString((bay, id, kind, at, live)))))) FROM verdicts FINAL",
		"SELECT toString((count(), sum(cityHash64(toString((bay, id, journal, seq, effective, recorded, kind)))))) FROM visit_events FINAL",
	} {
		var text string
		if err := s.Conn().QueryRow(t.Context(), question).Scan(&text); err != nil {
			t.Fatal(err)
		}
		out = append(out, text)
	}
	return out
}

// audited audits until nothing is wrong.
func (r *rig) audited() {
	r.t.Helper()
	var out []byte
	var err error
	for deadline := time.Now().Add(90 * time.Second); time.Now().Before(deadline); {
		if out, err = exec.Command(r.program, "audit", "--config", r.config.File()).CombinedOutput(); err == nil {
			return
		}
	}
	r.t.Errorf("audit: %v: %s", err, out)
}

// A studio of before kept what people wrote in clear. It is sealed by a command that
// is killed on its way and run again, in between the studio does not start; then no
// word stands below the data folder, everything else is as it was, and erasing a
// player of then makes their words unreadable.
func TestAnOlderStudioIsSealed(t *testing.T) {
	r := newRig(t, "")
	r.keepsCopies()
	words := keptInClear(r)
	names, err := people.Open(r.config.PeopleFile())
	if err == nil {
		_, err = names.Put(people.Person{ID: words.player, Role: people.Player, Name: "Adalbert Undine"})
	}
	if err != nil {
		t.Fatal(err)
	}
	r.start()
	r.audited()
	s, err := r.config.OpenStore()
	if err != nil {
		t.Fatal(err)
	}
	r.wordsAre(words.all)
	r.said(0, "", "fleet", "effects", "--quiet")
	var taken copies.Taken
	r.told(&taken, "backup", "--config", r.config.File(), "--json")
	was := stored(t, s)
	for _, table := range []string{"visit_events.event", "trials.build_name", "entries.instruction", "fleet_trials.build_name"} {
		held, err := s.Holding(t.Context(), words.all)
		if err != nil || held[table] == 0 {
			t.Errorf("%s does not hold what was written: %v, %v", table, held, err)
		}
	}
	if out, _ := r.said(1, "", "seal"); out != "" {
		t.Errorf("a studio that runs: %s", out)
	}
	if out, _ := r.said(0, "", "doctor"); !strings.Contains(out, "fairlead seal") {
		t.Errorf("the doctor does not say what is in clear: %s", out)
	}
	s.Close()
	r.stop()

	kills := []time.Duration{1500 * time.Millisecond}
	if proof.Wanted() {
		kills = nil
		for at := 50 * time.Millisecond; at < 8*time.Second; at += 150 * time.Millisecond {
			kills = append(kills, at)
		}
	}
	for _, at := range kills {
		cut := exec.Command(r.program, "seal", "--config", r.config.File())
		if err := cut.Start(); err != nil {
			t.Fatal(err)
		}
		proof.Pause(t, at)
		cut.Process.Kill()
		cut.Wait()
		if _, err := os.Stat(r.config.SealingFile()); err != nil {
			continue
		}
		for _, command := range []string{"up", "console", "process", "broker"} {
			if _, said := r.said(1, "", command); !strings.Contains(said, "fairlead seal --config") {
				t.Errorf("%s on a half-sealed studio: %s", command, said)
			}
		}
	}
	var done, again sealing.Report
	r.told(&done, "seal", "--config", r.config.File(), "--json")
	r.told(&again, "seal", "--config", r.config.File(), "--json")
	if len(done.Left) > 0 || !again.Already || done.Backups == 0 && !done.Already {
		t.Errorf("%+v, again %+v", done, again)
	}
	r.wordsIn("after sealing", r.config.DataPath(), words.all)

	r.start()
	r.audited()
	if s, err = r.config.OpenStore(); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if is := stored(t, s); !slices.Equal(is, was) {
		t.Errorf("stored is\n%s\nand was\n%s", strings.Join(is, "\n"), strings.Join(was, "\n"))
	}
	if held, err := s.Holding(t.Context(), words.all); err != nil || len(held) > 0 {
		t.Errorf("the store holds words: %v, %v", held, err)
	}
	r.replayed()
	if text := r.log.String(); strings.Contains(text, "the log is not what it was") {
		t.Error("the log was taken for one that was set back")
	}
	out, _ := r.said(0, "", "export", "visits", "--names", "--format", "ndjson")
	for _, word := range words.all {
		if !strings.Contains(out, word) {
			t.Errorf("%s can't be read with names", word)
		}
	}
	if out, _ := r.said(0, "", "doctor"); strings.Contains(out, "fairlead seal") {
		t.Errorf("the doctor still says that something is in clear: %s", out)
	}

	r.said(0, "", "erase", words.player, "--yes")
	out, _ = r.said(0, "", "export", "visits", "--names", "--format", "ndjson")
	gone := 0
	for _, word := range words.all {
		if !strings.Contains(out, word) {
			gone++
		}
	}
	r.audited()
	if gone == 0 {
		t.Error("words of who is erased can be read")
	}
	r.pruned(taken)
}

// pruned takes a copy that shares nothing with that of before, and has that one go,
// once it is said in words.
func (r *rig) pruned(old copies.Taken) {
	t := r.t
	t.Helper()
	if _, said := r.said(1, "", "backup", "prune", "--yes"); !strings.Contains(said, "fairlead backup") {
		t.Errorf("no copy since: %s", said)
	}
	var fresh copies.Taken
	r.told(&fresh, "backup", "--config", r.config.File(), "--json")
	_, said := r.said(1, "yes\n", "backup", "prune")
	_, words, _ := strings.Cut(said, "Type ")
	words, _, asked := strings.Cut(words, ":")
	if !asked {
		t.Errorf("not said in words: %s", said)
	}
	r.said(0, words+"\n", "backup", "prune")
	var all []string
	r.told(&all, "backup", "list", "--config", r.config.File(), "--json")
	if slices.Contains(all, old.Copy) || !slices.Contains(all, fresh.Copy) {
		t.Errorf("copies %v, were %s and %s", all, old.Copy, fresh.Copy)
	}
	if proof.Wanted() {
		r.told(&struct{}{}, "backup", "try", "--config", r.config.File(), "--json")
	}
}

// wordsAre looks that the words stand in clear where an earlier version kept them.
func (r *rig) wordsAre(words []string) {
	for _, dir := range []string{r.config.ConsoleJournalDir(), r.config.BrokerDir(), r.config.DataPath("journals")} {
		found := false
		for deadline := time.Now().Add(30 * time.Second); !found && time.Now().Before(deadline); {
			filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
				text, _ := os.ReadFile(path)
				found = found || strings.Contains(string(text), words[0])
				return nil
			})
		}
		if !found {
			r.t.Errorf("%s does not hold %s", dir, words[0])
		}
	}
}

// wordsIn reads all files below a folder, but for lines of devices.
func (r *rig) wordsIn(where, dir string, words []string) {
	r.t.Helper()
	kept := secretWords
	secretWords = words
	defer func() { secretWords = kept }()
	r.searched(where, dir, true)
}
