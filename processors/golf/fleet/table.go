package fleet

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Spec names a model over the columns of a Table.
type Spec struct {
	// Fixed terms: a column, or a product of columns written a:m.
	Fixed []string
	// Random lists the terms whose slope varies by player; Constant ("1") is an
	// intercept.
	Random []string
	// Crossed lists the labels whose levels have effects that players share: a
	// label (its height), or label:column (its slope).
	Crossed        []string
	Intercept      bool
	FullCovariance bool
	SessionLevel   bool
	Variance       Variance
}

// Table holds trials by named column. A missing number is NaN.
type Table struct {
	Player  []string
	Session []string // nil: each player's rows are one session
	Y       []float64
	V       []float64 // known sampling variance of Y; not read for Estimated
	V0      []float64 // the part shared within the session; only for Shared
	Columns map[string][]float64
	Labels  map[string][]string // an empty label has no effect
	// Line is where each row stands in its source; nil: the row's number.
	Line []int
}

func (t *Table) line(i int) int {
	if t.Line == nil {
		return i + 1
	}
	return t.Line[i]
}

// Missing counts the rows that a fit left out because a number was missing.
type Missing struct {
	Rows  int            // rows left out
	By    map[string]int // rows by the column that was empty
	Lines []int          // the first few lines
}

// Data arranges the table for one model. Rows in which a used column is
// missing are left out, counted and reported as warnings; anything that cannot
// be meant is an error that names where.
func (t *Table) Data(s Spec) (*Data, []Warning, error) {
	var warnings []Warning
	fixed, err := parseTerms(s.Fixed, "--fixed")
	if err != nil {
		return nil, nil, err
	}
	random, err := parseTerms(s.Random, "--random")
	if err != nil {
		return nil, nil, err
	}
	if s.Intercept && !slices.ContainsFunc(fixed, func(f []string) bool { return len(f) == 0 }) {
		fixed = append([][]string{{}}, fixed...)
	}
	used := []string{}
	for _, f := range append(append([][]string{}, fixed...), random...) {
		for _, c := range f {
			if _, ok := t.Columns[c]; !ok {
				return nil, nil, &ModelError{Terms: []string{c}, Reason: "there is no such column", Try: "use one of " + strings.Join(t.names(),
					", ")}
			}
			if !slices.Contains(used, c) {
				used = append(used, c)
			}
		}
	}
	keep, missing := t.complete(used, s)
	if missing.Rows > 0 {
		warnings = append(warnings, missing.warning(len(t.Y)))
	}
	if len(t.Y) == 0 {
		return nil, nil, &ModelError{Kind: NotEnough, Terms: []string{"not enough to say"}, Reason: "there are no rows",
			Try: "check the file or widen the filters"}
	}
	if len(keep) == 0 {
		return nil, warnings, &ModelError{Kind: NotEnough, Terms: []string{"not enough to say"},
			Reason: fmt.Sprintf("none of %d rows has a number in every column that the model uses", len(t.Y)),
			Try:    "leave out the column that is empty: " + missing.worst()}
	}
	groups, shares, err := t.group(keep, s)
	if err != nil {
		return nil, warnings, err
	}
	if len(shares) > 0 {
		warnings = append(warnings, Warning{"session_name_reused",
			fmt.Sprintf("%d session names (%s) appear with more than one player; each player's rows are taken as a session of their own",
				len(shares), short(shares))})
	}
	m, cols, mods := t.model(s, fixed, random, groups)
	levels, err := t.cross(&m, s.Crossed)
	if err != nil {
		return nil, warnings, err
	}
	b, err := NewBuilder(m)
	if err != nil {
		return nil, warnings, err
	}
	rows := 0
	for _, g := range groups {
		for _, ses := range g.sessions {
			rows += len(ses)
		}
	}
	b.Grow(len(groups), len(groups), rows)
	row, traits := make([]float64, len(cols)), make([]float64, len(mods))
	for _, g := range groups {
		first := g.sessions[0][0]
		for i, f := range mods {
			traits[i] = t.product(f, first)
		}
		if err := b.Player(g.id, traits); err != nil {
			return nil, warnings, err
		}
		for _, ses := range g.sessions {
			v0 := 0.0
			if s.Variance == Shared {
				v0 = t.V0[ses[0]]
				for _, i := range ses[1:] {
					if math.Abs(t.V0[i]-v0) > 1e-12*math.Abs(v0) {
						return nil, warnings, fmt.Errorf("line %d: v0 is %v, but %v in another row of the same session: rows against one baseline share "+
							"one variance", t.line(i), t.V0[i], v0)
					}
				}
			}
			if err := b.Session(v0); err != nil {
				return nil, warnings, fmt.Errorf("line %d: %w", t.line(ses[0]), err)
			}
			for _, i := range ses {
				for k, f := range cols {
					row[k] = t.product(f, i)
				}
				v := 0.0
				if s.Variance != Estimated {
					v = t.V[i]
				}
				if err := b.Row(t.Y[i], v, row, levels(i)...); err != nil {
					return nil, warnings, fmt.Errorf("line %d: %w", t.line(i), err)
				}
			}
		}
	}
	return b.Data(), warnings, nil
}

