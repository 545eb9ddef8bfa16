package guess

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"fairlead/deploy/proof"
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/bay/sample"
	"fairlead/ingest/contract/event"
)

// verdict is what came of a draft.
type verdict struct {
	wrong   []string // values or times that are not true
	lacking []string // values that the map does not give
}

func (v verdict) right() bool { return len(v.wrong)+len(v.lacking) == 0 }

func sampleOf(s specimen) []sample.File {
	var files []sample.File
	for _, f := range s.files {
		files = append(files, sample.File{Name: f.name, Data: []byte(f.text)})
	}
	return files
}

// judge reads the specimen through a map and compares with the truth.
func judge(s specimen, mapText string) (v verdict) {
	m, err := feed.ParseMap("drafted", []byte(mapText))
	if err != nil {
		return verdict{lacking: []string{err.Error()}}
	}
	var shots []*event.Entry
	stamp := feed.Stamp{Studio: "harbour-row", Bay: "north", Feed: "f", Received: time.Date(2027, 6, 1, 0, 0, 0, 0, time.UTC)}
	for _, f := range s.files {
		entries, _, err := feed.ParseAll(m, f.name, strings.NewReader(f.text), stamp)
		if err != nil {
			return verdict{lacking: []string{err.Error()}}
		}
		for _, e := range entries {
			if !e.Valid() {
				v.lacking = append(v.lacking, fmt.Sprintf("line %d refused: %v", e.Line, e.Faults[0]))
				continue
			}
			shots = append(shots, e)
		}
	}
	if len(shots) != len(s.truth) {
		v.lacking = append(v.lacking, fmt.Sprintf("%d shots of %d", len(shots), len(s.truth)))
		v.untrue(s, shots)
		return v
	}
	ids := map[event.ShotID]bool{}
	for i, e := range shots {
		ids[e.ID()] = true
		if _, timed := s.truth[i]["time"]; !timed && e.DeviceUnixNs != 0 {
			v.wrong = append(v.wrong, "a time where none was given")
		}
		for field, want := range s.truth[i] {
			if field == "time" {
				if got := e.DeviceUnixNs; got == 0 {
					v.lacking = append(v.lacking, "time")
				} else if math.Abs(float64(got)/1e9-want) > 1 {
					v.wrong = append(v.wrong, fmt.Sprintf("time %v", time.Unix(0, got)))
				}
				continue
			}
			if field == "role" {
				if e.Role != event.Role(want) {
					v.wrong = append(v.wrong, fmt.Sprintf("role %v", e.Role))
				}
				continue
			}
			info, _ := event.FieldNamed(field)
			measure := e.Measure(info.Field)
			if measure == nil {
				v.lacking = append(v.lacking, field)
				continue
			}
			if tolerance := 1e-6 * math.Max(1, math.Abs(want)); math.Abs(measure.Value-want) > tolerance ||
				measure.Handed != (s.hand && info.Mirrors || slices.Contains(s.handed, field)) {
				v.wrong = append(v.wrong, fmt.Sprintf("%s %.4g for %.4g", field, measure.Value, want))
			}
		}
		for _, measure := range e.Measures {
			info, _ := measure.Field.Info()
			if _, known := s.truth[i][info.Name]; !known {
				v.wrong = append(v.wrong, fmt.Sprintf("%s where none was given", info.Name))
			}
		}
	}
	if len(ids) != len(s.truth) {
		v.wrong = append(v.wrong, "shots taken for one another")
	}
	return v
}

// untrue finds shots that are none of the specimen's, where not all of it was read:
// what is stored beside refused lines must be true, too.
func (v *verdict) untrue(s specimen, shots []*event.Entry) {
	for _, e := range shots {
		if !slices.ContainsFunc(s.truth, func(truth map[string]float64) bool {
			for _, m := range e.Measures {
				info, _ := m.Field.Info()
				want, known := truth[info.Name]
				if !known || math.Abs(m.Value-want) > 1e-6*math.Max(1, math.Abs(want)) {
					return false
				}
			}
			return true
		}) {
			v.wrong = append(v.wrong, "a shot that nobody hit")
			return
		}
	}
}

