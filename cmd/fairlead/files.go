package main

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

// use marks an error as wrong use: another command line mends it.
func use(err error) error {
	var already *usageError
	if err == nil || errors.As(err, &already) {
		return err
	}
	return &usageError{err}
}

// noArguments refuses positional arguments as wrong use.
func noArguments(_ *cobra.Command, args []string) error {
	if len(args) > 0 {
		return use(fmt.Errorf("unexpected argument %q", args[0]))
	}
	return nil
}

// unknown refuses positional arguments of a group of commands.
func unknown(what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) > 0 {
			return use(fmt.Errorf("unknown %s %q", what, args[0]))
		}
		return nil
	}
}

// group makes a command of others: by itself it shows its help.
func group(c *cobra.Command, subs ...*cobra.Command) *cobra.Command {
	c.RunE = func(c *cobra.Command, _ []string) error { return c.Help() }
	if c.Args == nil {
		c.Args = unknown("command")
	}
	c.AddCommand(subs...)
	return c
}

// mend gives every command of a tree what all have in common: it takes no
// arguments unless it says which, and wrong ones are wrong use.
func mend(c *cobra.Command) *cobra.Command {
	takes := c.Args
	if takes == nil {
		takes = noArguments
	}
	c.Args = func(c *cobra.Command, args []string) error { return use(takes(c, args)) }
	for _, sub := range c.Commands() {
		mend(sub)
	}
	return c
}

// oneFile asks for exactly one file.
var oneFile = upTo(1, 1, "one CSV file, or - for standard input")

// upTo asks for files, at most one of them standard input.
func upTo(least, most int, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) < least || len(args) > most {
			return fmt.Errorf("give %s; %d given", what, len(args))
		}
		if len(args) == 2 && args[0] == "-" && args[1] == "-" {
			return errors.New("only one of the two files can be standard input")
		}
		return nil
	}
}

// input opens a file that the command line names; - is standard input.
func input(c *cobra.Command, path string) (io.ReadCloser, error) {
	if path == "-" {
		return io.NopCloser(c.InOrStdin()), nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read shots: %w", err)
	}
	return f, nil
}

// picture draws into a file; without a name nothing is drawn.
func picture(path string, drawn func() *draw.Picture) error {
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

// printJSON writes a value for programs, and for people who look at it.
func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// printJSONLine writes a value on one line.
func printJSONLine(w io.Writer, v any) error { return json.NewEncoder(w).Encode(v) }

// worded is an answer with words for people.
type worded interface{ WriteText(io.Writer) error }

// words makes an answer of what writes it for people.
type words func(io.Writer) error

// WriteText writes it.
func (f words) WriteText(w io.Writer) error { return f(w) }

// inUnits makes an answer of one that is written in the units that people asked for.
func inUnits(a interface {
	WriteText(io.Writer, unit.Shown) error
}, show unit.Shown) words {
	return func(w io.Writer) error { return a.WriteText(w, show) }
}

// wantsJSON says whether --json was given.
func wantsJSON(c *cobra.Command) bool {
	yes, _ := c.Flags().GetBool("json")
	return yes
}

// tell writes an answer: as JSON of v where --json was given, or in words.
func tell(c *cobra.Command, v any, words worded) error {
	if wantsJSON(c) {
		return printJSON(c.OutOrStdout(), v)
	}
	return words.WriteText(c.OutOrStdout())
}

// tellLine is tell with JSON on one line, for programs that read line by line.
func tellLine(c *cobra.Command, v any, words worded) error {
	if wantsJSON(c) {
		return printJSONLine(c.OutOrStdout(), v)
	}
	return words.WriteText(c.OutOrStdout())
}
