package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/gate"
	"fairlead/deploy/studio"
)

func newPeopleCommand() *cobra.Command {
	var roles, id string
	var screen bool
	add := peopleCommand("add NAME", "Make an account, and print the code for its password", "add 'Sam Reed' --role fitter",
		func(d *gate.Desk, args []string) (string, error) { return d.Add(args[0], roles, id) })
	add.Flags().StringVar(&roles, "role", "fitter", "roles, with commas: guest, fitter, workshop, analyst, manager, ops")
	add.Flags().StringVar(&id, "id", "", "pseudonym of a fitter who has one already")
	pair := peopleCommand("pair NAME", "Print a code that pairs a tablet within ten minutes", "pair 'tablet north'",
		func(d *gate.Desk, args []string) (string, error) { return d.Pair(args[0], screen) })
	pair.Flags().BoolVar(&screen, "screen", false, "a screen on a wall, which shows pictures without names by itself")
	var as string
	login := peopleCommand("login NAME", "Say by what name of console.provider an account signs in",
		"login 'Sam Reed' --as sam@studio.example",
		func(d *gate.Desk, args []string) (string, error) { return d.Provided(args[0], as) })
	login.Flags().StringVar(&as, "as", "", "sign-in name at the provider; empty: by password alone")
	return frame.Group(&cobra.Command{
		Use:   "people",
		Short: "Give people accounts at the console, reset and revoke them, pair tablets",
		Long: `Who may write below DATA/gate on the hub needs no password: this is the way back in
when nobody can sign in any more. The console takes every change at once, and also
when it is started later. Roles: guest sees pictures without names; fitter enters;
workshop has orders and build sheets; analyst asks the fleet, by pseudonym; ops sees
whether everything runs; manager does all of it, gives accounts, and erases.`,
		Example: "  fairlead people add 'Jo Marsh' --role manager,fitter --config studio.yaml",
	},
		peopleCommand("list", "List accounts and tablets", "list", func(d *gate.Desk, _ []string) (string, error) { return d.List() }),
		add,
		login,
		peopleCommand("reset NAME", "End a password and sessions, and print the code for a new one", "reset 'Sam Reed'",
			func(d *gate.Desk, args []string) (string, error) { return d.Reset(args[0]) }),
		peopleCommand("revoke NAME", "End an account, or a tablet", "revoke 'tablet north'",
			func(d *gate.Desk, args []string) (string, error) { return d.Revoke(args[0]) }),
		pair,
		peopleCommand("trail", "Check that no line of the trail was changed", "trail",
			func(d *gate.Desk, _ []string) (string, error) { return d.Check() }),
	)
}

// peopleCommand is a subcommand that changes or asks the accounts of the hub.
func peopleCommand(use, short, example string, do func(d *gate.Desk, args []string) (string, error)) *cobra.Command {
	c := &cobra.Command{Use: use, Short: short, Example: "  fairlead people " + example + " --config studio.yaml"}
	if c.Name() != use { // a name follows
		c.Args = frame.OneName("NAME", strings.TrimPrefix(example, c.Name()+" "))
	}
	return frame.OfStudio(c, func(config *studio.Config, args []string) error {
		d, err := gate.OpenDesk(config.GateDir(), time.Now)
		if err != nil {
			return err
		}
		said, err := do(d, args)
		fmt.Fprint(c.OutOrStdout(), said)
		return err
	})
}
