package frame

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/unit"
)

// Picture draws into a file; without a name nothing is drawn.
func Picture(path string, drawn func() *draw.Picture) error {
	if path == "" {
		return nil
	}
	f, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("write picture: %w", err)
	}
	if err := errors.Join(drawn().Write(f), f.Close()); err != nil {
		return fmt.Errorf("write picture %s: %w", path, err)
	}
	return nil
}

// PrintJSON writes a value for programs, and for people who look at it.
func PrintJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// PrintJSONLine writes a value on one line.
func PrintJSONLine(w io.Writer, v any) error { return json.NewEncoder(w).Encode(v) }

// worded is an answer with words for people.
type worded interface{ WriteText(io.Writer) error }

// Words makes an answer of what writes it for people.
type Words func(io.Writer) error

// WriteText writes it.
func (f Words) WriteText(w io.Writer) error { return f(w) }

// InUnits makes an answer of one that is written in the units that people asked for.
func InUnits(a interface {
	WriteText(io.Writer, unit.Shown) error
}, show unit.Shown) Words {
	return func(w io.Writer) error { return a.WriteText(w, show) }
}

// WantsJSON says whether --json was given.
func WantsJSON(c *cobra.Command) bool {
	yes, _ := c.Flags().GetBool("json")
	return yes
}

// Tell writes an answer: as JSON of v where --json was given, or in words.
func Tell(c *cobra.Command, v any, words worded) error {
	if WantsJSON(c) {
		return PrintJSON(c.OutOrStdout(), v)
	}
	return words.WriteText(c.OutOrStdout())
}

// TellLine is tell with JSON on one line, for programs that read line by line.
func TellLine(c *cobra.Command, v any, words worded) error {
	if WantsJSON(c) {
		return PrintJSONLine(c.OutOrStdout(), v)
	}
	return words.WriteText(c.OutOrStdout())
}
