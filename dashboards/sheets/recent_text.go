package sheets

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// Lines are verdicts in a list.
type Lines []Line

// WriteText lists verdicts for a terminal.
func (lines Lines) WriteText(w io.Writer) error {
	if len(lines) == 0 {
		_, err := fmt.Fprintln(w, "No verdict is stored yet.")
		return err
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "verdict\tgiven\tbay\tplayer\tclub\tkind\tvisit\t")
	for _, l := range lines {
		note := ""
		if !l.Live {
			note = "taken back"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", l.ID, l.At.Format("2006-01-02 15:04"), l.Bay, l.Player, l.Category,
			strings.ReplaceAll(l.Kind, "_", " "), l.Visit, note)
	}
	return t.Flush()
}
