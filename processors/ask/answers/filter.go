package answers

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
)

// Filter says which trials a question is about. The zero value is all of them.
type Filter struct {
	Category string   `json:"category,omitempty"`
	Studios  []string `json:"studios,omitempty"`
	// From and To bound the day of the trial (UTC), the last one included:
	// 2026-01-31.
	From string `json:"from,omitempty"`
	To   string `json:"to,omitempty"`
	// Bands narrow the players by their profile.
	Bands []Band `json:"bands,omitempty"`
	// Builds keeps the sessions in which one of these was hit, all their trials
	// included, so that there is something to compare with.
	Builds []string `json:"builds,omitempty"`
	// OneIn keeps one in so many players, drawn by their names; 0: all.
	OneIn int `json:"one_in,omitempty"`
	// both keeps sessions in which both builds were hit.
	both [2]string
}

// Band is a range of one trait, Low included and High not.
type Band struct {
	Trait string   `json:"trait"`
	Low   *float64 `json:"low,omitempty"`
	High  *float64 `json:"high,omitempty"`
}

// FilterError names what in a filter cannot be used.
type FilterError struct{ Field, Value, Reason, Try string }

// WrongUse marks what another command line mends.
func (*FilterError) WrongUse() {}

func (e *FilterError) Error() string {
	return fmt.Sprintf("%s %q: %s; %s", e.Field, e.Value, e.Reason, e.Try)
}

// ParseBand reads a band as people write it: speed_mps=40..45, attack_deg=..0.
func ParseBand(text string) (Band, error) {
	wrong := func(reason string) (Band, error) {
		return Band{}, &FilterError{"profile band", text, reason,
			"write trait=low..high, as in speed_mps=40..45 or attack_deg=..0; traits: " + strings.Join(fleet.TraitNames[:], ", ")}
	}
	name, span, ok := strings.Cut(text, "=")
	low, high, ok2 := strings.Cut(span, "..")
	b := Band{Trait: strings.TrimSpace(name)}
	if !ok || !ok2 {
		return wrong("is no range")
	}
	for _, end := range []struct {
		text string
		to   **float64
	}{{low, &b.Low}, {high, &b.High}} {
		if t := strings.TrimSpace(end.text); t != "" {
			x, err := strconv.ParseFloat(t, 64)
			if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
				return wrong(t + " is not a number")
			}
			*end.to = &x
		}
	}
	if err := b.Check(); err != nil {
		return Band{}, err
	}
	return b, nil
}

// Check says what in the band cannot be used.
func (b Band) Check() error {
	text := b.String()
	if !slices.Contains(fleet.TraitNames[:], b.Trait) {
		return &FilterError{"profile band", text, "there is no such trait", "use one of " + strings.Join(fleet.TraitNames[:], ", ")}
	}
	if b.Low == nil && b.High == nil || b.Low != nil && b.High != nil && !(*b.Low < *b.High) {
		return &FilterError{"profile band", text, "is an empty range", "give the lower end first"}
	}
	return nil
}

// String is the band as ParseBand reads it.
func (b Band) String() string {
	end := func(x *float64) string {
		if x == nil {
			return ""
		}
		return strconv.FormatFloat(*x, 'g', 6, 64)
	}
	return b.Trait + "=" + end(b.Low) + ".." + end(b.High)
}

// Words are the band for people: clubhead speed 40 to 45 m/s.
func (b Band) Words() string {
	w := traitWords[b.Trait]
	end := func(x *float64) string {
		return strings.Replace(strconv.FormatFloat(*x*w.factor, 'g', 6, 64), "-", "−", 1)
	}
	switch {
	case w.short == "":
		return b.String()
	case b.Low != nil && b.High != nil:
		return w.short + " " + end(b.Low) + " to " + end(b.High) + w.unit
	case b.Low != nil:
		return w.short + " from " + end(b.Low) + w.unit
	case b.High != nil:
		return w.short + " below " + end(b.High) + w.unit
	}
	return w.short
}

// quote writes a text constant.
var quote = store.Quote

