package collector

import (
	"fmt"
	"io"
)

// WriteText says what a reading changes, or changed, one thing a line.
func (r RereadReport) WriteText(w io.Writer) error {
	would := "would be"
	if r.Written {
		would = "are"
	}
	var err error
	say := func(n int, form string, args ...any) {
		if n > 0 && err == nil {
			_, err = fmt.Fprintf(w, form+"\n", append([]any{n}, args...)...)
		}
	}
	_, err = fmt.Fprintf(w, "%d lines read again, %d as before\n", r.Lines, r.Same)
	say(r.Changed, "%d shots with other values")
	for _, f := range r.Fields {
		if err == nil {
			_, err = fmt.Fprintf(w, "  %s in %d lines, such as %s:%d: %.6g %s, was %.6g\n", f.Field, f.Lines, f.File, f.Line, f.Is, f.Unit, f.Was)
		}
	}
	say(r.Returned, "%d refused lines that %s shots", would)
	say(r.Withdrawn, "%d shots that %s withdrawn: the map leaves their lines out, or refuses them", would)
	say(r.Renamed, "%d shots that %s under another identity", would)
	say(r.Headless, "%d lines that can't be read without their table's header: give a file that has it with --header FILE")
	say(r.Forgotten, "%d lines whose text is not kept any more")
	say(r.Damaged, "%d damaged entries of the journal, which were passed over")
	if err == nil {
		_, err = fmt.Fprintf(w, "%d entries %s added to the journal\n", r.Added, would)
	}
	return err
}
