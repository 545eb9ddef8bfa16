package main

import (
	"fmt"
	"net/http"
	"time"

	"github.com/spf13/cobra"

	"fairlead/ingest/contract/event"
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
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return &usageError{fmt.Errorf("unknown subcommand %q", args[0])}
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	f := c.PersistentFlags()
	f.StringP("config", "c", "studio.yaml", "configuration file; says where the console is")
	f.String("console", "", "address of the console (default: as configured)")
	f.String("bay", "", "the bay (needed)")
	f.String("who", "", "who says so: fitter's pseudonym")
	f.String("at", "", "when it took effect, as 2026-05-04T10:31:00Z or how long ago, as 90s (default: now)")
	f.String("id", "", "the event's id; the same id sent again writes nothing (default: a fresh one)")
	f.String("session", "", "session it is about (default: follows from the bay's events)")
	f.Bool("json", false, "print JSON")
	c.AddCommand(newVisitActs()...)
	c.AddCommand(newVisitShow(), newVisitLog())
	return c
}

// visitEvent makes a subcommand that writes one event; fill reads its flags.
func visitEvent(use, short, example string, fill func(c *cobra.Command, args []string, ev *event.VisitEvent) error) *cobra.Command {
	return &cobra.Command{
		Use: use, Short: short, Example: "  fairlead visit " + example,
		RunE: func(c *cobra.Command, args []string) error {
			v, err := newVisitClient(c)
			if err != nil {
				return err
			}
			ev, err := v.event(c)
			if err != nil {
				return err
			}
			if err := fill(c, args, ev); err != nil {
				return err
			}
			return v.write(c, ev)
		},
	}
}

// visitClient speaks to the console.
type visitClient struct {
	base string // http://host:port
	bay  string
	json bool
	http *http.Client
}

func newVisitClient(c *cobra.Command) (*visitClient, error) {
	v := &visitClient{http: &http.Client{Timeout: 15 * time.Second}}
	v.json, _ = c.Flags().GetBool("json")
	v.base, _ = c.Flags().GetString("console")
	if v.bay, _ = c.Flags().GetString("bay"); v.bay == "" {
		return nil, &usageError{fmt.Errorf("--bay is missing: name the bay")}
	}
	if v.base == "" {
		config, err := loadConfig(c)
		if err != nil {
			return nil, &exitError{2, fmt.Errorf("%w; or give --console http://HOST:PORT", err)}
		}
		v.base = config.Console.Listen
	}
	v.base = consoleURL(v.base)
	return v, nil
}

// event makes an event with what the common flags say.
func (v *visitClient) event(c *cobra.Command) (*event.VisitEvent, error) {
	ev := &event.VisitEvent{}
	ev.Id, _ = c.Flags().GetString("id")
	ev.Who, _ = c.Flags().GetString("who")
	ev.Session, _ = c.Flags().GetString("session")
	at, _ := c.Flags().GetString("at")
	if at == "" {
		return ev, nil
	}
	if ago, err := time.ParseDuration(at); err == nil {
		ev.EffectiveUnixNs = time.Now().Add(-ago.Abs()).UnixNano()
		return ev, nil
	}
	t, err := time.Parse(time.RFC3339Nano, at)
	if err != nil {
		return nil, &usageError{fmt.Errorf("--at %q: write a time such as 2026-05-04T10:31:00Z, or how long ago, such as 90s", at)}
	}
	ev.EffectiveUnixNs = t.UnixNano()
	return ev, nil
}
