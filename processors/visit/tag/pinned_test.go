package tag

import (
	"bufio"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"
	"pgregory.net/rapid"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// pinned is a bay's history as it was recorded once, and a hash of what its tags
// and their versions were then: rows that were stored under earlier programs
// are compared with what this one says.
type pinned struct {
	Events []json.RawMessage `json:"events"`
	Facts  []Fact            `json:"facts"`
	Tags   string            `json:"tags"`
}

const pinnedFile = "testdata/pinned.jsonl"

// taggedSum is a hash of all tags of a history, versions included, as a bay
// that learns it piece by piece gives them.
func taggedSum(t testing.TB, events []*event.VisitEvent, facts []Fact) string {
	t.Helper()
	s := newShelf()
	b := NewBay(DefaultRules(), &visit.Log{}, s)
	changes, err := b.AddEvents(t.Context(), events)
	if err != nil {
		t.Fatal(err)
	}
	s.put(changes)
	for _, f := range facts {
		if changes, err = b.AddEntries(t.Context(), noted(f)); err != nil {
			t.Fatal(err)
		}
		s.facts[f.Key] = f
		s.put(changes)
	}
	var lines []string
	for k, tag := range s.tags {
		in := *tag.Situation
		tag.Situation = nil
		// What a tag says only of times that are not known was not there once.
		said := strings.Replace(fmt.Sprintf("%+v", tag), " From:0 To:0", "", 1)
		lines = append(lines, fmt.Sprintf("%s %s %+v %s", k, said, in, in.Setting.ID()))
	}
	slices.Sort(lines)
	return fmt.Sprintf("%x", sha256.Sum256([]byte(strings.Join(lines, "\n"))))
}

func TestTagsOfRecordedHistoriesStay(t *testing.T) {
	if os.Getenv("FAIRLEAD_RECORD") != "" {
		record(t)
	}
	file, err := os.Open(pinnedFile)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	lines := bufio.NewScanner(file)
	lines.Buffer(nil, 1<<22)
	n := 0
	for ; lines.Scan(); n++ {
		var p pinned
		if err := json.Unmarshal(lines.Bytes(), &p); err != nil {
			t.Fatal(err)
		}
		var events []*event.VisitEvent
		for _, raw := range p.Events {
			ev := &event.VisitEvent{}
			if err := protojson.Unmarshal(raw, ev); err != nil {
				t.Fatal(err)
			}
			events = append(events, ev)
		}
		if got := taggedSum(t, events, p.Facts); got != p.Tags {
			t.Errorf("history %d: tags and versions were %s and are %s", n, p.Tags, got)
		}
	}
	if n < 10 {
		t.Errorf("%d recorded histories", n)
	}
}

// record writes new histories with the tags of this program: only where tags
// are meant to change for everything that was ever stored.
func record(t *testing.T) {
	file, err := os.Create(pinnedFile)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	worlds := rapid.Custom(drawWorld)
	for seed, kept := 1, 0; kept < 16; seed++ {
		w := worlds.Example(seed)
		if len(w.events) < 15 || len(w.facts) < 15 {
			continue
		}
		kept++
		p := pinned{Facts: w.facts, Tags: taggedSum(t, w.events, w.facts)}
		for _, ev := range w.events {
			raw, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(ev)
			if err != nil {
				t.Fatal(err)
			}
			p.Events = append(p.Events, raw)
		}
		line, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		file.Write(append(line, '\n'))
	}
}
