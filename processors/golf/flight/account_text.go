package flight

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"fairlead/ingest/contract/unit"
)

// Writer writes flights as they come: JSON, a table of many, or one in full.
type Writer struct {
	To    io.Writer
	JSON  bool // an object for one flight, one a line for many
	Many  bool
	table *tabwriter.Writer
}

// Add writes one flight.
func (f *Writer) Add(r *Account) error {
	switch {
	case f.JSON && f.Many:
		return json.NewEncoder(f.To).Encode(r)
	case f.JSON:
		e := json.NewEncoder(f.To)
		e.SetIndent("", "  ")
		return e.Encode(r)
	case f.Many:
		if f.table == nil {
			f.table = tabwriter.NewWriter(f.To, 0, 0, 2, ' ', tabwriter.AlignRight)
			fmt.Fprintln(f.table, "line\tid\tcarry m\tcarry yd\toffline m\tapex m\thang s\tlanding deg\tlanding m/s\ttotal m\tflags\t")
		}
		_, err := fmt.Fprintf(f.table, "%d\t%s\t%.1f\t%.1f\t%+.1f\t%.1f\t%.2f\t%.1f\t%.1f\t%.0f\t%s\t\n",
			r.Line, r.ID, r.Carry, r.Carry/unit.Yard, r.Offline, r.Apex, r.Hang, r.Landing, r.LandingSpeed, r.Total, strings.Join(r.Flags, " "))
		return err
	}
	return r.WriteText(f.To)
}

// Fail reports a shot that could not be computed: in its place in JSON, so
// that no row goes missing, and in words on stderr.
func (f *Writer) Fail(x Failure, stderr io.Writer) error {
	if f.JSON {
		return json.NewEncoder(f.To).Encode(x)
	}
	_, err := fmt.Fprintf(stderr, "fairlead: line %d: %s\n", x.Line, x.Error)
	return err
}

// Close ends the table.
func (f *Writer) Close() error {
	if f.table == nil {
		return nil
	}
	return f.table.Flush()
}

// WriteText writes one flight in full.
func (r *Account) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	both := func(name string, m float64, note string) {
		fmt.Fprintf(t, "%s\t%.1f m\t%.1f yd\t%s\n", name, unit.Rounded(m), unit.Rounded(m/unit.Yard), note)
	}
	give := func(m float64) string { return fmt.Sprintf("± %.0f m: ball and model", m) }
	both("carry", r.Carry, give(r.Band.Carry))
	both("offline", r.Offline, side(r.Offline))
	both("apex", r.Apex, give(r.Band.Apex))
	fmt.Fprintf(t, "hang time\t%.2f s\n", r.Hang)
	fmt.Fprintf(t, "landing\t%.1f deg\t%.1f m/s\t± %.0f deg\n", r.Landing, r.LandingSpeed, r.Band.Landing)
	both("total", r.Total, fmt.Sprintf("± %.0f m, low confidence", r.Band.Total))
	if r.Standard != nil {
		note := "the measured carry in standard air"
		if !*r.Applied {
			note = "left as measured: the device adjusted it"
		}
		both("standard carry", *r.Standard, note)
	}
	if len(r.Flags) > 0 {
		fmt.Fprintf(t, "flags\t%s\n", strings.Join(r.Flags, " "))
	}
	return t.Flush()
}

// side says in words which side of the target a distance is.
func side(v float64) string {
	switch {
	case v > 0.05:
		return "right"
	case v < -0.05:
		return "left"
	}
	return ""
}
