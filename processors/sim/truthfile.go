package sim

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
)

// WithTruth runs f with the truth file open, buffered; w is nil without a file.
func WithTruth(path string, f func(w io.Writer) error) error {
	if path == "" {
		return f(nil)
	}
	file, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("truth: %w", err)
	}
	b := bufio.NewWriterSize(file, 1<<16)
	return errors.Join(f(b), b.Flush(), file.Close())
}

// WriteTruth keeps what was planted in a fleet in a file of JSON.
func (f *Fleet) WriteTruth(file string, s FleetSummary) error {
	text, err := json.MarshalIndent(f.Truth(s), "", "  ")
	if err == nil {
		err = os.WriteFile(file, append(text, '\n'), 0o644)
	}
	if err != nil {
		return fmt.Errorf("truth: %w", err)
	}
	return nil
}
