package rolling

import (
	"fmt"
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
	"fairlead/processors/visit/tag"
)

// rowKey is what the shots of one row have in common.
type rowKey struct {
	trial  string
	part   int
	class  event.ShotClass
	length float64
	intent event.Intent
	ball   int // of a trial that was hit with several, in the order in which they were taken up: 0 the first
}

func (k rowKey) String() string {
	s := fmt.Sprintf("%s.%d", k.trial, k.part)
	if k.class != event.ShotClass_CLASS_FULL {
		s += "." + className(k.class)
		if k.length > 0 {
			s += fmt.Sprintf("-%gm", k.length)
		}
	}
	if k.intent != event.Intent_INTENT_NORMAL {
		s += "." + intentName(k.intent)
	}
	if k.ball > 0 {
		s += fmt.Sprintf(".ball-%d", k.ball+1)
	}
	return s
}

// row is a row while it is put together.
type row struct {
	key   rowKey
	trial *visit.Trial
	shots []*Shot // all of it, in order
	club  int
	// called is the club's name, with its first trial where another club of the
	// session has the same: what is said of one must not be read of the other.
	called string
}

// rows groups the session's shots. Every trial has at least one row, an empty
// one until it is hit. Shots that do not count (practice, another hitter) stand
// in the row that was being hit.
func rows(s *Snapshot, session *visit.Session) []*row {
	byTrial := map[string][]*row{}
	find := func(k rowKey) *row {
		for _, r := range byTrial[k.trial] {
			if r.key == k {
				return r
			}
		}
		return nil
	}
	balls := map[string][]string{} // of a trial
	ballAt := func(trial, ball string) int {
		if at := slices.Index(balls[trial], ball); at >= 0 || ball == "" {
			return max(at, 0)
		}
		balls[trial] = append(balls[trial], ball)
		return len(balls[trial]) - 1
	}
	for i := range s.Shots {
		shot := &s.Shots[i]
		t := shot.Tag
		if t.Trial == "" {
			continue
		}
		k := rowKey{t.Trial, t.Part, t.Class, t.ClassLength, t.Intent, ballAt(t.Trial, ballOf(&t.Setting))}
		if t.Status != tag.Counts && t.Status != tag.Excluded {
			k.class, k.length = event.ShotClass_CLASS_FULL, 0
			if have := byTrial[t.Trial]; len(have) > 0 && have[len(have)-1].key.part == t.Part {
				k = have[len(have)-1].key
			}
		}
		r := find(k)
		if r == nil {
			r = &row{key: k, trial: s.Timeline.Trial(t.Trial)}
			byTrial[t.Trial] = append(byTrial[t.Trial], r)
		}
		r.shots = append(r.shots, shot)
	}
	span := s.Timeline.Now()
	var out []*row
	clubs := map[string]int{}
	for _, t := range session.Trials {
		have := byTrial[t.ID]
		last := len(t.Parts)
		if span.Trial == t {
			// The next shot's row stands ready.
			setting := span.Setting()
			k := rowKey{t.ID, last, span.Class, span.ClassLength, span.Intent, ballAt(t.ID, ballOf(&setting))}
			if k.class == event.ShotClass_CLASS_PRACTICE || k.class == event.ShotClass_CLASS_NO_BALL {
				k.class, k.length = event.ShotClass_CLASS_FULL, 0
			}
			if find(k) == nil {
				have = append(have, &row{key: k, trial: t})
			}
		} else if len(have) == 0 {
			have = []*row{{key: rowKey{trial: t.ID, part: last}, trial: t}}
		}
		for _, r := range have {
			if r.trial == nil {
				continue // a trial that the timeline does not hold; its shots stay in the list
			}
			club := t.BuildKey + " " + t.Build.GetName()
			if clubs[club] == 0 {
				clubs[club] = len(clubs) + 1
			}
			r.club = clubs[club]
			out = append(out, r)
		}
	}
	callApart(out)
	return out
}

// callApart names the clubs of a session so that no two are called the same.
func callApart(rows []*row) {
	first, shared := map[int]*row{}, map[string]map[int]bool{}
	for _, r := range rows {
		if first[r.club] == nil {
			first[r.club] = r
			name := nameOf(r)
			if shared[name] == nil {
				shared[name] = map[int]bool{}
			}
			shared[name][r.club] = true
		}
	}
	for _, r := range rows {
		one := first[r.club]
		if r.called = nameOf(one); len(shared[r.called]) > 1 {
			r.called = fmt.Sprintf("%s (trial %d)", r.called, one.trial.Number)
		}
	}
}

// counting are the shots of a row that count.
func (r *row) counting() []*Shot {
	var out []*Shot
	for _, s := range r.shots {
		if s.Tag.Status == tag.Counts {
			out = append(out, s)
		}
	}
	return out
}

func className(c event.ShotClass) string {
	switch c {
	case event.ShotClass_CLASS_PARTIAL:
		return "partial"
	case event.ShotClass_CLASS_PRACTICE:
		return "practice"
	case event.ShotClass_CLASS_NO_BALL:
		return "no_ball"
	}
	return "full"
}

func intentName(i event.Intent) string {
	switch i {
	case event.Intent_INTENT_FULL_EFFORT:
		return "full_effort"
	case event.Intent_INTENT_SHAPING:
		return "shaping"
	}
	return "normal"
}

func hitterName(h event.HitterKind) string {
	switch h {
	case event.HitterKind_HITTER_FITTER:
		return "fitter"
	case event.HitterKind_HITTER_GUEST:
		return "guest"
	}
	return "player"
}

func handName(h event.Hand) string {
	switch h {
	case event.Hand_HAND_RIGHT:
		return "right"
	case event.Hand_HAND_LEFT:
		return "left"
	}
	return "unknown"
}
