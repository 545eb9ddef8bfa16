package answers

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// Choices are what a filter can be chosen from, with how many players each has.
type Choices struct {
	Studios []Choice      `json:"studios"`
	Traits  []TraitChoice `json:"traits"`
	Builds  []Build       `json:"-"`
}

// Choice is a name that trials of the fleet have.
type Choice struct {
	Name    string `json:"name"`
	Players uint64 `json:"players"`
}

// TraitChoice is a trait of the swing with the range that players have: the 1st,
// 50th and 99th percentile, in its stored unit.
type TraitChoice struct {
	Trait   string  `json:"trait"`
	Players uint64  `json:"players"`
	Low     float64 `json:"low"`
	Middle  float64 `json:"middle"`
	High    float64 `json:"high"`
}

// mostChoices bounds a list to choose from.
const mostChoices = 300

// choiceCache holds what was looked up of the newest snapshot.
type choiceCache struct {
	mu       sync.Mutex
	snapshot uint64
	kept     map[string]*Choices
}

// Choices looks up what a snapshot's trials of a category (empty: all) can be
// narrowed by.
func (f *Fleet) Choices(ctx context.Context, m Mark, category string) (*Choices, error) {
	f.choices.mu.Lock()
	if f.choices.snapshot != m.Snapshot {
		f.choices.snapshot, f.choices.kept = m.Snapshot, map[string]*Choices{}
	}
	old := f.choices.kept[category]
	f.choices.mu.Unlock()
	if old != nil {
		return old, nil
	}
	out, err := f.lookUp(ctx, m, category)
	if err != nil {
		return nil, fmt.Errorf("what the fleet can be narrowed by: %w", err)
	}
	f.choices.mu.Lock()
	defer f.choices.mu.Unlock()
	if f.choices.snapshot == m.Snapshot {
		f.choices.kept[category] = out
	}
	return out, nil
}

func (f *Fleet) lookUp(ctx context.Context, m Mark, category string) (*Choices, error) {
	out := &Choices{}
	where := fmt.Sprintf("snapshot = %d", m.Snapshot)
	if category != "" {
		where += " AND category = " + quote(category)
	}
	rows, err := f.store.Conn().Query(ctx, question.Choices(where))
	if err != nil {
		return nil, err
	}
	for rows.Next() {
		var c Choice
		if err := rows.Scan(&c.Name, &c.Players); err != nil {
			return nil, errors.Join(err, rows.Close())
		}
		out.Studios = append(out.Studios, c)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return nil, err
	}
	values := make([]TraitChoice, fleet.TraitCount)
	var to []any
	for i, name := range fleet.TraitNames {
		v := &values[i]
		v.Trait = name
		to = append(to, &v.Low, &v.Middle, &v.High, &v.Players)
	}
	if err := f.store.Conn().QueryRow(ctx, question.Spans(where)).Scan(to...); err != nil {
		return nil, err
	}
	for _, v := range values {
		if v.Players > 0 && v.Low < v.High {
			out.Traits = append(out.Traits, v)
		}
	}
	out.Builds, err = f.Builds(ctx, m.Snapshot, category, mostChoices)
	return out, err
}

// CheckNames refuses studios and builds that no trial of the snapshot has, and
// bands in which no player lies, with what there is. A fleet without trials
// refuses nothing: there the answer says so.
func (f *Fleet) CheckNames(ctx context.Context, m Mark, filter Filter) error {
	if m.Trials == 0 || len(filter.Studios)+len(filter.Bands)+len(filter.Builds) == 0 {
		return nil
	}
	all, err := f.Choices(ctx, m, "")
	if err != nil {
		return err
	}
	var studios []string
	for _, s := range all.Studios {
		studios = append(studios, s.Name)
	}
	for _, s := range filter.Studios {
		if !slices.Contains(studios, s) {
			return &FilterError{"studio", s, "has no trials in the fleet", "use " + list(studios, s)}
		}
	}
	for _, b := range filter.Builds {
		var n uint64
		with := fmt.Sprintf("snapshot = %d AND build = %s", m.Snapshot, quote(b))
		if err := f.store.Conn().QueryRow(ctx, question.Count(with)).Scan(&n); err != nil {
			return fmt.Errorf("builds of the fleet: %w", err)
		}
		if n == 0 {
			var keys []string
			for _, k := range all.Builds {
				keys = append(keys, strings.TrimSpace(k.Key+" "+k.Name))
			}
			return &FilterError{"build", b, "was hit in no trial of the fleet", "use a key such as " + list(keys, b)}
		}
	}
	return f.checkBands(ctx, m, filter)
}

func (f *Fleet) checkBands(ctx context.Context, m Mark, filter Filter) error {
	here, err := f.Choices(ctx, m, filter.Category)
	if err != nil {
		return err
	}
	for _, b := range filter.Bands {
		for _, t := range here.Traits {
			if t.Trait != b.Trait || (b.Low == nil || *b.Low <= t.High) && (b.High == nil || *b.High > t.Low) {
				continue
			}
			n := uint64(0)
			within := Filter{Category: filter.Category, Bands: []Band{b}}.where(m.Snapshot)
			if err := f.store.Conn().QueryRow(ctx, question.Count(within)).Scan(&n); err != nil {
				return fmt.Errorf("profiles of the fleet: %w", err)
			}
			if n == 0 {
				return &FilterError{"profile band", b.String(), "no player's swing lies there",
					fmt.Sprintf("%s runs from %.4g to %.4g, in the unit of its name", b.Trait, t.Low, t.High)}
			}
		}
	}
	return nil
}

// list writes the names nearest to what was typed first, twelve at most.
func list(names []string, typed string) string {
	sorted := slices.Clone(names)
	slices.SortStableFunc(sorted, func(a, b string) int { return apart(a, typed) - apart(b, typed) })
	more := ""
	if n := len(sorted) - 12; n > 0 {
		sorted, more = sorted[:12], fmt.Sprintf(" and %d more", n)
	}
	return strings.Join(sorted, ", ") + more
}

// apart counts the letters to change between two names (Levenshtein).
func apart(a, b string) int {
	row := make([]int, len(b)+1)
	for k := range row {
		row[k] = k
	}
	for i := range len(a) {
		before := row[0]
		row[0] = i + 1
		for k := range len(b) {
			same := before
			if a[i] != b[k] {
				same++
			}
			before = row[k+1]
			row[k+1] = min(same, row[k]+1, row[k+1]+1)
		}
	}
	return row[len(b)]
}
