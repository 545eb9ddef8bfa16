package guess

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/plausible"
)

// Reading is one reading of a device's files through a map, and what came of it.
type Reading struct {
	m       *feed.Map
	numbers feed.Numbers
	known   map[event.ShotID]uint64 // content of the latest version
	out     *bufio.Writer
	errs    io.Writer
	json    bool
	doubts  Doubts
	mute    string // a file with bytes and without a line of data

	Shots    int    `json:"shots"`
	Distinct int    `json:"distinct"`
	Revised  int    `json:"revisions"`
	Repeats  int    `json:"repeats"`
	Reused   uint64 `json:"reused_numbers"`
	Rejected int    `json:"rejected"`
	Skipped  uint64 `json:"skipped"`

	// What is odd about the times of a file.
	Times []string `json:"times,omitempty"`
	// What the shots say against the map.
	Doubts []plausible.Suspicion `json:"doubts,omitempty"`
}

// NewReading reads through a map: shots go to out, rejected lines and the summary
// to errs, as JSON lines where asJSON is set.
func NewReading(m *feed.Map, out, errs io.Writer, asJSON bool) *Reading {
	return &Reading{m: m, out: bufio.NewWriter(out), errs: errs, json: asJSON, known: map[event.ShotID]uint64{}}
}

// Files reads files one after the other as one feed, - being stdin, and ends with
// the summary.
func (t *Reading) Files(files []string, stdin io.Reader) error {
	for _, path := range files {
		if err := t.file(path, stdin); err != nil {
			return errors.Join(err, t.out.Flush())
		}
	}
	return t.end()
}

// Mute says whether a file held bytes and no line of data.
func (t *Reading) Mute() bool { return t.mute != "" }

func (t *Reading) file(path string, stdin io.Reader) error {
	sized := &sizer{r: stdin}
	r, name := (*feed.Reader)(nil), "stdin"
	if path == "-" {
		r = feed.NewReader(t.m, name, sized)
	} else {
		from, in, err := feed.OpenReader(t.m, path, 0)
		if err != nil {
			return fmt.Errorf("read the device's file: %w", err)
		}
		defer in.Close()
		info, err := os.Stat(path)
		if err != nil {
			return fmt.Errorf("read the device's file: %w", err)
		}
		r, name, sized.n = from, filepath.Base(path), info.Size()
	}
	before := t.Shots + t.Rejected
	if err := t.read(r, time.Now()); err != nil {
		return err
	}
	if sized.n > 0 && t.Shots+t.Rejected == before {
		t.mute = name
		_, err := fmt.Fprintf(t.errs, "%s: %d bytes and no line was read as data: check format, encoding, csv.skip and comment in the map, and "+
			"that the file is the device's\n", name, sized.n)
		return err
	}
	return nil
}

func (t *Reading) read(r *feed.Reader, now time.Time) error {
	for {
		d, err := r.Next()
		if err == io.EOF {
			t.Skipped += r.Skipped().Total()
			if says := r.Clock(); says != "" {
				t.Times = append(t.Times, says)
			}
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
func (t *Reading) end() error {
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
		_, err = fmt.Fprintf(t.errs, "%d shots have a number that an earlier shot has: the device's counter begins again, and they count as "+
			"other shots; say within what it is unique with shot_id.scope (day, file) or name the session's column too\n", t.Reused)
	}
	for _, words := range append(t.Times, Words(t.doubts.Suspicions(t.m))...) {
		if err == nil {
			_, err = fmt.Fprintln(t.errs, words)
		}
	}
	return err
}

// show prints a shot, or why a line is none.
func (t *Reading) show(d feed.Draft, now time.Time) error {
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

func (t *Reading) count(e *event.Entry) {
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

func (t *Reading) reject(r feed.Reject) error {
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
