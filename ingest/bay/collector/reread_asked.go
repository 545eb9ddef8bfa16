package collector

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairlead/ingest/bay/feed"
)

// ReadMap takes a corrected map from its file, which is checked, and the lines
// above a table from header, which may be empty.
func (r *Reread) ReadMap(file, header string) error {
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	if _, err := feed.ParseMap(file, text); err != nil {
		return err
	}
	r.MapName, r.Map = filepath.Base(file), string(text)
	if header != "" {
		r.Layout, err = feed.LayoutOf(header, file)
	}
	return err
}

// Between bounds the lines by days or times as --from and --to write them.
func (r *Reread) Between(from, to string) (err error) {
	if r.From, err = dayOrTime(from); err != nil {
		return fmt.Errorf("--from %q: %w", from, err)
	}
	if r.To, err = dayOrTime(to); err != nil {
		return fmt.Errorf("--to %q: %w", to, err)
	}
	return nil
}

// dayOrTime reads a day, from its midnight here, or a time with its zone.
func dayOrTime(text string) (time.Time, error) {
	if text = strings.TrimSpace(text); text == "" {
		return time.Time{}, nil
	}
	if at, err := time.ParseInLocation(time.DateOnly, text, time.Local); err == nil {
		return at, nil
	}
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return at, errors.New("write a day such as 2026-05-01, or a time such as 2026-05-01T09:00:00Z")
	}
	return at, nil
}
