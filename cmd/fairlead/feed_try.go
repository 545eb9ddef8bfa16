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
	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/guess"
	"fairlead/processors/golf/plausible"
)

func newFeedTryCommand() *cobra.Command {
	var mapFile string
	var strict, asJSON bool
	c := &cobra.Command{
		Use:   "try --map MAP.yaml FILE...",
		Short: "Read a device's files through a field map, and show shots and rejects",
		Long: `Reads the files (- for standard input, a folder for every file in it), one
after the other as one feed, as a collector would, and prints each shot as one
JSON line on standard output, in SI with degrees and rpm, the unit in the key.
Lines that are no valid shot go to standard error with file, line, column,
value, the reason and what to try; a summary follows there: distinct shots,
later versions of a shot, repeated lines, and shots under a number that an
earlier shot has. What the physics of the shots says against the map follows
too, with the suspected cure. Nothing is kept.

Exit code 0 when the files were read, rejected lines or not; 1 when one can't
be read or held bytes and no line of data, or with --strict when a line was
rejected; 2 for a bad map, and then nothing but the map's error is printed.`,
		Example: `  fairlead feed try --map testdata/feeds/alder.yaml testdata/feeds/alder.csv
  fairlead feed try --map testdata/feeds/brook.yaml --strict - < testdata/feeds/brook.ndjson`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return &usageError{fmt.Errorf("give one file or more, a folder, or - for standard input; %d given", len(args))}
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
		files, err := deviceFiles(args)
		if err != nil {
			return err
		}
		t := trial{m: m, out: bufio.NewWriter(c.OutOrStdout()), errs: c.ErrOrStderr(), json: asJSON, known: map[event.ShotID]uint64{}}
		for _, path := range files {
			if err := t.file(path, c.InOrStdin()); err != nil {
				return errors.Join(err, t.out.Flush())
			}
		}
		if err := t.end(); err != nil {
			return err
		}
		if t.mute != "" || strict && t.Rejected > 0 {
			return &exitError{code: 1}
		}
		return nil
	}
	return c
}

// deviceFiles lists the files that are named, and those of a folder.
func deviceFiles(args []string) (files []string, err error) {
	for _, arg := range args {
		info, err := os.Stat(arg)
		switch {
		case arg == "-":
			files = append(files, arg)
			continue
		case err != nil:
			return nil, fmt.Errorf("read the device's file: %w", err)
		case !info.IsDir():
			files = append(files, arg)
			continue
		}
		inside, err := feed.FolderFiles(arg)
		if err != nil {
			return nil, err
		}
		files = append(files, inside...)
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("no file in %v: name the folder that the device writes to", args)
	}
	return files, nil
}

// trial is one reading of files, and what came of it.
type trial struct {
	m       *feed.Map
	numbers feed.Numbers
	known   map[event.ShotID]uint64 // content of the latest version
	out     *bufio.Writer
	errs    io.Writer
	json    bool
	doubts  guess.Doubts
	mute    string // a file with bytes and without a line of data

	Shots    int    `json:"shots"`
	Distinct int    `json:"distinct"`
	Revised  int    `json:"revisions"`
	Repeats  int    `json:"repeats"`
	Reused   uint64 `json:"reused_numbers"`
	Rejected int    `json:"rejected"`
	Skipped  uint64 `json:"skipped"`

	// What the shots say against the map.
	Doubts []plausible.Suspicion `json:"doubts,omitempty"`
}

func (t *trial) file(path string, stdin io.Reader) error {
	in, name := stdin, "stdin"
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return fmt.Errorf("read the device's file: %w", err)
		}
		defer f.Close()
		in, name = f, filepath.Base(path)
	}
	sized := &sizer{r: in}
	before := t.Shots + t.Rejected
	if err := t.read(feed.NewReader(t.m, name, sized), time.Now()); err != nil {
		return err
	}
	if sized.n > 0 && t.Shots+t.Rejected == before {
		t.mute = name
		_, err := fmt.Fprintf(t.errs, "%s: %d bytes and no line was read as data: check format, encoding, csv.skip and comment in the map, and that the file is the device's\n", name, sized.n)
		return err
	}
	return nil
}

func (t *trial) read(r *feed.Reader, now time.Time) error {
	for {
		d, err := r.Next()
		if err == io.EOF {
			t.Skipped += r.Skipped().Total()
			return nil
		}
		if err != nil {
			return fmt.Errorf("read the device's file: %w", err)
		}
		if err := t.show(d, now); err != nil {
			return err
		}
	}
}

// end writes the summary.
func (t *trial) end() error {
	if err := t.out.Flush(); err != nil {
		return fmt.Errorf("write shots: %w", err)
	}
	t.Reused = t.numbers.Counts().Reused
	if t.json {
		t.Doubts = t.doubts.Suspicions(t.m)
		return json.NewEncoder(t.errs).Encode(t)
	}
	_, err := fmt.Fprintf(t.errs, "%d shots, %d lines rejected, %d lines skipped (empty, comments, headers)\n", t.Shots, t.Rejected, t.Skipped)
	if err == nil {
		_, err = fmt.Fprintf(t.errs, "%d distinct shots, %d revisions, %d repeats\n", t.Distinct, t.Revised, t.Repeats)
	}
	if err == nil && t.Reused > 0 {
		_, err = fmt.Fprintf(t.errs, "%d shots have a number that an earlier shot has: the device's counter begins again, and they count as other shots; say within what it is unique with shot_id.scope (day, file) or name the session's column too\n", t.Reused)
	}
	for _, words := range guess.Words(t.doubts.Suspicions(t.m)) {
		if err == nil {
			_, err = fmt.Fprintln(t.errs, words)
		}
	}
	return err
}

// show prints a shot, or why a line is none.
func (t *trial) show(d feed.Draft, now time.Time) error {
	e := d.Finish(feed.Stamp{Studio: "try", Bay: "try", Feed: "try", Received: now, Effective: now, Numbers: &t.numbers})
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
	t.count(e)
	t.doubts.Add(e)
	line, err := feed.ShotJSON(e)
	if err != nil {
		return fmt.Errorf("write line %d: %w", e.Line, err)
	}
	_, err = t.out.Write(append(line, '\n'))
	return err
}

func (t *trial) count(e *event.Entry) {
	t.Shots++
	content := e.Content()
	before, known := t.known[e.ID()]
	switch {
	case !known:
		t.Distinct++
	case before == content:
		t.Repeats++
	default:
		t.Revised++
	}
	t.known[e.ID()] = content
}

func (t *trial) reject(r feed.Reject) error {
	if t.json {
		return json.NewEncoder(t.errs).Encode(r)
	}
	_, err := fmt.Fprintln(t.errs, r)
	return err
}

// sizer counts what is read.
type sizer struct {
	r io.Reader
	n int64
}

func (s *sizer) Read(p []byte) (int, error) {
	n, err := s.r.Read(p)
	s.n += int64(n)
	return n, err
}
