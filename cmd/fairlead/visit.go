package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/console/client"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

func newVisitCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "visit",
		Short: "Enter what the fitter does and decides, one event a command",
		Long: `Each subcommand writes one event through the hub's console, as the page's forms
do: open a session, start a trial by naming what changed, move shots, undo. The
event is durable when the command returns; it prints the event's id, by which
'undo' takes it back.

Before anyone swings: nobody within reach of the club, nobody between player and
screen, no loose head or shaft.`,
		Example: `  fairlead visit open --bay north --player p-017 --hand right --category iron
  fairlead visit trial --bay north --gamer --name 'own 7' --set stated_loft=32deg
  fairlead visit trial --bay north --set length=37.5in
  fairlead visit show --bay north`,
		Args: frame.Unknown("subcommand"),
	}
	frame.Group(c, newVisitShow(), newVisitLog())
	f := c.PersistentFlags()
	f.StringP("config", "c", "studio.yaml", "configuration file; says where the console is")
	f.String("console", "", "address of the console (default: as configured)")
	f.String("bay", "", "the bay (needed)")
	f.String("who", "", "who says so: fitter's pseudonym")
	f.String("at", "", "when it took effect, as 2026-05-04T10:31:00Z or how long ago, as 90s (default: now)")
	f.String("id", "", "the event's id; the same id sent again writes nothing (default: a fresh one)")
	f.String("session", "", "session it is about (default: follows from the bay's events)")
	f.Bool("json", false, "print JSON")
	for _, a := range visit.Acts() { // in the order in which a visit goes
		if !a.Page {
			c.AddCommand(newVisitAct(a))
		}
	}
	return c
}

// withConsole is what the subcommands have in common: the console that is asked,
// and how its answers are told.
func withConsole(do func(c *cobra.Command, args []string, v *client.Client, asJSON bool) error) func(*cobra.Command, []string) error {
	return func(c *cobra.Command, args []string) error {
		asJSON, _ := c.Flags().GetBool("json")
		address, _ := c.Flags().GetString("console")
		bay, _ := c.Flags().GetString("bay")
		if bay == "" {
			return frame.Use(fmt.Errorf("--bay is missing: name the bay"))
		}
		config, err := frame.LoadConfig(c)
		if err != nil && address == "" {
			return frame.Exit(2, fmt.Errorf("%w; or give --console http://HOST:PORT", err))
		}
		return frame.OfConsole(c, asJSON, do(c, args, frame.HandOf(config, address, bay), asJSON))
	}
}

// newVisitEvent makes an event with what the common flags say.
func newVisitEvent(c *cobra.Command) (*event.VisitEvent, error) {
	ev := &event.VisitEvent{}
	ev.Id, _ = c.Flags().GetString("id")
	ev.Who, _ = c.Flags().GetString("who")
	ev.Session, _ = c.Flags().GetString("session")
	at, _ := c.Flags().GetString("at")
	moment, err := client.ParseMoment(at, time.Now())
	if err != nil {
		return nil, frame.Use(fmt.Errorf("--at %w", err))
	}
	ev.EffectiveUnixNs = moment
	return ev, nil
}
