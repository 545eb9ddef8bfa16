package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/dashboards/console"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/visit"
)

// newVisitAct makes the subcommand of one way to enter events: its flags and
// arguments are put into fields as a form's are, and read by the same reader.
func newVisitAct(a visit.Act) *cobra.Command {
	c := visitEvent(a.Usage(), a.Short, a.Example, func(c *cobra.Command, args []string, ev *event.VisitEvent) error {
		return enter(c, a, args, ev)
	})
	c.Args = func(_ *cobra.Command, args []string) error {
		if err := a.Fill(visit.Input{}, args); err != nil {
			return &usageError{err}
		}
		return nil
	}
	f := c.Flags()
	for _, field := range a.Fields {
		name := field.Title()
		switch {
		case field.Arg > 0:
		case field.Yes:
			f.Bool(name, false, field.Help)
		case field.Many:
			f.StringArray(name, nil, field.Help)
		case field.Quantity != "":
			f.Var(unit.NewValue(field.Quantity, 0), name, field.Help)
		default:
			f.String(name, field.Default, field.Help)
		}
		if field.Name == "set" {
			c.Long = c.Short + "." + partsHelp()
		}
	}
	return c
}

// partsHelp lists the parts of a build.
func partsHelp() string {
	var parts strings.Builder
	for i, p := range event.BuildFields() {
		if i > 0 {
			parts.WriteString(", ")
		}
		parts.WriteString(p.Name)
		if !p.Text && unit.Stored(p.Quantity) != "" {
			parts.WriteString(" (" + unit.Stored(p.Quantity) + ")")
		}
	}
	return "\n\nParts of a build: " + parts.String() + ".\nNumbers without a unit are in the one given, or in the only other one in which they make sense: length=37.5\nare inches. As on paper: 37 1/2in, 37½, D2, 31°, 65g; against what it was: +1/2, -2g, lie='2 up', lie='1 flat'."
}

// enter reads what was given into the event. What was entered wrongly is wrong
// use; that the console is away is not.
func enter(c *cobra.Command, a visit.Act, args []string, ev *event.VisitEvent) error {
	in := visit.Input{}
	if err := a.Fill(in, args); err != nil {
		return &usageError{err}
	}
	var shots string
	for _, field := range a.Fields {
		flag := c.Flags().Lookup(field.Title())
		switch {
		case field.Shots:
			shots = field.Name
		case field.Arg > 0 || flag == nil || !flag.Changed && field.Default == "":
		case field.Many:
			in[field.Name], _ = c.Flags().GetStringArray(flag.Name)
		default:
			in[field.Name] = []string{flag.Value.String()}
		}
	}
	v, err := newVisitClient(c)
	if err != nil {
		return err
	}
	place, err := v.place(c)
	if err != nil {
		return err
	}
	if named := in[shots]; len(named) > 0 {
		// Numbers of shots are looked up last: what else is wrong is said first.
		in[shots] = []string{event.ShotID{}.String()}
		if _, faults := visit.Read(a.Name, in, place); len(faults) > 0 {
			return &usageError{faultsError(faults)}
		}
		if in[shots], err = shotIDs(c, named); err != nil {
			return &usageError{err}
		}
	}
	read, faults := visit.Read(a.Name, in, place)
	if len(faults) > 0 {
		return &usageError{faultsError(faults)}
	}
	if read.Visit != "" {
		ev.Visit = read.Visit
	}
	ev.Body = read.Body
	if g := ev.GetVerdictGiven(); g != nil && g.Trial != "" {
		state, _, err := v.state(c)
		if err != nil {
			return err
		}
		console.Promise(state, g)
	}
	return nil
}

// faultsError says all that is wrong with what was entered.
func faultsError(faults []*event.Fault) error {
	var lines []string
	for _, f := range faults {
		line := strings.ReplaceAll(f.Field, "_", " ")
		if f.Value != "" {
			line += fmt.Sprintf(" %q", f.Value)
		}
		line += ": " + f.Reason
		if f.Hint != "" {
			line += ": " + f.Hint
		}
		lines = append(lines, line)
	}
	return fmt.Errorf("%s", strings.Join(lines, "; "))
}

// place folds the bay's events as the console does.
func (v *visitClient) place(c *cobra.Command) (*visit.Place, error) {
	events, _, err := v.events(c, "")
	if err != nil {
		return nil, err
	}
	log := &visit.Log{}
	for _, ev := range events {
		log.Add(ev)
	}
	return &visit.Place{Bay: v.bay, Timeline: log.Timeline(), Live: log.Events(), Event: log.Event}, nil
}

// newVisitActs makes the subcommands, in the order in which a visit goes.
func newVisitActs() (out []*cobra.Command) {
	for _, a := range visit.Acts() {
		if !a.Page {
			out = append(out, newVisitAct(a))
		}
	}
	return out
}