// Check says what in the filter cannot be used.
func (f Filter) Check() error {
	if f.Category != "" && !slices.Contains(glossary.AirborneNames(), f.Category) {
		return &FilterError{"category", f.Category, "cannot be asked about", "use " + strings.Join(glossary.AirborneNames(), ", ")}
	}
	for name, day := range map[string]string{"from": f.From, "to": f.To} {
		if _, err := time.Parse(time.DateOnly, day); day != "" && err != nil {
			return &FilterError{name, day, "is no day", "write it as 2026-01-31"}
		}
	}
	if f.From != "" && f.To != "" && f.From > f.To {
		return &FilterError{"period", f.From + " to " + f.To, "ends before it begins", "give the earlier day first"}
	}
	for _, b := range f.Bands {
		if err := b.Check(); err != nil {
			return err
		}
	}
	if f.OneIn < 0 {
		return &FilterError{"share of players", fmt.Sprint(f.OneIn), "is below 0", "give how many players one stands for"}
	}
	return nil
}

func quoteAll(list []string) string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = quote(s)
	}
	return strings.Join(out, ", ")
}

// where is the filter over fleet_trials of a snapshot.
func (f Filter) where(snapshot uint64) string {
	var all []string
	add := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	add("snapshot = %d", snapshot)
	if f.Category != "" {
		add("category = %s", quote(f.Category))
	}
	if len(f.Studios) > 0 {
		add("studio IN (%s)", quoteAll(f.Studios))
	}
	if f.From != "" {
		add("at >= toDateTime64(%s, 3, 'UTC')", quote(f.From+" 00:00:00"))
	}
	if f.To != "" {
		add("at < toDateTime64(%s, 3, 'UTC') + INTERVAL 1 DAY", quote(f.To+" 00:00:00"))
	}
	for _, b := range f.Bands {
		if b.Low != nil {
			add("%s >= %.17g", b.Trait, *b.Low)
		}
		if b.High != nil {
			add("%s < %.17g", b.Trait, *b.High)
		}
	}
	if len(f.Builds) > 0 {
		all = append(all, question.With(snapshot, quoteAll(f.Builds)))
	}
	if f.both[0] != "" {
		all = append(all, question.Between(snapshot, quoteAll(f.both[:])))
	}
	if f.OneIn > 1 {
		add("cityHash64(player) %% %d = 0", f.OneIn)
	}
	return strings.Join(all, " AND ")
}

// Trade is the filter over trials, verdicts or promises as they are stored: category,
// studios and days of a column. What narrows players by their swing has no place there.
func (f Filter) Trade(day string) string {
	all := []string{"1"}
	if f.Category != "" {
		all = append(all, "category = "+quote(f.Category))
	}
	if len(f.Studios) > 0 {
		all = append(all, "studio IN ("+quoteAll(f.Studios)+")")
	}
	if f.From != "" {
		all = append(all, "toDate("+day+") >= "+quote(f.From))
	}
	if f.To != "" {
		all = append(all, "toDate("+day+") <= "+quote(f.To))
	}
	return strings.Join(all, " AND ")
}

// bySums says whether sums by studio and day tell all that the filter asks.
func (f Filter) bySums() bool {
	return len(f.Bands) == 0 && len(f.Builds) == 0 && f.OneIn <= 1 && f.both[0] == ""
}

// whereDays is such a filter over fleet_days.
func (f Filter) whereDays(snapshot uint64) string {
	where := fmt.Sprintf("snapshot = %d", snapshot)
	if f.Category != "" {
		where += " AND category = " + quote(f.Category)
	}
	if len(f.Studios) > 0 {
		where += " AND studio IN (" + quoteAll(f.Studios) + ")"
	}
	if f.From != "" {
		where += " AND day >= " + quote(f.From)
	}
	if f.To != "" {
		where += " AND day <= " + quote(f.To)
	}
	return where
}

// Label says the filter in words.
func (f Filter) Label() string {
	var parts []string
	if len(f.Studios) > 0 {
		parts = append(parts, strings.Join(f.Studios, " and "))
	}
	switch {
	case f.From != "" && f.To != "":
		parts = append(parts, f.From+" to "+f.To)
	case f.From != "":
		parts = append(parts, "since "+f.From)
	case f.To != "":
		parts = append(parts, "until "+f.To)
	}
	for _, b := range f.Bands {
		parts = append(parts, b.Words())
	}
	if len(f.Builds) > 0 {
		parts = append(parts, "sessions with "+strings.Join(f.Builds, " or "))
	}
	if f.OneIn > 1 {
		parts = append(parts, fmt.Sprintf("one player in %d", f.OneIn))
	}
	if len(parts) == 0 {
		return "all players"
	}
	return strings.Join(parts, ", ")
}
