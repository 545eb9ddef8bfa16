package erase

import (
	"bufio"
	"fmt"
	"io"
	"time"

	"fairlead/processors/hub/store"
)

// Receipt is what the player is given: what was taken out, and what remains.
type Receipt struct {
	Player   string     `json:"player"`
	Studio   string     `json:"studio"`
	At       time.Time  `json:"at"`
	DryRun   bool       `json:"dry_run"`
	Done     bool       `json:"done"`
	Name     string     `json:"name"` // erased, on file, or not on file
	Sessions []Session  `json:"sessions"`
	Removed  store.Held `json:"removed"` // in a dry run: what would be
	Left     store.Held `json:"left"`    // that should not be
	Guest    uint64     `json:"shots_as_guest_kept"`
	Before   *time.Time `json:"erased_before,omitempty"` // by an earlier run
	Due      *time.Time `json:"due,omitempty"`           // asked for, and not carried out before
	Remains  []Remain   `json:"remains"`
}

// Remain is something that an erasure does not reach.
type Remain struct {
	What  string     `json:"what"`
	Until *time.Time `json:"until,omitempty"` // nil: kept for ever, or not ours to say
	Why   string     `json:"why"`
}

// Keeping says how long what an erasure does not reach is kept.
type Keeping struct {
	Log     time.Duration // entries in the log
	Journal time.Duration // entries in the bays' journals, once the store confirmed them
	Backup  time.Duration // copies in the place of backups; 0: none are taken by the studio
	// Office says when a head office had forgotten a player too, zero: it has not said
	// so yet. nil: there is none.
	Office func(player string) time.Time
}

// Remains lists what stays of a player, whose last session ended at last; zero:
// no session is known. inClear is how many texts were entered before texts were
// sealed.
func Remains(player string, last, now time.Time, k Keeping, guest uint64, inClear int) []Remain {
	var out []Remain
	add := func(what, why string, after time.Duration) {
		r := Remain{What: what, Why: why}
		if after > 0 {
			at := last.Add(after).UTC().Truncate(time.Second)
			r.Until = &at
		}
		out = append(out, r)
	}
	if !last.IsZero() {
		add("the place of each entry in the store: studio, bay, journal number, times, device, a hash of its line",
			"an audit counts entries, and what is not there would be fetched from the bay again", 0)
		add("what the devices wrote, under no player's name, in the log (stream SHOTS)",
			"written once, expires by age; whoever reads it into a store leaves out what was erased", k.Log)
		add("the same in the bays' journals", "written once, expires by age after the store has confirmed it", k.Journal)
		add("what the fitter entered, under the pseudonym, in the log (stream VISITS), the console's journal and the bays' copies of it: ids, "+
			"times, figures, parts of clubs; words, reasons, notes and names of builds only sealed",
			"kept for ever and never changed: it holds the erasure itself; the keys that opened what was sealed are destroyed", 0)
	}
	if inClear > 0 {
		add(fmt.Sprintf("%d texts in clear in the log, the console's journal and copies of them", inClear),
			"they were entered by a version that did not seal texts yet; `fairlead tail`, which shows the log as it is, still shows them; "+
				"`fairlead seal`, with the studio stopped, makes them unreadable", 0)
	}
	if k.Backup > 0 {
		r := Remain{What: "the shots, under the pseudonym, in back-ups that were taken before; name and words only sealed",
			Why: "the keys beside the back-ups are replaced within a minute; a hub that is restored from one erases the player again"}
		until := now.Add(k.Backup).UTC().Truncate(time.Second)
		r.Until = &until
		out = append(out, r)
	}
	if k.Office != nil {
		if at := k.Office(player); !at.IsZero() {
			add("at the head office: the place of each entry, under another pseudonym",
				"its rows were forgotten as here, on "+at.UTC().Format(time.RFC3339), 0)
		} else {
			add("at the head office: the player's rows, under another pseudonym, without name, words and devices' lines",
				"it is told with the next that is sent, and has not answered yet that they are gone: `fairlead erase` again says when", 0)
		}
	}
	add("old keys, where somebody copied `people.keys` by hand, or the place of back-ups or a file system keeps earlier versions of a file "+
		"by itself; what a disk holds of files that were deleted, until it is written over",
		"with the old keys and a copy of the log the words could be read: delete such copies, and encrypt the disk", 0)
	if guest > 0 {
		add(fmt.Sprintf("%d shots hit as a guest in sessions of others, under the pseudonym", guest), "they are part of the other player's visit",
			0)
	}
	add("answers of the fleet given before", "they name no player; the next snapshot is made without these trials", 0)
	add("files that devices or people wrote themselves: device exports, `fairlead export` files, copies made by other means, printed build "+
		"sheets",
		"not in Fairlead's keeping: delete them where they are; exports without --names hold no free text", 0)
	return out
}

// WriteText prints the receipt for people.
func (r Receipt) WriteText(to io.Writer) error {
	w := bufio.NewWriter(to)
	verb := "removed"
	switch {
	case r.DryRun:
		verb = "would be removed"
	case r.Due != nil:
		verb = "will be removed on " + r.Due.UTC().Format(time.RFC3339)
	case !r.Done:
		verb = "found; NOT all removed"
	}
	fmt.Fprintf(w, "player %s, studio %s, %s\n", r.Player, r.Studio, r.At.UTC().Format(time.RFC3339))
	if r.Before != nil {
		fmt.Fprintf(w, "erased before, on %s\n", r.Before.UTC().Format(time.RFC3339))
	}
	fmt.Fprintf(w, "name: %s\n", r.Name)
	fmt.Fprintf(w, "%s: %d entries, %d trial rows, %d verdicts, %d visit events, %d fleet rows\n", verb, r.Removed.Entries, r.Removed.Trials,
		r.Removed.Verdicts, r.Removed.Events, r.Removed.Fleet)
	for _, s := range r.Sessions {
		note := ""
		if s.Open {
			note = ": OPEN, close it first"
		}
		fmt.Fprintf(w, "  %s  bay %s, %s, session %s%s\n", s.From.Format("2006-01-02"), s.Bay, s.Category, s.Session, note)
	}
	if r.Left.Sum() > 0 && !r.DryRun {
		fmt.Fprintf(w, "left: %+v\n", r.Left)
	}
	fmt.Fprintln(w, "what remains:")
	for _, m := range r.Remains {
		until := "stays"
		if m.Until != nil {
			until = "until " + m.Until.Format("2006-01-02")
		}
		fmt.Fprintf(w, "  %s (%s): %s\n", m.What, until, m.Why)
	}
	return w.Flush()
}
