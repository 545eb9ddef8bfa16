package frame

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"
)

// noArguments refuses positional arguments as wrong use.
func noArguments(_ *cobra.Command, args []string) error {
	if len(args) > 0 {
		return Use(fmt.Errorf("unexpected argument %q", args[0]))
	}
	return nil
}

// Unknown refuses positional arguments of a group of commands.
func Unknown(what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) > 0 {
			return Use(fmt.Errorf("unknown %s %q", what, args[0]))
		}
		return nil
	}
}

// Group makes a command of others: by itself it shows its help.
func Group(c *cobra.Command, subs ...*cobra.Command) *cobra.Command {
	c.RunE = func(c *cobra.Command, _ []string) error { return c.Help() }
	if c.Args == nil {
		c.Args = Unknown("command")
	}
	c.AddCommand(subs...)
	return c
}

// Mend gives every command of a tree what all have in common: it takes no
// arguments unless it says which, and wrong ones are wrong use.
func Mend(c *cobra.Command) *cobra.Command {
	takes := c.Args
	if takes == nil {
		takes = noArguments
	}
	c.Args = func(c *cobra.Command, args []string) error { return Use(takes(c, args)) }
	for _, sub := range c.Commands() {
		Mend(sub)
	}
	return c
}

// OneFile asks for exactly one file.
var OneFile = UpTo(1, 1, "one CSV file, or - for standard input")

// UpTo asks for files, at most one of them standard input.
func UpTo(least, most int, what string) cobra.PositionalArgs {
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

// Input opens a file that the command line names; - is standard input.
func Input(c *cobra.Command, path string) (io.ReadCloser, error) {
	if path == "-" {
		return io.NopCloser(c.InOrStdin()), nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read shots: %w", err)
	}
	return f, nil
}

// AtMostOne takes one argument or none.
func AtMostOne(what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) > 1 {
			return Use(fmt.Errorf("%d arguments: give one %s", len(args), what))
		}
		return nil
	}
}

// IsTerminal says whether somebody would have to type the input.
func IsTerminal(r io.Reader) bool {
	f, ok := r.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// OneName is for commands about one thing: example is what a person would type.
func OneName(what, example string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) == 0 || args[0] == "":
			return Use(fmt.Errorf("%s is missing: `%s %s`", what, c.CommandPath(), example))
		case len(args) > 1:
			return Use(fmt.Errorf("one %s is wanted, and there are %d: put quotes round it, `%s %s`", what, len(args), c.CommandPath(), example))
		}
		return nil
	}
}
