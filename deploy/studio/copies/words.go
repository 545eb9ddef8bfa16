package copies

import (
	"context"
	"fmt"
	"io"

	"github.com/dustin/go-humanize"

	"fairlead/deploy/backup"
)

// Taken is a copy that was taken, in figures.
type Taken struct {
	Copy  string `json:"copy"`
	Files int    `json:"files"`
	Bytes int64  `json:"bytes"`
	Sent  int64  `json:"sent"` // new and encrypted
}

// Of sums a copy up.
func Of(m *backup.Manifest) Taken { return Taken{m.Name, len(m.Files), m.Bytes, m.New} }

// WriteText says it in words.
func (t Taken) WriteText(w io.Writer) error {
	_, err := fmt.Fprintf(w, "copy %s: %d files, %s, of which %s were new and sent encrypted\n", t.Copy, t.Files,
		humanize.IBytes(uint64(t.Bytes)), humanize.IBytes(uint64(t.Sent)))
	return err
}

// WriteText says in words what a try found.
func (t Tried) WriteText(w io.Writer) error {
	said := t.Skipped
	if said == "" {
		said = "the hub that was restored from it runs, and its audit found nothing wrong"
	}
	_, err := fmt.Fprintf(w, "copy %s: %d files, %s: %s\n", t.Copy, t.Files, humanize.IBytes(uint64(t.Bytes)), said)
	return err
}

// WriteText says in words what was restored.
func (r Restored) WriteText(w io.Writer) error {
	for _, n := range r.Notes {
		fmt.Fprintf(w, "note: %s\n", n)
	}
	_, err := fmt.Fprintf(w, "restored copy %s: %s in %s, configuration %s; %s\n"+
		"start it with `fairlead up --config %s` or `systemctl start fairlead`: the bays fill in what came after the copy\n",
		r.Copy, humanize.IBytes(uint64(r.Bytes)), r.Data, r.Config, r.Proof, r.Config)
	return err
}

// Names are the names of copies, the oldest first.
type Names []string

// WriteText writes one a line.
func (n Names) WriteText(w io.Writer) error {
	for _, name := range n {
		if _, err := fmt.Fprintln(w, name); err != nil {
			return err
		}
	}
	return nil
}

// List names the copies that there are.
func (k Keeper) List(ctx context.Context) (Names, error) {
	r, err := k.Repository(ctx)
	if err != nil {
		return nil, err
	}
	names, err := r.List(ctx)
	return append(Names{}, names...), err
}
