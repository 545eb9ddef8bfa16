package enquiry

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"text/tabwriter"
	"time"

	"fairlead/ingest/contract/cell"
	"fairlead/processors/ask/answers"
)

// Column is a column of a table. Unit is that of its numbers: %, m, days, or empty
// for texts, counts and shares; Share is a number from 0 to 1.
type Column struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Unit  string `json:"unit,omitempty"`
	Sort  Sort   `json:"sort"`
}

// Sort is what stands in a column.
type Sort string

const (
	Text   Sort = "text"
	Count  Sort = "count"
	Number Sort = "number"
	Change Sort = "change" // a number with its sign
	Share  Sort = "share"
	Odds   Sort = "p"   // a p, adjusted or not
	Key    Sort = "key" // names something to programs: files and the command line have it, pages do not
)

// Cell is a value: a text, or a number that may not be known.
type Cell struct {
	Text   string
	Number float64 // NaN: not known
	IsText bool
}

// T and N make cells.
func T(s string) Cell { return Cell{Text: s, IsText: true} }

// N is a cell with a number; NaN is one that is not known.
func N(x float64) Cell { return Cell{Number: x} }

// C is a cell with a count.
func C[T ~int | ~uint64 | ~uint32](n T) Cell { return Cell{Number: float64(n)} }

// MarshalJSON writes a text, a number, or null.
func (c Cell) MarshalJSON() ([]byte, error) {
	switch {
	case c.IsText:
		return json.Marshal(c.Text)
	case math.IsNaN(c.Number) || math.IsInf(c.Number, 0):
		return []byte("null"), nil
	}
	return json.Marshal(c.Number)
}

// UnmarshalJSON reads it back.
func (c *Cell) UnmarshalJSON(b []byte) error {
	switch {
	case string(b) == "null":
		*c = N(math.NaN())
	case len(b) > 0 && b[0] == '"':
		c.IsText = true
		return json.Unmarshal(b, &c.Text)
	default:
		return json.Unmarshal(b, &c.Number)
	}
	return nil
}

// Plot says which columns are drawn: a label, and a value with its interval. Group
// may be empty. Better is the side that is an improvement: −1, +1, 0 for neither.
type Plot struct {
	Group  string  `json:"group,omitempty"`
	Label  string  `json:"label"`
	Value  string  `json:"value"`
	Low    string  `json:"low"`
	High   string  `json:"high"`
	Unit   string  `json:"unit"`
	Better float64 `json:"better"`
	Margin float64 `json:"margin,omitempty"`
}

// Table is an answer.
type Table struct {
	ID       string       `json:"id"`
	Enquiry  Enquiry      `json:"enquiry"`
	Title    string       `json:"title"`
	Asks     string       `json:"asks"`
	Said     []string     `json:"said"` // in sentences, the most important first
	Columns  []Column     `json:"columns"`
	Rows     [][]Cell     `json:"rows"`
	Plot     *Plot        `json:"plot,omitempty"`
	Notes    []string     `json:"notes,omitempty"`
	Refused  string       `json:"refused,omitempty"`
	Mark     answers.Mark `json:"mark"`
	Asked    time.Time    `json:"asked"`
	Seconds  float64      `json:"seconds"`
	Trials   int          `json:"trials"`
	Players  int          `json:"players"`
	Methods  string       `json:"methods"` // where it is said how
	Snapshot uint64       `json:"snapshot"`
}

// Add appends a row.
func (t *Table) Add(cells ...Cell) { t.Rows = append(t.Rows, cells) }

// say appends a sentence.
func (t *Table) say(format string, args ...any) {
	t.Said = append(t.Said, fmt.Sprintf(format, args...))
}

func (t *Table) note(format string, args ...any) {
	t.Notes = append(t.Notes, fmt.Sprintf(format, args...))
}

// Place is the place of a column by its name, or −1.
func (t *Table) Place(name string) int {
	for i, c := range t.Columns {
		if c.Name == name {
			return i
		}
	}
	return -1
}

