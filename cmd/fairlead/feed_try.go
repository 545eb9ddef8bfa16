package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"fairlead/ingest/bay/feed"
)

func newFeedTryCommand() *cobra.Command {
	var mapFile string
	var strict, asJSON bool
	c := &cobra.Command{
		Use:   "try --map MAP.yaml FILE",
		Short: "Read a device's file through a field map, and show shots and rejects",
		Long: `Reads FILE (- for standard input) as a collector would and prints each shot as
one JSON line on standard output, in SI with degrees and rpm, the unit in the
key. Lines that are no valid shot go to standard error with file, line, column,
value, the reason and what to try; a summary follows there. Nothing is kept.

Exit code 0 when the file was read, rejected lines or not; 1 when it can't be
read, or with --strict when a line was rejected; 2 for a bad map, and then
nothing but the map's error is printed.`,
		Example: `  fairlead feed try --map testdata/feeds/alder.yaml testdata/feeds/alder.csv
  fairlead feed try --map testdata/feeds/brook.yaml --strict - < testdata/feeds/brook.ndjson`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return &usageError{fmt.Errorf("give one file, or - for standard input; %d given", len(args))}
			}
			return nil
		},
	}
	c.Flags().StringVar(&mapFile, "map", "", "field map of the device (required)")
	c.Flags().BoolVar(&strict, "strict", false, "exit code 1 when a line is rejected")
	c.Flags().BoolVar(&asJSON, "json", false, "write rejects and the summary as JSON lines too")
	c.RunE = func(c *cobra.Command, args []string) error {
		if mapFile == "" {
			return &usageError{errors.New("give the field map: --map FILE")}
		}
		m, err := feed.LoadMap(mapFile)
		if err != nil {
			return &exitError{2, err}
		}
		in, name := c.InOrStdin(), "stdin"
		if args[0] != "-" {
			f, err := os.Open(args[0])
			if err != nil {
				return fmt.Errorf("read the device's file: %w", err)
			}
			defer f.Close()
			in, name = f, filepath.Base(args[0])
		}
		t := trial{m: m, out: bufio.NewWriter(c.OutOrStdout()), errs: c.ErrOrStderr(), json: asJSON}
		if err := t.read(feed.NewReader(m, name, in), time.Now()); err != nil {
			return err
		}
		if strict && t.Rejected > 0 {
			return &exitError{code: 1}
		}
		return nil
	}
	return c
}

// trial is one reading of a file, and what came of it.
type trial struct {
	m        *feed.Map
	out      *bufio.Writer
	errs     io.Writer
	json     bool
	Shots    int    `json:"shots"`
	Rejected int    `json:"rejected"`
	Skipped  uint64 `json:"skipped"`
}

func (t *trial) read(r *feed.Reader, now time.Time) error {
	for {
		d, err := r.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return errors.Join(fmt.Errorf("read the device's file: %w", err), t.out.Flush())
		}
		if err := t.show(d, now); err != nil {
			return err
		}
	}
	t.Skipped = r.Skipped().Total()
	if err := t.out.Flush(); err != nil {
		return fmt.Errorf("write shots: %w", err)
	}
	if t.json {
		return json.NewEncoder(t.errs).Encode(t)
	}
	_, err := fmt.Fprintf(t.errs, "%d shots, %d lines rejected, %d lines skipped (empty, comments, headers)\n", t.Shots, t.Rejected, t.Skipped)
	if err == nil && t.Shots+t.Rejected == 0 {
		_, err = fmt.Fprintln(t.errs, "no line was read as data: check encoding, csv.skip and comment in the map, and that the file is the device's")
	}
	return err
}

// show prints a shot, or why a line is none.
func (t *trial) show(d feed.Draft, now time.Time) error {
	e := d.Finish(feed.Stamp{Studio: "try", Bay: "try", Feed: "try", Received: now, Effective: now})
	if !e.Valid() {
		t.Rejected++
		// What came before stands before it, also where both go to one terminal.
		if err := t.out.Flush(); err != nil {
			return fmt.Errorf("write shots: %w", err)
		}
		for _, reject := range feed.Rejects(t.m, e) {
			if err := t.reject(reject); err != nil {
				return fmt.Errorf("write rejects: %w", err)
			}
		}
		return nil
	}
	t.Shots++
	line, err := feed.ShotJSON(e)
	if err != nil {
		return fmt.Errorf("write line %d: %w", e.Line, err)
	}
	_, err = t.out.Write(append(line, '\n'))
	return err
}

func (t *trial) reject(r feed.Reject) error {
	if t.json {
		return json.NewEncoder(t.errs).Encode(r)
	}
	_, err := fmt.Fprintln(t.errs, r)
	return err
}
