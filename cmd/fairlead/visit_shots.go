package main

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/spf13/cobra"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/visit/rolling"
)

// shotIDs turns arguments into shot ids: an id as `fairlead tail` and `visit
// show --json` print it, or a shot's number in the session, or a range of them.
// Numbers are looked up now, and the event names ids.
func shotIDs(c *cobra.Command, args []string) ([][]byte, error) {
	var state *rolling.State
	var out [][]byte
	for _, a := range args {
		if id, err := event.ParseShotID(a); err == nil {
			out = append(out, id[:])
			continue
		}
		from, to, err := numberRange(a)
		if err != nil {
			return nil, err
		}
		if state == nil {
			v, err := newVisitClient(c)
			if err != nil {
				return nil, err
			}
			if state, _, err = v.state(c); err != nil {
				return nil, err
			}
		}
		for n := from; n <= to; n++ {
			i := slices.IndexFunc(state.Shots, func(s rolling.ShotRow) bool { return s.Number == n })
			if i < 0 {
				return nil, fmt.Errorf("no shot %d in the session: `fairlead visit show` lists them", n)
			}
			id, err := event.ParseShotID(state.Shots[i].ID)
			if err != nil {
				return nil, err
			}
			out = append(out, id[:])
		}
	}
	return out, nil
}

func numberRange(a string) (from, to int, err error) {
	bad := fmt.Errorf("%q is neither a shot id nor a shot's number in the session, such as 12 or 12-14", a)
	for i := 1; i < len(a); i++ {
		if a[i] == '-' {
			from, err1 := strconv.Atoi(a[:i])
			to, err2 := strconv.Atoi(a[i+1:])
			if err1 != nil || err2 != nil || from < 1 || to < from || to-from > 2000 {
				return 0, 0, bad
			}
			return from, to, nil
		}
	}
	if from, err = strconv.Atoi(a); err != nil || from < 1 {
		return 0, 0, bad
	}
	return from, from, nil
}

func newVisitExclude() *cobra.Command {
	s := &event.ShotsExcluded{}
	c := visitEvent("exclude SHOT...", "Leave shots out, with a reason", "exclude --bay north 12 --reason 'mishit, not the club'",
		func(c *cobra.Command, args []string, ev *event.VisitEvent) (err error) {
			s.ShotIds, err = shotIDs(c, args)
			ev.Body = &event.VisitEvent_ShotsExcluded{ShotsExcluded: s}
			return err
		})
	c.Args = cobra.MinimumNArgs(1)
	c.Flags().StringVar(&s.Reason, "reason", "", "why (needed)")
	return c
}

func newVisitRestore() *cobra.Command {
	s := &event.ShotsRestored{}
	c := visitEvent("restore SHOT...", "Take shots back in", "restore --bay north 12",
		func(c *cobra.Command, args []string, ev *event.VisitEvent) (err error) {
			s.ShotIds, err = shotIDs(c, args)
			ev.Body = &event.VisitEvent_ShotsRestored{ShotsRestored: s}
			return err
		})
	c.Args = cobra.MinimumNArgs(1)
	c.Flags().StringVar(&s.Reason, "reason", "", "why")
	return c
}

func newVisitMove() *cobra.Command {
	s := &event.ShotsMoved{}
	var nobody bool
	c := visitEvent("move SHOT...", "Put shots into another trial", "move --bay north 12-14 --to t-0f3a",
		func(c *cobra.Command, args []string, ev *event.VisitEvent) (err error) {
			if nobody == (s.Trial != "") {
				return fmt.Errorf("say where to: --to TRIAL, or --to-nobody")
			}
			s.ShotIds, err = shotIDs(c, args)
			ev.Body = &event.VisitEvent_ShotsMoved{ShotsMoved: s}
			return err
		})
	c.Args = cobra.MinimumNArgs(1)
	c.Flags().StringVar(&s.Trial, "to", "", "trial's id")
	c.Flags().BoolVar(&nobody, "to-nobody", false, "out of all trials")
	return c
}

func newVisitUnpair() *cobra.Command {
	s := &event.ShotsUnpaired{}
	c := visitEvent("unpair SHOT...", "Take apart shots of two devices that were paired as one hit", "unpair --bay north 12",
		func(c *cobra.Command, args []string, ev *event.VisitEvent) (err error) {
			s.ShotIds, err = shotIDs(c, args)
			ev.Body = &event.VisitEvent_ShotsUnpaired{ShotsUnpaired: s}
			return err
		})
	c.Args = cobra.MinimumNArgs(1)
	return c
}

func newVisitClass() *cobra.Command {
	length := unit.NewValue(unit.Length, 0)
	c := visitEvent("class full|partial|practice|no-ball [SHOT...]", "Say what kind of shots these are, or all from here on", "class --bay north practice 4 5",
		func(c *cobra.Command, args []string, ev *event.VisitEvent) error {
			class, err := wordOf("class", args[0], "CLASS_", event.ShotClass_value)
			if err != nil {
				return err
			}
			ids, err := shotIDs(c, args[1:])
			ev.Body = &event.VisitEvent_ClassChanged{ClassChanged: &event.ClassChanged{Class: event.ShotClass(class), LengthM: length.V, ShotIds: ids}}
			return err
		})
	c.Args = cobra.MinimumNArgs(1)
	c.Flags().Var(length, "length", "intended carry of partial shots")
	return c
}
