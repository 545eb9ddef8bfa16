package answers

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"fairlead/processors/golf/fleet"
)

// Question is what is asked of the fleet: an outcome of the trials that a
// filter leaves, under a model. The zero value of the model's fields is the
// standard model (fleet.Question).
type Question struct {
	Outcome        string   `json:"outcome"`
	Filter         Filter   `json:"filter"`
	Attributes     []string `json:"attributes,omitempty"`
	Traits         []string `json:"traits,omitempty"`
	NoTraits       bool     `json:"no_traits,omitempty"`
	NoCurvature    bool     `json:"no_curvature,omitempty"`
	NoOrder        bool     `json:"no_order,omitempty"`
	NoSlopes       bool     `json:"no_slopes,omitempty"`
	AsMeasured     bool     `json:"as_measured,omitempty"`
	FullCovariance bool     `json:"full_covariance,omitempty"`
	Normal         bool     `json:"normal_intervals,omitempty"`
	Level          float64  `json:"level,omitempty"`
}

// OutcomeNames are the outcomes that may be asked about.
func OutcomeNames() []string {
	var out []string
	for _, o := range fleet.Outcomes() {
		out = append(out, o.Name)
	}
	return out
}

// Check says what in the question cannot be used.
func (q Question) Check() error {
	if _, ok := fleet.FindOutcome(q.Outcome); !ok {
		return &FilterError{"outcome", q.Outcome, "is not known", "use " + strings.Join(OutcomeNames(), ", ")}
	}
	if err := q.Filter.Check(); err != nil {
		return err
	}
	for _, n := range q.Attributes {
		if _, ok := fleet.ParseAttribute(n); !ok {
			var names []string
			for _, a := range fleet.AllAttributes() {
				names = append(names, a.Name())
			}
			return &FilterError{"attribute", n, "is not known", "use " + strings.Join(names, ", ")}
		}
	}
	for _, n := range q.Traits {
		if !slices.Contains(fleet.TraitNames[:], n) {
			return &FilterError{"trait", n, "is not known", "use " + strings.Join(fleet.TraitNames[:], ", ")}
		}
	}
	if q.Level != 0 && !(q.Level > 0.5 && q.Level < 1) {
		return &FilterError{"level", fmt.Sprint(q.Level), "is no level of an interval", "use 0.95"}
	}
	return nil
}

// model is the question as the estimator takes it.
func (q Question) model() fleet.Question {
	m := fleet.Question{
		Outcome: q.Outcome, Category: q.Filter.Category, Traits: q.Traits, NoCurvature: q.NoCurvature, NoOrder: q.NoOrder,
		NoSlopes: q.NoSlopes, AsMeasured: q.AsMeasured, FullCovariance: q.FullCovariance, Level: q.Level, Test: fleet.KnappHartung,
	}
	for _, n := range q.Attributes {
		a, _ := fleet.ParseAttribute(n)
		m.Attributes = append(m.Attributes, a)
	}
	if q.NoTraits {
		m.Traits = []string{}
	}
	if q.Normal {
		m.Test = fleet.Normal
	}
	return m
}

// Label says the question in words, without its outcome and category.
func (q Question) Label() string {
	parts := []string{q.Filter.Label()}
	for _, p := range []struct {
		is   bool
		text string
	}{
		{len(q.Attributes) > 0, "only " + strings.Join(q.Attributes, ", ")},
		{q.NoTraits, "no traits"}, {len(q.Traits) > 0, "traits " + strings.Join(q.Traits, ", ")},
		{q.NoCurvature, "no curvature"}, {q.NoOrder, "no order"}, {q.NoSlopes, "no slopes by player"},
		{q.AsMeasured, "as measured"}, {q.FullCovariance, "correlated slopes"}, {q.Normal, "normal intervals"},
	} {
		if p.is {
			parts = append(parts, p.text)
		}
	}
	return strings.Join(parts, "; ")
}

// Hash names the question: equal questions have equal hashes.
func (q Question) Hash() string { return digest("effects", q) }

// id names an answer: a question, the data it was asked of, the model, and that of the
// flights in it.
func id(question string, m Mark) string {
	parts := []any{question, fleet.Version, snapshotVersion, m.Inserted.UnixMilli(), m.Version, m.Flight}
	if m.Joins != "" {
		parts = append(parts, m.Joins)
	}
	return digest(parts...)
}

// snapshotVersion changes whenever the same trials would make another snapshot.
const snapshotVersion = "snapshot-1"

func digest(parts ...any) string {
	b, err := json.Marshal(parts)
	if err != nil {
		panic(err) // plain data only
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:8])
}
