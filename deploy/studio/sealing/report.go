package sealing

import (
	"fmt"
	"io"
	"slices"
)

// Report is what was sealed.
type Report struct {
	Already bool `json:"already"` // nothing stood in clear
	Events  int  `json:"events"`  // of the studio, in all
	// How many records, messages, copies and rows of events were written anew.
	Journal int `json:"journal"`
	Log     int `json:"log"`
	Copies  int `json:"copies"`
	Rows    int `json:"rows"`
	Unread  int `json:"unread,omitempty"` // rows of events that can't be read, and stay as they are
	// Left is where words stand in clear all the same.
	Left []string `json:"left,omitempty"`
	// Backups is how many copies of before hold them.
	Backups int `json:"backups,omitempty"`
}

// WriteText says it in words.
func (r *Report) WriteText(w io.Writer) error {
	if r.Already {
		_, err := fmt.Fprintf(w, "nothing stood in clear: %d visit events were looked at, nothing was changed\n", r.Events)
		return err
	}
	_, err := fmt.Fprintf(w, "sealed: %d records of the console's journal, %d messages of the log, %d copies of bays here, "+
		"%d rows of events, and all rows computed of them.\nCopies on PCs of bays are written anew when the studio runs and the bay "+
		"is there.\n", r.Journal, r.Log, r.Copies, r.Rows)
	if err == nil && r.Unread > 0 {
		_, err = fmt.Fprintf(w, "%d rows of events can't be read and stay as they are: `fairlead audit` names them\n", r.Unread)
	}
	left := slices.Clone(r.Left)
	slices.Sort(left)
	for _, l := range left {
		if err == nil {
			_, err = fmt.Fprintf(w, "STILL IN CLEAR: words that people wrote stand in %s\n", l)
		}
	}
	if err == nil && r.Backups > 0 {
		_, err = fmt.Fprintf(w, "%d backups were taken before and hold them in clear: take a new one, then `fairlead backup prune`\n", r.Backups)
	}
	return err
}