// better says that a verdict is nearer to the truth: what is not true weighs before
// what lacks.
func (v verdict) better(o verdict) bool {
	if len(v.wrong) != len(o.wrong) {
		return len(v.wrong) < len(o.wrong)
	}
	return len(v.lacking) < len(o.lacking)
}

// answered answers one question after the other as somebody who knows the
// device would, and returns what the map is then, and after how many answers.
func answered(s specimen, untouched verdict, questions []Question) (best verdict, asked int) {
	return settled(s, map[string]string{}, untouched, questions, 0)
}

// settled goes on from some answers. Whether what is supposed of several columns
// is true shows when the rest is answered, too; another answer shows at once.
func settled(s specimen, answers map[string]string, now verdict, questions []Question, asked int) (best verdict, n int) {
	best, n = now, asked
	if len(questions) == 0 || asked > 7 || now.right() {
		return best, n
	}
	q, first := questions[0], true
	var next []Question
	var chosen map[string]string
	for _, o := range q.Options {
		all := maps.Clone(answers)
		all[q.Key] = o
		t, err := sample.Read(sampleOf(s))
		if err != nil {
			return best, asked + 1
		}
		p, err := Draft(t, "willow", all)
		if err != nil {
			continue
		}
		v := judge(s, p.Map)
		if q.Key == WholeReading && !v.right() { // who knows the device says so, and is asked one by one
			if o == NoReading && first {
				return settled(s, all, v, p.Questions, asked+1)
			}
			continue
		}
		if q.Key == "names" {
			if len(v.wrong) > 0 && o != "no" && o != "yes" {
				continue // another of them is nearer: not all ways are gone to their ends
			}
			v, k := settled(s, all, v, p.Questions, asked+1)
			if first || v.better(best) {
				best, n, first = v, k, false
			}
			if best.right() {
				return best, n
			}
			continue
		}
		nearer := len(v.wrong)+len(v.lacking) < len(best.wrong)+len(best.lacking)
		if strings.HasPrefix(q.Key, ToldField) { // rather none than another column's
			nearer = v.better(best)
		}
		if first || nearer {
			best, chosen, next, first = v, all, p.Questions, false
		}
	}
	if first || q.Key == "names" {
		return best, max(n, asked+1)
	}
	return settled(s, chosen, best, next, asked+1)
}

// tally is the score of many specimens.
type tally struct{ n, alone, one, after, silent int }

// score drafts a map for every specimen. None may be silently wrong: what a
// draft says without asking is true.
func score(t *testing.T, specimens []specimen) (out tally) {
	for _, s := range specimens {
		out.n++
		table, err := sample.Read(sampleOf(s))
		if err != nil {
			t.Logf("%s: %v", s.name, err)
			continue
		}
		p, err := Draft(table, "willow", nil)
		if err != nil {
			t.Logf("%s: %v", s.name, err)
			continue
		}
		untouched := judge(s, p.Map)
		if untouched.right() {
			out.alone++
			out.one++
			out.after++
			continue
		}
		v, asked := answered(s, untouched, p.Questions)
		if v.right() {
			out.after++
			if asked <= 1 {
				out.one++
			}
			continue
		}
		if len(v.wrong) > 0 {
			out.silent++
		}
		t.Logf("%s: %d questions; wrong %.90s lacking %.200s", s.name, len(p.Questions), fmt.Sprint(v.wrong), fmt.Sprint(v.lacking))
	}
	if out.silent > 0 {
		t.Errorf("%d silently wrong", out.silent)
	}
	return out
}

// TestCorpus scores the devices of our own making.
func TestCorpus(t *testing.T) {
	specimens := corpus(corpusSize, 1)
	if !proof.Wanted() {
		specimens = specimens[:15] // every dialect once
	}
	t.Logf("%+v", score(t, specimens))
}

// TestStrangers scores devices whose words, shapes and clocks the guess was not
// made from.
func TestStrangers(t *testing.T) {
	specimens := strangers(corpusSize, 1)
	if !proof.Wanted() {
		specimens = specimens[:18] // every shape once
	}
	t.Logf("%+v", score(t, specimens))
	if proof.Wanted() {
		t.Logf("two more lots: %+v", score(t, append(strangers(180, 2), strangers(180, 3)...)))
	}
}

// corpusSize is how many specimens of each the scores in testdata/feeds/scores.md are of.
const corpusSize = 120
