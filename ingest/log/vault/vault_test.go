package vault

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

var then = time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)

func open(t *testing.T, file string) *Ring {
	t.Helper()
	r, err := Open(file)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func seal(t *testing.T, r *Ring, o Owner, text string) string {
	t.Helper()
	out, err := r.Seal(o, text)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// One text under one key is one box, other owners' boxes differ, and who was
// forgotten can't be read by this ring, by one that is read anew, nor is anything
// said of their sessions sealed again; others are read as before.
func TestForgottenIsUnreadable(t *testing.T) {
	file := filepath.Join(t.TempDir(), "deeper", "people.keys")
	r := open(t, file)
	name := seal(t, r, Owner{Player: "p-1"}, "Ada Quill")
	words := seal(t, r, Owner{"p-1", "s-1"}, "whippy")
	moved := seal(t, r, Owner{"p-1", "s-2"}, "heavy")
	other := seal(t, r, Owner{"p-2", "s-3"}, "whippy")
	if again := seal(t, r, Owner{"p-1", "s-1"}, "whippy"); again != words || other == words || seal(t, r, Owner{}, words) != words {
		t.Errorf("%s %s %s", words, again, other)
	}
	if err := r.Own("s-2", "p-2"); err != nil { // the session was another player's
		t.Fatal(err)
	}
	secrets, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Forget("p-1", nil, then); err != nil {
		t.Fatal(err)
	}
	for _, ring := range []*Ring{r, open(t, file)} {
		for text, want := range map[string]string{name: event.Unreadable, words: event.Unreadable, moved: "heavy", other: "whippy"} {
			if got := ring.Open("like " + text + ", not"); got != "like "+want+", not" {
				t.Errorf("%s: %s", text, got)
			}
		}
		if late := seal(t, ring, Owner{"p-1", "s-1"}, "soft"); late != event.Unreadable {
			t.Errorf("said after it: %s", late)
		}
		if ring.Gone()["p-1"] != then {
			t.Error(ring.Gone())
		}
	}
	// Neither the file nor the one that it replaced shows the key.
	var was contents
	if err := json.Unmarshal(secrets, &was); err != nil {
		t.Fatal(err)
	}
	now, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range was.Keys {
		secret, _ := json.Marshal(k.Secret)
		if kept := strings.Contains(string(now), string(secret)); kept != (k.Player == "p-2") {
			t.Errorf("key of %+v: kept %v", k, kept)
		}
	}
	if err := r.Forget("", []string{"s-3"}, then); err != nil || r.Open(other) != event.Unreadable {
		t.Errorf("a session alone: %v %s", err, r.Open(other))
	}
	// A player who comes back under the same pseudonym is read again.
	if back := seal(t, r, Owner{"p-1", "s-9"}, "hello"); r.Open(back) != "hello" {
		t.Error("who came back can't be read")
	}
}

// Keys that are made ahead are those that sealing then uses, written once; what is
// forgotten beside has none, and nothing said of it is kept.
func TestKeysAreMadeAhead(t *testing.T) {
	file := filepath.Join(t.TempDir(), "people.keys")
	r := open(t, file)
	gone := seal(t, r, Owner{"p-9", "s-9"}, "whippy")
	owners := []Owner{{"p-1", "s-1"}, {"p-1", "s-1"}, {}, {"p-2", "s-2"}, {"p-9", "s-9"}}
	for range 2 {
		if err := r.Prepare(owners, []string{"s-9"}, then); err != nil {
			t.Fatal(err)
		}
	}
	before, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range owners[:4] {
		if box := seal(t, r, o, "heavy"); open(t, file).Open(box) != "heavy" {
			t.Errorf("%+v: %s", o, box)
		}
	}
	if after, err := os.ReadFile(file); err != nil || string(after) != string(before) || len(r.Keys) != 3 {
		t.Errorf("%d keys, written again: %v, %v", len(r.Keys), string(after) != string(before), err)
	}
	if r.Open(gone) != event.Unreadable || seal(t, r, owners[4], "soft") != event.Unreadable {
		t.Error("what was forgotten can be read")
	}
}

func TestADamagedOrOpenFileIsRefused(t *testing.T) {
	file := filepath.Join(t.TempDir(), "people.keys")
	if err := os.WriteFile(file, []byte("{}"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(file); runtime.GOOS != "windows" && (err == nil || !strings.Contains(err.Error(), "chmod 600")) {
		t.Errorf("others may read it: %v", err)
	}
	if err := os.Chmod(file, 0o600); err != nil {
		t.Fatal(err)
	}
	open(t, file)
	if err := os.WriteFile(file, []byte("{broken"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(file); err == nil || !strings.Contains(err.Error(), file) {
		t.Errorf("damaged: %v", err)
	}
}

// Whatever the text, it comes back as it was, by itself and in JSON, and its
// length shows only within 16 bytes.
func TestAnyTextComesBack(t *testing.T) {
	r := open(t, filepath.Join(t.TempDir(), "people.keys"))
	seal(t, r, Owner{"p-1", "s-1"}, "x")
	proof.Check(t, func(t *rapid.T) {
		text := rapid.StringN(1, 200, -1).Draw(t, "text")
		box, err := r.Seal(Owner{"p-1", "s-1"}, text)
		if err != nil {
			t.Fatal(err)
		}
		if !event.IsSealed(box) || r.Open(box) != text {
			t.Fatalf("%q: %q", text, r.Open(box))
		}
		doc, _ := json.Marshal(map[string]string{"a": box, "b": fmt.Sprintf("as %s and %s", box, box)})
		var back map[string]string
		err = json.Unmarshal(r.OpenJSON(doc), &back)
		if err != nil || back["a"] != text || back["b"] != fmt.Sprintf("as %s and %s", text, text) {
			t.Fatalf("%q: %v %q", text, err, back)
		}
	})
}
