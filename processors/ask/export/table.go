package export

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/hub/store/question"
	"fairlead/processors/visit/tag"
)

// table is one kind of rows: the view that holds the current ones, in the order
// of its sort key, so that the store passes them on as it reads them.
type table struct {
	name, view, order string
	except            string // columns that are not for others
	time              string // column that from and to speak of
	statuses          string // what rows are counted by
	hidden            hidden // rows that the view leaves out
}

// hidden is what a view leaves out of its table, and what to call it.
type hidden struct{ table, where, what string }

var tables = []table{
	{"shots", "shots_all", "studio, bay, journal, seq, shot_id", "", "at", "status", hidden{}},
	{"trials", "trial_rows", "studio, bay, session, trial, part", "", "first_shot", "category",
		hidden{"trials FINAL", "n = 0 AND n_excluded + n_set_aside > 0", "trials without a shot that counts"}},
	{"visits", "visit_events FINAL", "studio, bay, id", "event", "effective", "kind", hidden{}},
	{"verdicts", "verdicts_followed", "studio, bay, id", "", "at", "kind",
		hidden{"verdicts FINAL", "NOT live", "verdicts that were taken back or erased"}},
}

// Tables are the names of what can be exported.
func Tables() []string {
	var out []string
	for _, t := range tables {
		out = append(out, t.name)
	}
	return out
}

// Request says which rows of which table.
type Request struct {
	Table     string
	Studio    string
	Bays      []string
	Player    string // pseudonym
	Session   string
	Visit     string
	Category  string
	From, To  string // days in UTC, both included, as 2026-01-31
	Consented bool   // only what may teach across players: consent, and no minor
	Statuses  []string
}

// RequestError says which part of a request can't be read.
type RequestError struct{ Part, Value, Reason, Try string }

func (e *RequestError) Error() string {
	return fmt.Sprintf("%s %q: %s; %s", e.Part, e.Value, e.Reason, e.Try)
}

func (r Request) table() (table, error) {
	for _, t := range tables {
		if t.name == r.Table {
			return t, nil
		}
	}
	return table{}, &RequestError{"table", r.Table, "is not kept", "use " + strings.Join(Tables(), ", ")}
}

// Check returns a *RequestError for what can't be asked.
func (r Request) Check() error {
	if _, err := r.table(); err != nil {
		return err
	}
	if r.Category != "" && !slices.Contains(glossary.CategoryNames(), r.Category) {
		return &RequestError{"category", r.Category, "is not known", "use " + strings.Join(glossary.CategoryNames(), ", ")}
	}
	var days []time.Time
	for _, d := range []struct{ part, day string }{{"from", r.From}, {"to", r.To}} {
		if d.day == "" {
			continue
		}
		at, err := time.Parse(time.DateOnly, d.day)
		if err != nil || at.Year() < 2000 || at.Year() > 2200 {
			return &RequestError{d.part, d.day, "is no day", "write it as 2026-01-31"}
		}
		days = append(days, at)
	}
	if len(days) == 2 && days[1].Before(days[0]) {
		return &RequestError{"to", r.To, "is before from, " + r.From, "turn them round"}
	}
	for _, s := range r.Statuses {
		if _, ok := tag.ParseStatus(s); !ok {
			return &RequestError{"status", s, "is not known", "see the column status of the dictionary"}
		}
	}
	if len(r.Statuses) > 0 && r.Table != "shots" {
		return &RequestError{"status", strings.Join(r.Statuses, ","), "is of shots only", "leave it out"}
	}
	return nil
}

// where is the condition and its parameters. without leaves the choice of
// statuses and of consent out: what they exclude is counted.
func (r Request) where(t table, without bool) (string, map[string]string) {
	terms, args := []string{"1"}, map[string]string{}
	add := func(name, value, term string) {
		if value != "" {
			args[name] = value
			terms = append(terms, term)
		}
	}
	add("studio", r.Studio, "studio = {studio:String}")
	if len(r.Bays) > 0 {
		var names []string
		for i, b := range r.Bays {
			name := fmt.Sprintf("bay%d", i)
			args[name] = b
			names = append(names, "{"+name+":String}")
		}
		terms = append(terms, "bay IN ("+strings.Join(names, ", ")+")")
	}
	add("session", r.Session, "session = {session:String}")
	add("visit", r.Visit, "visit = {visit:String}")
	if t.name == "visits" { // events name neither: their sessions do
		add("player", r.Player, "session IN ("+question.SessionsOf()+")")
		add("category", r.Category, question.OfCategory())
	} else {
		add("player", r.Player, "player = {player:String}")
		add("category", r.Category, "category = {category:String}")
	}
	add("from", r.From, t.time+" >= toDateTime64(toDate({from:String}), 9, 'UTC')")
	add("to", r.To, t.time+" < toDateTime64(toDate({to:String}) + 1, 9, 'UTC')")
	if without {
		return strings.Join(terms, " AND "), args
	}
	return strings.Join(append(terms, r.choice(t)), " AND "), args
}

// choice is what of the rows is wanted.
func (r Request) choice(t table) string {
	terms := []string{"1"}
	if len(r.Statuses) > 0 { // checked words
		terms = append(terms, "status IN ('"+strings.Join(r.Statuses, "', '")+"')")
	}
	if r.Consented {
		switch t.name {
		case "shots", "trials":
			terms = append(terms, "consent AND NOT minor")
		default:
			terms = append(terms, question.Consented())
		}
	}
	return strings.Join(terms, " AND ")
}

// Counts is a number of rows by what they are.
type Counts struct {
	What string
	Rows uint64
}

func sortCounts(c []Counts) {
	slices.SortFunc(c, func(a, b Counts) int { return cmp.Or(cmp.Compare(b.Rows, a.Rows), cmp.Compare(a.What, b.What)) })
}

// Total is the sum of counts.
func Total(c []Counts) (n uint64) {
	for _, x := range c {
		n += x.Rows
	}
	return n
}
