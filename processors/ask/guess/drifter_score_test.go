package guess

import (
	"fmt"
	"strings"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/bay/sample"
)

// drifted is the score of drifters.
type drifted struct {
	n, alone, one, after, refused, silent int
	fields                                map[string]int // silently wrong, by field
}

// scoreDrifters drafts a map for each and answers what it asks.
func scoreDrifters(t *testing.T, seed uint64, n int) drifted {
	out := drifted{fields: map[string]int{}}
	for i := range n {
		s := drift(seed, i)
		out.n++
		table, err := sample.Read(sampleOf(s))
		if err != nil {
			out.refused++
			t.Logf("%s: %v", s.name, err)
			continue
		}
		p, err := Draft(table, "willow", nil)
		if err != nil {
			out.refused++
			t.Logf("%s: %v", s.name, err)
			continue
		}
		v := judge(s, p.Map)
		asked := 0
		if v.right() {
			out.alone++
		} else {
			v, asked = answered(s, v, p.Questions)
		}
		switch {
		case v.right():
			out.after++
			if asked <= 1 {
				out.one++
			}
			continue
		case len(v.wrong) > 0:
			out.silent++
			seen := map[string]bool{}
			for _, w := range v.wrong {
				seen[strings.Fields(w)[0]] = true
			}
			for field := range seen {
				out.fields[field]++
			}
		}
		t.Logf("%s: %d questions; wrong %.90s lacking %.200s", s.name, len(p.Questions), fmt.Sprint(v.wrong), fmt.Sprint(v.lacking))
	}
	return out
}

// TestDrifters scores devices of which every choice is drawn by lot.
func TestDrifters(t *testing.T) {
	lots, n := []uint64{1}, 8
	if proof.Wanted() {
		lots, n = []uint64{1, 301, 302, 402}, 100 // as testdata/feeds/scores.md has them
	}
	for _, seed := range lots {
		score := scoreDrifters(t, seed, n)
		t.Logf("lot %d: %+v", seed, score)
		if score.silent > 0 {
			t.Errorf("lot %d: %d silently wrong", seed, score.silent)
		}
	}
}
