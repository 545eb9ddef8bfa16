package demo

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"fairlead/deploy/studio"
)

// LogFile is where a demo's processes say what they do.
func (d *Demo) LogFile() string { return d.Dir + "/demo.log" }

// welcome is the one screen of a demo that goes on: where it is, what to look at,
// where the log is.
func (d *Demo) welcome() string {
	at := "http://" + d.config.Console.Listen
	back := "a player"
	if p := d.met[false]; p != nil {
		back = p.Name
	}
	var b strings.Builder
	line := func(path, says string) { fmt.Fprintf(&b, "  %-38s %s\n", at+path, says) }
	fmt.Fprintf(&b, "\nFairlead: a demo studio, Harbour Row. Four bays are hitting.\nOpen it in a browser:\n\n")
	line("", "the board: all bays at once")
	line("/bays/north", back+" comes back after a year, once the fleet is there: irons")
	line("/bays/quay", "a driver; /bays/south wedges, /bays/pier putts")
	line("/bays/north/wall", "the same bay, read from three metres")
	line("/sheets/", "build sheets and reports: last year's is there")
	line("/fleet/", "what 600 players of other studios taught")
	fmt.Fprintf(&b, "\n  kept in  %s (start again from nothing: remove it)\n  log      %s\n\nCtrl-C ends it.\n", d.Dir, d.LogFile())
	return b.String()
}

// counting keeps the last line of the screen: how many shots so far. Where the
// screen is no terminal, nothing is counted: a file would fill with it.
func counting(ctx context.Context, out io.Writer, w *Watch, bays []studio.Bay) {
	f, ok := out.(*os.File)
	if !ok {
		return
	}
	if info, err := f.Stat(); err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return
	}
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	for {
		fmt.Fprintf(out, "\r\033[KShots so far: %s", w.told(bays))
		select {
		case <-ctx.Done():
			fmt.Fprintln(out)
			return
		case <-tick.C:
		}
	}
}

// told says how many shots the devices gave, and how many of them show.
func (w *Watch) told(bays []studio.Bay) string {
	w.mu.Lock()
	defer w.mu.Unlock()
	by := map[string]int{}
	for _, l := range w.lines {
		by[l.Bay]++
	}
	var each []string
	for _, bay := range bays {
		each = append(each, fmt.Sprintf("%s %d", bay.Name, by[bay.Name]))
	}
	shown := "all on the page"
	if wait := len(w.lines) - len(w.latencies); wait > 0 {
		shown = fmt.Sprintf("all but %d on the page", wait)
	}
	return fmt.Sprintf("%d (%s), %s", len(w.lines), strings.Join(each, ", "), shown)
}
