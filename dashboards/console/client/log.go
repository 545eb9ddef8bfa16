package client

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"fairlead/ingest/contract/event"
)

// WriteLog lists events, with the ids by which they are taken back. Times are
// the machine's.
func WriteLog(to io.Writer, events []*event.VisitEvent) error {
	back := map[string]bool{}
	for _, ev := range events {
		if o := ev.GetVoided(); o != nil {
			back[o.Event] = true
		}
	}
	w := tabwriter.NewWriter(to, 0, 4, 2, ' ', 0)
	fmt.Fprintln(w, "time\tevent\twhat\tabout")
	for _, ev := range events {
		about := ev.GetVoided().GetEvent()
		if t := ev.GetTrialStarted(); t != nil {
			about = strings.TrimSpace(t.Trial + " " + t.Build.GetName())
		} else if o := ev.GetSessionOpened(); o != nil {
			about = ev.Session + " " + o.Player + " " + o.Category
		}
		if back[ev.Id] {
			about += " (taken back)"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", time.Unix(0, ev.EffectiveUnixNs).Format("2006-01-02 15:04:05"), ev.Id,
			strings.ReplaceAll(event.KindOf(ev), "_", " "), about)
	}
	return w.Flush()
}