// parseTerms splits a:m into its factors; Constant has none.
func parseTerms(terms []string, flag string) ([][]string, error) {
	var out [][]string
	for _, s := range terms {
		s = strings.TrimSpace(s)
		if s == Constant {
			out = append(out, []string{})
			continue
		}
		var f []string
		for _, c := range strings.Split(s, ":") {
			c = strings.TrimSpace(c)
			if c == "" {
				return nil, fmt.Errorf("%s: %q is not a term: write a column, or a product as in length:speed", flag, s)
			}
			if c != Constant {
				f = append(f, c)
			}
		}
		out = append(out, f)
	}
	return out, nil
}

func termName(factors []string) string {
	if len(factors) == 0 {
		return Constant
	}
	return strings.Join(factors, ":")
}

func (t *Table) product(factors []string, row int) float64 {
	x := 1.0
	for _, f := range factors {
		x *= t.Columns[f][row]
	}
	return x
}

// complete lists the rows that have every number the model needs.
func (t *Table) complete(used []string, s Spec) ([]int, Missing) {
	m := Missing{By: map[string]int{}}
	var keep []int
	for i := range t.Y {
		ok := true
		gap := func(name string, x float64) {
			if math.IsNaN(x) {
				m.By[name]++
				ok = false
			}
		}
		gap("y", t.Y[i])
		if s.Variance != Estimated {
			gap("v", t.V[i])
		}
		if s.Variance == Shared {
			gap("v0", t.V0[i])
		}
		for _, c := range used {
			gap(c, t.Columns[c][i])
		}
		if ok {
			keep = append(keep, i)
			continue
		}
		m.Rows++
		if len(m.Lines) < 10 {
			m.Lines = append(m.Lines, t.line(i))
		}
	}
	return keep, m
}

func (m *Missing) warning(all int) Warning {
	lines := make([]string, len(m.Lines))
	for i, l := range m.Lines {
		lines[i] = strconv.Itoa(l)
	}
	more := ""
	if m.Rows > len(m.Lines) {
		more = " …"
	}
	return Warning{"rows_left_out", fmt.Sprintf("%d of %d rows left out, because a number was missing (%s), at lines %s%s", m.Rows, all,
		m.worst(), strings.Join(lines, ", "), more)}
}

func (m *Missing) worst() string {
	names := make([]string, 0, len(m.By))
	for n := range m.By {
		names = append(names, n)
	}
	slices.Sort(names)
	for i, n := range names {
		names[i] = fmt.Sprintf("%s in %d", n, m.By[n])
	}
	return strings.Join(names, ", ")
}

// group is one player's rows by session, in order of appearance.
type group struct {
	id       string
	sessions [][]int
}

// group sorts the rows by player and session, and reports the session names
// that more than one player uses.
func (t *Table) group(keep []int, s Spec) ([]group, []string, error) {
	var groups []group
	players := map[string]int{}
	type key struct {
		player  int
		session string
	}
	sessions := map[key]int{}
	owner := map[string]int{}
	var shared []string
	for _, i := range keep {
		if t.Player[i] == "" {
			return nil, nil, fmt.Errorf("line %d: the player is missing", t.line(i))
		}
		p, ok := players[t.Player[i]]
		if !ok {
			p = len(groups)
			players[t.Player[i]] = p
			groups = append(groups, group{id: t.Player[i]})
		}
		name := ""
		if t.Session != nil {
			if name = t.Session[i]; name == "" {
				return nil, nil, fmt.Errorf("line %d: the session is missing", t.line(i))
			}
			if o, ok := owner[name]; !ok {
				owner[name] = p
			} else if o != p && o >= 0 {
				shared = append(shared, name)
				owner[name] = -1
			}
		}
		k := key{p, name}
		n, ok := sessions[k]
		if !ok {
			n = len(groups[p].sessions)
			sessions[k] = n
			groups[p].sessions = append(groups[p].sessions, nil)
		}
		groups[p].sessions[n] = append(groups[p].sessions[n], i)
	}
	return groups, shared, nil
}

