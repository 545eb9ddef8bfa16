package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"fairlead/dashboards/draw"
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

// showHelp is what a group of commands does by itself.
func showHelp(c *cobra.Command, _ []string) error { return c.Help() }

// oneFile asks for exactly one file.
func oneFile(_ *cobra.Command, args []string) error {
	if len(args) != 1 {
		return use(fmt.Errorf("give one CSV file, or - for standard input; %d given", len(args)))
	}
	return nil
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

// tell writes an answer: as JSON of v, or in words.
func tell(c *cobra.Command, asJSON bool, v any, words worded) error {
	if asJSON {
		return printJSON(c.OutOrStdout(), v)
	}
	return words.WriteText(c.OutOrStdout())
}

// tellLine is tell with JSON on one line, for programs that read line by line.
func tellLine(c *cobra.Command, asJSON bool, v any, words worded) error {
	if asJSON {
		return printJSONLine(c.OutOrStdout(), v)
	}
	return words.WriteText(c.OutOrStdout())
}
