package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/ingest/bay/sample"
	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/guess"
)

// sampleBytes is how much of a file a guess looks at.
const sampleBytes = 1 << 20

func newFeedGuessCommand() *cobra.Command {
	var device, out string
	var answers []string
	var ask, asJSON bool
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
				return &usageError{errors.New("give the files that the device wrote, or their folder")}
			}
			return nil
		},
	}
	c.Flags().StringVar(&device, "device", "device", "name of the device in the map")
	c.Flags().StringVar(&out, "out", "", "write the map to this file")
	c.Flags().StringArrayVar(&answers, "answer", nil, "answer to a question, KEY=VALUE; may be given several times")
	c.Flags().BoolVar(&ask, "ask", false, "ask the questions in the terminal")
	c.Flags().BoolVar(&asJSON, "json", false, "write the map and the questions as one JSON object")
	c.RunE = func(c *cobra.Command, args []string) error {
		if event.CheckName("device", device) != nil {
			return &usageError{fmt.Errorf("--device %q: use 1 to 32 of a-z, 0-9 and -", device)}
		}
		given := map[string]string{}
		for _, a := range answers {
			key, value, ok := strings.Cut(a, "=")
			if !ok {
				return &usageError{fmt.Errorf("--answer %q: write KEY=VALUE, as the questions name them", a)}
			}
			given[key] = value
		}
		files, err := sampled(args)
		if err != nil {
			return err
		}
		draft := func() (*guess.Proposal, error) {
			t, err := sample.Read(files)
			if err != nil {
				return nil, fmt.Errorf("guess a field map: %w", err)
			}
			return guess.Draft(t, device, given)
		}
		p, err := draft()
		for in := bufio.NewReader(c.InOrStdin()); err == nil && ask && len(p.Questions) > 0; p, err = draft() {
			if err := askOne(in, c.ErrOrStderr(), p.Questions[0], given); err != nil {
				return err
			}
		}
		if err != nil {
			return err
		}
		if err := checkAnswers(answers, p, given); err != nil {
			return err
		}
		if out != "" {
			if err := os.WriteFile(out, []byte(p.Map), 0o644); err != nil {
				return fmt.Errorf("write the drafted map: %w", err)
			}
		}
		if asJSON {
			return json.NewEncoder(c.OutOrStdout()).Encode(struct {
				Map       string           `json:"map"`
				Questions []guess.Question `json:"questions"`
				Unused    []string         `json:"unused_columns"`
			}{p.Map, p.Questions, p.Left})
		}
		if out == "" {
			if _, err := io.WriteString(c.OutOrStdout(), p.Map); err != nil {
				return err
			}
		}
		return sayQuestions(c.ErrOrStderr(), p)
	}
	return c
}

// sampled reads the first part of each file.
func sampled(args []string) (out []sample.File, err error) {
	paths, err := deviceFiles(args)
	if err != nil {
		return nil, err
	}
	for _, path := range paths[:min(len(paths), 50)] {
		f, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("read the device's file: %w", err)
		}
		data, err := io.ReadAll(io.LimitReader(f, sampleBytes))
		f.Close()
		if err != nil {
			return nil, fmt.Errorf("read the device's file: %w", err)
		}
		if len(data) == sampleBytes { // whole lines alone
			if at := strings.LastIndexByte(string(data), '\n'); at > 0 {
				data = data[:at+1]
			}
		}
		out = append(out, sample.File{Name: filepath.Base(path), Data: data})
	}
	return out, nil
}

// askOne asks a question and takes the number of an option, or the option.
func askOne(in *bufio.Reader, out io.Writer, q guess.Question, answers map[string]string) error {
	fmt.Fprintln(out, q.Text)
	for i, w := range q.Words {
		fmt.Fprintf(out, "  %d  %s\n", i+1, w)
	}
	for {
		fmt.Fprint(out, "> ")
		line, err := in.ReadString('\n')
		line = strings.TrimSpace(line)
		if n, bad := strconv.Atoi(line); bad == nil && n >= 1 && n <= len(q.Options) {
			answers[q.Key] = q.Options[n-1]
			return nil
		}
		for _, o := range q.Options {
			if line == o {
				answers[q.Key] = o
				return nil
			}
		}
		if err != nil {
			return fmt.Errorf("no answer to %q: leave --ask out, or give --answer %s=%s", q.Key, q.Key, strings.Join(q.Options, "|"))
		}
		fmt.Fprintf(out, "give a number from 1 to %d\n", len(q.Options))
	}
}

// checkAnswers refuses an answer to a question by a word that it does not know.
func checkAnswers(answers []string, p *guess.Proposal, given map[string]string) error {
	for _, q := range p.Questions {
		if a, ok := given[q.Key]; ok {
			return &usageError{fmt.Errorf("--answer %s=%s: use one of %s", q.Key, a, strings.Join(q.Options, ", "))}
		}
	}
	return nil
}

func sayQuestions(w io.Writer, p *guess.Proposal) error {
	for _, q := range p.Questions {
		if _, err := fmt.Fprintf(w, "question %s: %s Assumed: %s. Answer with --answer %s=%s\n", q.Key, q.Text, q.Assumed, q.Key, strings.Join(q.Options, "|")); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintf(w, "%d fields, %d questions, %d columns not used\n", len(p.Fields), len(p.Questions), len(p.Left))
	return err
}