// model splits each term into what varies within players (a column) and what
// does not (a moderator).
func (t *Table) model(s Spec, fixed, random [][]string, groups []group) (m Model, cols, mods [][]string) {
	m = Model{FullCovariance: s.FullCovariance, SessionLevel: s.SessionLevel, Variance: s.Variance}
	trait := map[string]bool{}
	constant := func(c string) bool {
		if k, ok := trait[c]; ok {
			return k
		}
		x := t.Columns[c]
		trait[c] = true
		for _, g := range groups {
			for _, ses := range g.sessions {
				for _, i := range ses {
					if x[i] != x[g.sessions[0][0]] {
						trait[c] = false
						return false
					}
				}
			}
		}
		return true
	}
	find := func(list *[][]string, names *[]string, f []string) int {
		n := termName(f)
		for i, have := range *names {
			if have == n {
				return i
			}
		}
		*list, *names = append(*list, f), append(*names, n)
		return len(*list) - 1
	}
	for _, f := range fixed {
		var row, own []string
		for _, c := range f {
			if constant(c) {
				own = append(own, c)
			} else {
				row = append(row, c)
			}
		}
		name := termName(f)
		if name == Constant {
			name = "intercept"
		}
		term := Term{Name: name, Column: find(&cols, &m.Columns, row), Moderator: -1}
		if len(own) > 0 {
			term.Moderator = find(&mods, &m.Moderators, own)
		}
		m.Terms = append(m.Terms, term)
	}
	for _, f := range random {
		m.Random = append(m.Random, find(&cols, &m.Columns, f))
	}
	return m, cols, mods
}

// cross adds the crossed effects to the model, and returns the levels of a row.
func (t *Table) cross(m *Model, written []string) (func(row int) []int32, error) {
	index := []map[string]int32{}
	for _, w := range written {
		name, column, _ := strings.Cut(w, ":")
		sloped := column != "" // build: is build
		label, ok := t.Labels[name]
		if !ok {
			return nil, &ModelError{Terms: []string{w}, Reason: "there is no label " + name, Try: "name a column of labels before the colon"}
		}
		c := Crossing{Factor: slices.Index(m.Factors, name), Column: -1}
		if sloped {
			if c.Column = slices.Index(m.Columns, column); c.Column < 0 {
				return nil, &ModelError{Terms: []string{w}, Reason: column + " is no column that varies within players",
					Try: "use one of the fixed terms after the colon"}
			}
		}
		if c.Factor < 0 {
			c.Factor = len(m.Factors)
			m.Factors = append(m.Factors, name)
			seen := map[string]int32{}
			for _, l := range label {
				if _, have := seen[l]; !have && l != "" {
					seen[l] = int32(len(seen))
				}
			}
			index = append(index, seen)
		}
		if c.Levels = len(index[c.Factor]); c.Levels < 2 {
			return nil, &ModelError{Kind: NotEnough, Terms: []string{w}, Reason: "it has fewer than two levels", Try: "leave it out"}
		}
		m.Crossed = append(m.Crossed, c)
	}
	out := make([]int32, len(m.Factors))
	return func(row int) []int32 {
		for f, name := range m.Factors {
			out[f] = -1
			if l, ok := index[f][t.Labels[name][row]]; ok {
				out[f] = l
			}
		}
		return out
	}, nil
}

func (t *Table) names() []string {
	var n []string
	for c := range t.Columns {
		n = append(n, c)
	}
	slices.Sort(n)
	return n
}

// short shows the first few of a list.
func short(list []string) string {
	if len(list) > 5 {
		return strings.Join(list[:5], ", ") + " …"
	}
	return strings.Join(list, ", ")
}
