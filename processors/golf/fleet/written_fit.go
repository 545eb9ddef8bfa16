package fleet

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
)

// WrittenFit is a model as a command line writes it.
type WrittenFit struct {
	Columns          CSVColumns
	Fixed, Random    []string // terms: columns, or products a:m
	Crossed          []string // labels, or label:column
	Intercept        bool
	SessionLevel     bool   // each session has a fixed level of its own
	Covariance       string // of sampling within a session: diag or shared
	RandomCovariance string // diag or full
	Test             string // z or knha
}

// Spec checks what was written, part against part, and notes the columns to read.
func (a *WrittenFit) Spec() (Spec, Options, error) {
	s := Spec{Fixed: a.Fixed, Random: a.Random, Crossed: a.Crossed, Intercept: a.Intercept, SessionLevel: a.SessionLevel}
	var o Options
	wrong := func(format string, args ...any) (Spec, Options, error) {
		return s, o, fmt.Errorf(format, args...)
	}
	if len(a.Fixed) == 0 && !a.Intercept {
		return wrong("nothing to estimate: name --fixed terms, or add --intercept")
	}
	if a.Columns.V == "" {
		s.Variance = Estimated
	}
	switch a.Covariance {
	case "diag":
	case "shared":
		if a.Columns.Session == "" || a.Columns.V == "" {
			return wrong("--vcov shared needs --session, the rows that share a baseline, and --v")
		}
		s.Variance = Shared
		a.Columns.V0 = "v0"
	default:
		return wrong("--vcov %q: use diag or shared", a.Covariance)
	}
	switch a.RandomCovariance {
	case "diag":
	case "full":
		s.FullCovariance = true
	default:
		return wrong("--random-cov %q: use diag or full", a.RandomCovariance)
	}
	switch a.Test {
	case "z":
	case "knha":
		o.Test = KnappHartung
	default:
		return wrong("--test %q: use z or knha", a.Test)
	}
	if a.SessionLevel && a.Columns.Session == "" {
		return wrong("--session-level needs --session, the column that names the session")
	}
	for _, x := range a.Crossed {
		label, column, _ := strings.Cut(x, ":")
		if !slices.Contains(a.Columns.Labels, label) {
			a.Columns.Labels = append(a.Columns.Labels, label)
		}
		if column != "" && !slices.Contains(a.Columns.Used, column) {
			a.Columns.Used = append(a.Columns.Used, column)
		}
	}
	for _, t := range append(slices.Clone(a.Fixed), a.Random...) {
		for _, c := range strings.Split(t, ":") {
			if c = strings.TrimSpace(c); c != "" && c != Constant && !slices.Contains(a.Columns.Used, c) {
				a.Columns.Used = append(a.Columns.Used, c)
			}
		}
	}
	return s, o, nil
}

// FitCSV reads a file and estimates; the warnings of the reading lead those of
// the fit. Those of a file that could not be fitted come beside the error.
func FitCSV(ctx context.Context, in io.Reader, name string, want CSVColumns, s Spec, o Options) (*Fit, []Warning, error) {
	t, err := ReadCSV(in, want)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	d, notes, err := t.Data(s)
	if err != nil {
		return nil, notes, fmt.Errorf("%s: %w", name, err)
	}
	f, err := d.Fit(ctx, o)
	if err != nil {
		return nil, notes, fmt.Errorf("%s: %w", name, err)
	}
	f.Warnings = append(notes, f.Warnings...)
	return f, nil, nil
}
