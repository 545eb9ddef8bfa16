package main

import (
	"context"
	"errors"
	"time"

	"github.com/spf13/cobra"

	"fairlead/dashboards/console/people"
	"fairlead/processors/ask/erase"
)

func newEraseCommand() *cobra.Command {
	var yes bool
	var f erase.Forgetting
	var console string
	var wait time.Duration
	c := &cobra.Command{
		Use:   "erase PLAYER",
		Short: "Forget a player who asks for it: name, shots, trials, words",
		Long: `Takes everything that was measured of a player, and said in the player's sessions,
out of the store, and the name out of the hub's file of people. PLAYER is the
pseudonym, as the page /people shows it. Run it on the hub while the studio runs:
the console writes the erasure to the log of visits, and the processors write every
row of the sessions again.

Rows keep their place and their times, so the audit stays clean; a replay of the log
brings nothing back; nobody else's row changes. It can't be taken back. Cut short, it
is run again. The receipt says what was removed, what remains and until when.

Exit code 0: nothing is left. 1: unknown player, a session that is still open, or
something is left (run it again). 2: wrong use.`,
		Example: `  fairlead erase p-7kq2m --config studio.yaml --dry-run
  fairlead erase p-7kq2m --config studio.yaml
  fairlead erase p-7kq2m --config studio.yaml --yes --json > receipt.json`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 || !people.ValidID(args[0]) {
				return use(errors.New("name one player by pseudonym, as p-7kq2m; /people of the console shows it"))
			}
			return nil
		},
	}
	c.Flags().StringVar(&console, "console", "", "address of the console (default: as configured)")
	c.Flags().BoolVar(&f.DryRun, "dry-run", false, "say what would be erased, and change nothing")
	c.Flags().BoolVar(&yes, "yes", false, "do not ask")
	c.Flags().Bool("json", false, "print the receipt as one JSON object")
	c.Flags().DurationVar(&wait, "wait", 2*time.Minute, "how long the processors may take to write the sessions again")
	return asTool(c, func(ctx context.Context, p *running) error {
		s, err := p.config.OpenAnswering(ctx)
		if err != nil {
			return err
		}
		defer s.Close()
		hand := handOf(p.config, console, "")
		e := &erase.Eraser{Store: s, Studio: p.config.Studio, Write: hand.WriteIn, Now: time.Now, Wait: wait, Who: userName()}
		if e.Places, err = erase.Places(ctx, s, p.config.Studio, p.config.Places()); err != nil {
			return err
		}
		names, err := people.Open(p.config.PeopleFile())
		if err != nil {
			return err
		}
		f.Keep = erase.Keeping{Log: p.config.Layout().ShotsFor, Journal: time.Duration(p.config.Journal.Retention)}
		person, onFile := names.Get(p.args[0])
		f.Person = erase.Person{Name: person.Name, Role: string(person.Role), OnFile: onFile}
		f.EraseName = hand.EraseName
		if !yes {
			f.Confirm = func(r erase.Receipt) error { return erase.Confirm(c.InOrStdin(), c.ErrOrStderr(), r, person.Name) }
		}
		r, err := e.Forget(ctx, p.args[0], f)
		if r != nil {
			err = errors.Join(tellLine(c, r, r), err)
		}
		var refused *erase.RefusedError
		if errors.As(err, &refused) || r != nil && err != nil {
			return &exitError{1, err}
		}
		return ofConsole(c, false, err)
	})
}