// Value is a row's number in a column; NaN where there is none.
func (t *Table) Value(row int, name string) float64 {
	if i := t.Place(name); i >= 0 && !t.Rows[row][i].IsText {
		return t.Rows[row][i].Number
	}
	return math.NaN()
}

// Find is the first row whose column has a text, or −1.
func (t *Table) Find(column, text string) int {
	i := t.Place(column)
	for n, r := range t.Rows {
		if i >= 0 && r[i].Text == text {
			return n
		}
	}
	return -1
}

// WriteCSV writes the rows, each with the answer's id, under names with their units.
func (t *Table) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	head := []string{"answer"}
	for _, c := range t.Columns {
		name := c.Name
		switch c.Unit {
		case "":
		case "%":
			name += "_percent"
		default:
			name += "_" + c.Unit
		}
		head = append(head, name)
	}
	if err := out.Write(head); err != nil {
		return err
	}
	for _, r := range t.Rows {
		row := []string{t.ID}
		for _, c := range r {
			switch {
			case c.IsText:
				row = append(row, c.Text)
			case math.IsNaN(c.Number) || math.IsInf(c.Number, 0):
				row = append(row, "")
			default:
				row = append(row, strconv.FormatFloat(c.Number, 'g', -1, 64))
			}
		}
		cell.Row(row)
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// odds writes a p as people read it.
func odds(p float64) string {
	if p < 0.001 {
		return "below 0.001"
	}
	return fmt.Sprintf("%.2g", p)
}

// Show writes a cell of a column for people.
func (c Column) Show(x Cell) string {
	v := x.Number
	switch {
	case x.IsText:
		return x.Text
	case math.IsNaN(v) || math.IsInf(v, 0):
		return "–"
	case c.Sort == Count:
		return strconv.FormatFloat(v, 'f', 0, 64)
	case c.Sort == Share:
		return fmt.Sprintf("%.0f %%", 100*v)
	case c.Sort == Odds:
		return odds(v)
	}
	digits := 1
	if c.Unit == "" || c.Unit == "m" && math.Abs(v) < 1 {
		digits = 2
	}
	text := fmt.Sprintf("%.*f", digits, math.Abs(v))
	switch {
	case v < 0 && text != fmt.Sprintf("%.*f", digits, 0.0):
		text = "−" + text
	case c.Sort == Change:
		text = "+" + text
	}
	if c.Unit != "" {
		text += " " + c.Unit
	}
	return text
}

// WriteText writes the sentences and the rows for a terminal.
func (t *Table) WriteText(w io.Writer) error {
	fmt.Fprintln(w, t.Title)
	fmt.Fprintf(w, "%s\nanswer %s, asked %s; data: %d trials of %d players, up to %s%s\n\n", t.Asks, t.ID,
		t.Asked.UTC().Format("2006-01-02 15:04 UTC"),
		t.Trials, t.Players, t.Mark.Inserted.UTC().Format("2006-01-02 15:04:05 UTC"), t.Mark.Age(time.Now()))
	if t.Refused != "" {
		fmt.Fprintf(w, "Not enough to say: %s\n", t.Refused)
	}
	for _, s := range t.Said {
		fmt.Fprintln(w, " ", s)
	}
	if len(t.Rows) > 0 {
		fmt.Fprintln(w)
		out := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for i, c := range t.Columns {
			if i > 0 {
				fmt.Fprint(out, "\t")
			}
			fmt.Fprint(out, c.Title)
		}
		fmt.Fprintln(out)
		for _, r := range t.Rows {
			for i, c := range t.Columns {
				if i > 0 {
					fmt.Fprint(out, "\t")
				}
				fmt.Fprint(out, c.Show(r[i]))
			}
			fmt.Fprintln(out)
		}
		if err := out.Flush(); err != nil {
			return err
		}
	}
	for _, n := range t.Notes {
		fmt.Fprintln(w, "note:", n)
	}
	return nil
}
