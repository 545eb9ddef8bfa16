package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/deploy/proof"
	"fairlead/deploy/studio"
	"fairlead/deploy/studio/copies"
	"fairlead/processors/sim"
)

// A hub's disk dies after a backup was taken while shots came. One command brings
// the hub back from it, clean by its audit; the bays, on a PC of their own, fill
// in what came after, and names and visits are those of the copy.
func TestAHubComesBackFromABackup(t *testing.T) {
	r := newRig(t, "")
	pc := splitHub(t, r)
	if err := os.MkdirAll(r.config.DataPath(), 0o700); err != nil {
		t.Fatal(err)
	}
	names, err := people.Open(r.config.PeopleFile())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := names.Put(people.Person{Role: people.Player, Name: "Adalbert Undine"}); err != nil {
		t.Fatal(err)
	}
	r.start()
	var taken copies.Taken
	take := func() { r.told(&taken, "backup", "--config", r.config.File(), "--json") }
	var summary sim.Summary
	if proof.Wanted() {
		r.collect(pc)
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		wait := r.hit(ctx, sim.Options{Seed: 7, Rate: 4, Quiet: 50 * time.Millisecond})
		proof.Pause(t, 20*time.Second)
		take()
		proof.Pause(t, 10*time.Second) // what comes now is in no copy
		cancel()
		summary = wait()
	} else {
		take()
	}
	key := filepath.Join(t.TempDir(), "backup.key")
	text, err := os.ReadFile(r.config.BackupKeyFile())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(key, text, 0o600); err != nil {
		t.Fatal(err)
	}
	r.powerless(r.processes())
	before, err := os.ReadFile(r.config.PeopleFile())
	if err != nil {
		t.Fatal(err)
	}
	for _, gone := range []string{r.config.DataPath(), r.config.File()} {
		if err := os.RemoveAll(gone); err != nil {
			t.Fatal(err)
		}
	}

	var back copies.Restored
	r.told(&back, "restore", "--from", filepath.Join(r.dir, "copies"), "--key", key, "--copy", taken.Copy, "--config", r.config.File(),
		"--json")
	if back.Copy != taken.Copy || back.Audit.Wrong() || len(back.Audit.Bays) != 4 {
		t.Errorf("%+v from %+v", back, taken)
	}
	if after, err := os.ReadFile(r.config.PeopleFile()); err != nil || !bytes.Equal(before, after) {
		t.Errorf("names %s instead of %s: %v", after, before, err)
	}
	if err := exec.Command(r.program, "restore", "--no-audit", "--from", filepath.Join(r.dir, "copies"), "--key", key, "--config",
		r.config.File()).Run(); err == nil {
		t.Error("a second restore wrote over the first one")
	}
	if proof.Wanted() {
		r.start()
		r.check(summary)
	}
}

// splitHub gives the bays a PC of their own and the hub a place for backups. It
// returns the PC's configuration.
func splitHub(t *testing.T, r *rig) (pc string) {
	t.Helper()
	text, err := os.ReadFile(r.config.File())
	if err != nil {
		t.Fatal(err)
	}
	head, _, _ := strings.Cut(string(text), "bays:")
	hub := head + "backup: {to: copies, try: 0s}\nbays: [{name: north}, {name: south}, {name: quay}, {name: pier}]\n"
	pc = filepath.Join(r.dir, "pc.yaml")
	bay := strings.Replace(string(text), "data: var", "data: pc", 1)
	bay = strings.Replace(bay, "broker: {listen:", "broker: {keys: pc-keys, url:", 1)
	bay = strings.Replace(bay, `url: "`, `url: "nats://`, 1)
	for file, text := range map[string]string{r.config.File(): hub, pc: bay} {
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if r.config, err = studio.Load(r.config.File()); err != nil {
		t.Fatal(err)
	}
	return pc
}

// collect brings the bays' keys to their PC and runs the collectors there until
// the test ends.
func (r *rig) collect(pc string) {
	r.t.Helper()
	keys := filepath.Join(r.dir, "pc-keys")
	if err := os.MkdirAll(keys, 0o700); err != nil {
		r.t.Fatal(err)
	}
	for _, b := range r.config.Bays {
		name := fmt.Sprintf("bay-%s.seed", b.Name)
		text, err := os.ReadFile(r.config.DataPath("keys", name))
		if err != nil {
			r.t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(keys, name), text, 0o600); err != nil {
			r.t.Fatal(err)
		}
	}
	cmd := exec.Command(r.program, "collect", "--config", pc)
	cmd.Stdout, cmd.Stderr = r.log, r.log
	if err := cmd.Start(); err != nil {
		r.t.Fatal(err)
	}
	r.t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
	})
}

// told runs a command that answers with one JSON value.
func (r *rig) told(to any, args ...string) {
	r.t.Helper()
	cmd := exec.Command(r.program, args...)
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, r.log
	if err := cmd.Run(); err != nil {
		r.t.Fatalf("fairlead %s: %v", strings.Join(args, " "), err)
	}
	if err := json.Unmarshal(out.Bytes(), to); err != nil {
		r.t.Fatalf("fairlead %s: %v: %s", strings.Join(args, " "), err, out.Bytes())
	}
}
