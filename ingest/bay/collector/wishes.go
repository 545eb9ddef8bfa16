package collector

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
)

// A running collector holds the journal alone. Whoever wants lines read again
// leaves the wish in a folder beside the journal's files, and finds the report
// there; without a collector the wish is done on the spot.
const (
	rereadDir  = "reread"
	wishEnding = ".wish.json"
	doneEnding = ".done.json"
	wishEvery  = 500 * time.Millisecond
)

// AskReread does r, or has the collector that holds the journal do it.
func AskReread(ctx context.Context, place stream.Place, dir string, r Reread, log *slog.Logger) (RereadReport, error) {
	if info, err := os.Stat(dir); err != nil || !info.IsDir() {
		return RereadReport{}, fmt.Errorf("no journal of %s in %s: run this on the bay's own machine, with its configuration", place, dir)
	}
	j, _, err := journal.Open(journal.Options{Dir: dir, Studio: place.Studio, Bay: place.Bay, Logger: log})
	if err == nil {
		defer j.Close()
		return ReadAgain(ctx, j, r)
	}
	if !errors.Is(err, journal.ErrLocked) {
		return RereadReport{}, err
	}
	wish := filepath.Join(dir, rereadDir, fmt.Sprint(r.At.UnixNano()))
	data, err := json.Marshal(r)
	if err == nil {
		err = os.MkdirAll(filepath.Dir(wish), 0o700)
	}
	if err == nil {
		err = durable.WriteFile(wish+wishEnding, data, 0o600)
	}
	if err != nil {
		return RereadReport{}, fmt.Errorf("ask the collector of %s to reread: %w", place, err)
	}
	for {
		data, err := os.ReadFile(wish + doneEnding)
		if err == nil {
			var report RereadReport
			if err := json.Unmarshal(data, &report); err != nil {
				return report, fmt.Errorf("the collector's report: %w", err)
			}
			os.Remove(wish + doneEnding)
			if report.Error != "" {
				return report, errors.New(report.Error)
			}
			return report, nil
		}
		if !errors.Is(err, fs.ErrNotExist) {
			return RereadReport{}, fmt.Errorf("the collector's report: %w", err)
		}
		if !sleep(ctx, 100*time.Millisecond) {
			os.Remove(wish + wishEnding)
			return RereadReport{}, fmt.Errorf("the collector of %s gave no report: %w; is it running?", place, ctx.Err())
		}
	}
}

// fulfil does wishes until ctx ends. One that was cut short is done again: a
// line that was read again twice with one map stands as after once.
func (in *intake) fulfil(ctx context.Context, dir string) {
	for sleep(ctx, wishEvery) {
		found, err := os.ReadDir(filepath.Join(dir, rereadDir))
		if err != nil {
			continue // nobody has wished anything
		}
		for _, f := range found {
			if name, ok := strings.CutSuffix(f.Name(), wishEnding); ok && ctx.Err() == nil {
				in.fulfilOne(ctx, filepath.Join(dir, rereadDir, name))
			}
		}
	}
}

func (in *intake) fulfilOne(ctx context.Context, path string) {
	var r Reread
	var report RereadReport
	data, err := os.ReadFile(path + wishEnding)
	if err == nil {
		err = json.Unmarshal(data, &r)
	}
	if err == nil {
		in.log.Info("lines are read again", "feed", r.Feed, "map", r.MapName, "write", r.Write)
		report, err = ReadAgain(ctx, in.journal, r)
	}
	if ctx.Err() != nil {
		return // in the next life
	}
	if err != nil {
		report.Error = err.Error()
	}
	if data, err = json.Marshal(report); err == nil {
		err = durable.WriteFile(path+doneEnding, data, 0o600)
	}
	if err == nil {
		err = os.Remove(path + wishEnding)
	}
	if err != nil {
		in.log.Error("the report of lines that were read again can't be left", "error", err)
	}
	in.log.Info("lines were read again", "feed", r.Feed, "lines", report.Lines, "added", report.Added, "written", report.Written, "error",
		report.Error)
}
