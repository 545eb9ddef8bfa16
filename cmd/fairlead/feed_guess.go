package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/guess"
)

func newFeedGuessCommand() *cobra.Command {
	var device, out string
	var answers []string
	var ask bool
	c := &cobra.Command{
		Use:   "guess FILE...",
		Short: "Draft a field map from files that a device wrote",
		Long: `Looks at a device's files (a folder for every file in it) and drafts their field
map: encoding, what a record is, names, units, sides, the clock, what numbers a
shot. Units that the files do not say are chosen by whether the shots then fly as
balls do. What the files cannot tell is asked, never settled by itself: the
questions stand in the map and on standard error, with what is assumed; --ask
asks them here, --answer KEY=VALUE settles one.

The map goes to standard output, or to --out. Try it with feed try on the same
files before it goes to work.

Exit code 0 with a map, questions or not; 1 when no map could be drafted.`,
		Example: `  fairlead feed guess testdata/feeds/alder.csv
  fairlead feed guess --device willow --answer side=right testdata/feeds/alder.csv`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return frame.Use(errors.New("give the files that the device wrote, or their folder"))
			}
			return nil
		},
	}
	c.Flags().StringVar(&device, "device", "device", "name of the device in the map")
	c.Flags().StringVar(&out, "out", "", "write the map to this file")
	c.Flags().StringArrayVar(&answers, "answer", nil, "answer to a question, KEY=VALUE; may be given several times")
	c.Flags().BoolVar(&ask, "ask", false, "ask the questions in the terminal")
	c.Flags().Bool("json", false, "write the map and the questions as one JSON object")
	c.RunE = func(c *cobra.Command, args []string) error {
		if event.CheckName("device", device) != nil {
			return frame.Use(fmt.Errorf("--device %q: use 1 to 32 of a-z, 0-9 and -", device))
		}
		given, err := guess.ParseAnswers(answers)
		if err != nil {
			return frame.Use(err)
		}
		var settle func(guess.Question) error
		if in := bufio.NewReader(c.InOrStdin()); ask {
			settle = func(q guess.Question) error { return given.In(in, c.ErrOrStderr(), q) }
		}
		p, err := draftedUnless(c.Context(), func() (*guess.Proposal, error) {
			files, err := guess.Samples(args)
			if err != nil {
				return nil, err
			}
			return guess.DraftFiles(files, device, given, settle)
		})
		if err != nil {
			return err
		}
		if out != "" {
			if err := os.WriteFile(out, []byte(p.Map), 0o644); err != nil {
				return fmt.Errorf("write the drafted map: %w", err)
			}
		}
		if frame.WantsJSON(c) {
			return frame.PrintJSONLine(c.OutOrStdout(), p.Account())
		}
		if out == "" {
			if _, err := io.WriteString(c.OutOrStdout(), p.Map); err != nil {
				return err
			}
		}
		return p.WriteQuestions(c.ErrOrStderr())
	}
	return c
}

// draftedUnless drafts until somebody ends the command: neither a wide table nor
// a question that nobody answers keeps it. What is left behind ends with the
// process, and has written nothing.
func draftedUnless(ctx context.Context, draft func() (*guess.Proposal, error)) (*guess.Proposal, error) {
	type outcome struct {
		p   *guess.Proposal
		err error
	}
	done := make(chan outcome, 1)
	go func() {
		p, err := draft()
		done <- outcome{p, err}
	}()
	select {
	case o := <-done:
		return o.p, o.err
	case <-ctx.Done():
		return nil, fmt.Errorf("draft a field map: %w", ctx.Err())
	}
}
