package answers

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// Build is a build that the fleet has hit, or that a list of stock names.
type Build struct {
	Key        string
	Name       string
	Attributes [fleet.AttributeCount]float64 // NaN: unknown
	Players    uint64                        // who hit it
	Trials     uint64
}

// BuildsNow are the builds of the newest data, which is looked at first.
func (f *Fleet) BuildsNow(ctx context.Context, category string, most int) ([]Build, error) {
	mark, err := f.Refresh(ctx)
	if err != nil {
		return nil, err
	}
	return f.Builds(ctx, mark.Snapshot, category, most)
}

// Builds lists the builds that players tried beside their own clubs, those of
// most players first.
func (f *Fleet) Builds(ctx context.Context, snapshot uint64, category string, most int) ([]Build, error) {
	where := fmt.Sprintf("snapshot = %d", snapshot)
	if category != "" {
		where += " AND category = " + quote(category)
	}
	rows, err := f.store.Conn().Query(ctx, question.Stock(where, most))
	if err != nil {
		return nil, fmt.Errorf("builds of the fleet: %w", err)
	}
	defer rows.Close()
	var out []Build
	for rows.Next() {
		var b Build
		to := []any{&b.Key, &b.Name, &b.Players, &b.Trials}
		for i := range b.Attributes {
			to = append(to, &b.Attributes[i])
		}
		if err := rows.Scan(to...); err != nil {
			return nil, fmt.Errorf("builds of the fleet: %w", err)
		}
		out = append(out, b)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("builds of the fleet: %w", err)
	}
	return out, nil
}

// StockError says which line and column of a list of stock cannot be read.
type StockError struct {
	Line   int
	Column string
	Value  string
	Reason string
	Try    string
}

func (e *StockError) Error() string {
	where := fmt.Sprintf("line %d", e.Line)
	if e.Column != "" {
		where += ", " + e.Column
	}
	return fmt.Sprintf("%s %q: %s; %s", where, e.Value, e.Reason, e.Try)
}

var stockUnits = [fleet.AttributeCount]unit.Quantity{
	fleet.Length: unit.Length, fleet.Loft: unit.Angle, fleet.Lie: unit.Angle, fleet.ShaftWeight: unit.Mass,
	fleet.Torque: unit.Angle, fleet.HeadWeight: unit.Mass,
}

// ReadStock reads builds from CSV with a header: build, and any of the
// attributes' names. Values carry units (45.5in, 65g) or are SI; flex is a
// letter, swing_weight a reading such as D2. An empty cell is unknown: advice
// then takes the incumbent's.
func ReadStock(r io.Reader) ([]Build, error) {
	c := csv.NewReader(r)
	c.TrimLeadingSpace = true
	c.FieldsPerRecord = -1
	records, err := c.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("stock: %w", err)
	}
	if len(records) < 2 {
		return nil, &StockError{1, "", "", "there is no build in it", "write a header line (build, length, loft …) and one line a build"}
	}
	head := records[0]
	at := map[string]int{}
	for i, name := range head {
		name = strings.ToLower(strings.TrimSpace(name))
		if _, ok := fleet.ParseAttribute(name); !ok && name != "build" {
			return nil, &StockError{1, fmt.Sprintf("column %d", i+1), head[i], "is no attribute",
				"use build, length, loft, lie, shaft_weight, flex, torque, head_weight, swing_weight"}
		}
		if _, twice := at[name]; twice {
			return nil, &StockError{1, fmt.Sprintf("column %d", i+1), head[i], "is there twice", "name each column once"}
		}
		at[name] = i
	}
	if _, ok := at["build"]; !ok {
		return nil, &StockError{1, "", strings.Join(head, ","), "names no column build", "add a column build with the name of each"}
	}
	var out []Build
	for n, rec := range records[1:] {
		line := n + 2
		if len(rec) != len(head) {
			return nil, &StockError{line, "", strings.Join(rec, ","), fmt.Sprintf("has %d cells, the header %d", len(rec), len(head)),
				"leave a cell empty where a value is unknown"}
		}
		b := Build{Name: strings.TrimSpace(rec[at["build"]]), Attributes: fleet.NoAttributes()}
		if b.Key = b.Name; b.Name == "" || slices.ContainsFunc(out, func(o Build) bool { return o.Name == b.Name }) {
			return nil, &StockError{line, "build", b.Name, "is empty or there twice", "give every build a name of its own"}
		}
		for _, a := range fleet.AllAttributes() {
			i, ok := at[a.Name()]
			if !ok || strings.TrimSpace(rec[i]) == "" {
				continue
			}
			x, err := stockValue(a, strings.TrimSpace(rec[i]))
			if err != nil {
				return nil, &StockError{line, a.Name(), rec[i], err.Error(), "write it as 45.5in, 10.5deg, 65g, R or D2"}
			}
			b.Attributes[a] = x
		}
		out = append(out, b)
	}
	return out, nil
}

func stockValue(a fleet.Attribute, text string) (float64, error) {
	switch a {
	case fleet.Flex:
		if x, ok := fleet.FlexIndex(text); ok {
			return x, nil
		}
		return 0, fmt.Errorf("is no flex letter")
	case fleet.SwingWeight:
		w, err := club.ParseSwingWeight(text)
		if err != nil {
			return 0, err
		}
		return w.Moment(), nil
	}
	x, err := unit.Parse(stockUnits[a], text)
	if err == nil && (math.IsNaN(x) || math.IsInf(x, 0)) {
		err = fmt.Errorf("is not a number")
	}
	return x, err
}

// ReadStockFile reads a list of builds from a file.
func ReadStockFile(name string) ([]Build, error) {
	if name == "" {
		return nil, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("stock: %w", err)
	}
	stock, err := ReadStock(f)
	if err = errors.Join(err, f.Close()); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return stock, nil
}
