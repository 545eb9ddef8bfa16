package fleet

import (
	"fmt"
	"sort"
	"strings"
)

// Constant is the name of the column that is 1 in every row: the intercept.
const Constant = "1"

// Variance says what is known about the noise of a row.
type Variance int

const (
	// Known: each row comes with the sampling variance v of its outcome, and a
	// trial noise τ² is estimated on top of it.
	Known Variance = iota
	// Shared: as Known, and the rows of one session have covariance v0 with each
	// other, because all were taken against the same baseline trial.
	Shared
	// Estimated: nothing is known; τ² is the residual variance.
	Estimated
)

// Term is one fixed coefficient: a column that varies from row to row, times a
// trait that belongs to the player. Column and Moderator index Model.Columns
// and Model.Moderators; Moderator −1 means 1.
//
// The split is what keeps a fit cheap: eight attributes by six traits are
// forty-eight coefficients, but only eight numbers in a row.
type Term struct {
	Name      string
	Column    int
	Moderator int
}

// Model says what is estimated from which columns.
type Model struct {
	// Columns vary from row to row (attributes, order). A column named Constant
	// is the intercept and must be 1 in every row.
	Columns []string
	// Moderators are constant for a player.
	Moderators []string
	// Terms are the fixed coefficients.
	Terms []Term
	// Random indexes the Columns whose slope varies from player to player.
	Random []int
	// FullCovariance lets the random slopes correlate; otherwise they are
	// independent.
	FullCovariance bool
	// SessionLevel gives each session a fixed level of its own. The levels are
	// swept out, not estimated: only contrasts within a session count.
	SessionLevel bool
	Variance     Variance
	// Factors name what rows of many players have in common (a build, a studio);
	// Crossed are the effects of their levels, see Crossing.
	Factors []string   `json:",omitempty"`
	Crossed []Crossing `json:",omitempty"`
	// Compact stores rows in single precision, for millions of rows. It needs
	// SessionLevel: what is stored is then the difference from the session's
	// first row, whose relative error of 6e-8 is far below any noise.
	Compact bool
}

// Params returns how many numbers the standard description of a model needs:
// fixed coefficients and variance parameters (τ² among them).
func (m *Model) Params() (fixed, variances int) {
	q := len(m.Random)
	if m.FullCovariance {
		return len(m.Terms), 1 + q*(q+1)/2
	}
	return len(m.Terms), 1 + q
}

// check finds a model that cannot be meant.
func (m *Model) check() error {
	if len(m.Terms) == 0 {
		return &ModelError{Reason: "it has no fixed term", Try: "name at least one attribute, or ask for an intercept"}
	}
	seen := map[string]bool{}
	for _, t := range m.Terms {
		if t.Column < 0 || t.Column >= len(m.Columns) || t.Moderator < -1 || t.Moderator >= len(m.Moderators) {
			return &ModelError{Terms: []string{t.Name}, Reason: "it points at a column or moderator that does not exist", Try: "check the indices"}
		}
		if seen[t.Name] {
			return &ModelError{Terms: []string{t.Name}, Reason: "it is listed twice", Try: "name each term once"}
		}
		seen[t.Name] = true
	}
	used := map[int]bool{}
	for _, c := range m.Random {
		if c < 0 || c >= len(m.Columns) {
			return &ModelError{Reason: "a random slope points at a column that does not exist", Try: "check the indices"}
		}
		if used[c] {
			return &ModelError{Terms: []string{m.Columns[c]}, Reason: "its slope is listed as random twice", Try: "name it once"}
		}
		used[c] = true
	}
	for _, c := range m.Crossed {
		if c.Factor < 0 || c.Factor >= len(m.Factors) || c.Column < -1 || c.Column >= len(m.Columns) || c.Levels < 1 {
			return &ModelError{Reason: "a crossed effect points at a factor or column that does not exist", Try: "check the indices"}
		}
	}
	if m.SessionLevel {
		for _, c := range m.Random {
			if m.Columns[c] == Constant {
				return &ModelError{Terms: []string{Constant},
					Reason: "each session has a level of its own, which already contains the player's intercept", Try: "leave 1 out of the random slopes"}
			}
		}
		for _, t := range m.Terms {
			if m.Columns[t.Column] == Constant {
				return &ModelError{Terms: []string{t.Name}, Reason: "it is the same in all rows of a session, and each session has a level of its own",
					Try: "leave it out, or leave the session levels out"}
			}
		}
	}
	if m.Compact && !m.SessionLevel {
		return &ModelError{Reason: "compact rows need session levels", Try: "set SessionLevel or leave Compact out"}
	}
	return nil
}

// ErrorKind sorts model errors by what a caller can do about them.
type ErrorKind int

const (
	// Meaningless: the model is wrong as written, whatever the data.
	Meaningless ErrorKind = iota
	// NotEnough: too few rows, players or contrasts to say anything.
	NotEnough
	// Idle: a term never varies where rows are compared.
	Idle
	// Collinear: a term can be computed from others; the last one named is it.
	Collinear
)

// ModelError says that a model cannot be estimated as written, or not from
// these data, and which terms are to blame.
type ModelError struct {
	Kind   ErrorKind
	Terms  []string
	Reason string
	Try    string
}

func (e *ModelError) Error() string {
	who := "the model"
	if len(e.Terms) > 0 {
		who = strings.Join(e.Terms, ", ")
	}
	return fmt.Sprintf("%s: %s; %s", who, e.Reason, e.Try)
}

// plan is a model with its terms sorted by column, so that the coefficients of
// one column lie side by side.
type plan struct {
	*Model
	order  []int // order[k] is the index in Terms of the k-th sorted term
	mod    []int // 0 for 1, else 1 + Moderator, of the k-th sorted term
	start  []int // sorted terms of column c are start[c] … start[c+1]−1; behind the columns, the crossed effects one by one
	random []int // random[c] is the index among the random slopes, or −1
	cells  cells
	first  []int // crossing c has the crossed effects first[c] … first[c+1]−1
}

// crossed counts the crossed effects, and all those that are estimated: the terms
// and behind them the crossed effects.
func (p *plan) crossed() int { return p.first[len(p.Crossed)] }
func (p *plan) effects() int { return len(p.Terms) + p.crossed() }

func newPlan(m *Model) *plan {
	p := &plan{Model: m}
	for i := range m.Terms {
		p.order = append(p.order, i)
	}
	sort.SliceStable(p.order, func(a, b int) bool {
		return m.Terms[p.order[a]].Column < m.Terms[p.order[b]].Column
	})
	p.start = make([]int, len(m.Columns)+1)
	for _, i := range p.order {
		p.mod = append(p.mod, m.Terms[i].Moderator+1)
		p.start[m.Terms[i].Column+1]++
	}
	for c := range m.Columns {
		p.start[c+1] += p.start[c]
	}
	p.random = make([]int, len(m.Columns))
	for c := range p.random {
		p.random[c] = -1
	}
	for k, c := range m.Random {
		p.random[c] = k
	}
	p.cells = newCells(p)
	p.first = make([]int, 1+len(m.Crossed))
	for c, x := range m.Crossed {
		p.first[c+1] = p.first[c] + x.Levels
	}
	for i := range p.crossed() {
		p.start = append(p.start, len(m.Terms)+i+1)
	}
	return p
}
