package main

import (
	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/console/client"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/visit"
)

// newVisitAct makes the subcommand of one way to enter events: its flags and
// arguments are put into fields as a form's are, and read by the same reader.
func newVisitAct(a visit.Act) *cobra.Command {
	c := &cobra.Command{Use: a.Usage(), Short: a.Short, Example: "  fairlead visit " + a.Example}
	c.RunE = withConsole(func(c *cobra.Command, args []string, v *client.Client, asJSON bool) error {
		ev, err := newVisitEvent(c)
		if err != nil {
			return err
		}
		in := visit.Input{}
		if err := a.Fill(in, args); err != nil {
			return frame.Use(err)
		}
		given(c, a, in)
		if err := v.Enter(c.Context(), a, in, ev); err != nil {
			return err
		}
		written, err := v.Write(c.Context(), ev)
		if err != nil {
			return err
		}
		if asJSON {
			_, err := c.OutOrStdout().Write(written.Body)
			return err
		}
		return written.WriteText(c.OutOrStdout())
	})
	c.Args = func(_ *cobra.Command, args []string) error {
		if err := a.Fill(visit.Input{}, args); err != nil {
			return frame.Use(err)
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
			c.Long = c.Short + ".\n\n" + visit.PartsHelp()
		}
	}
	return c
}

// given puts the flags that were given beside the arguments.
func given(c *cobra.Command, a visit.Act, in visit.Input) {
	for _, field := range a.Fields {
		flag := c.Flags().Lookup(field.Title())
		switch {
		case field.Shots || field.Arg > 0 || flag == nil || !flag.Changed && field.Default == "":
		case field.Many:
			in[field.Name], _ = c.Flags().GetStringArray(flag.Name)
		default:
			in[field.Name] = []string{flag.Value.String()}
		}
	}
}
