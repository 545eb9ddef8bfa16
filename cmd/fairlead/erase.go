package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/console/client"
	"fairlead/dashboards/console/people"
	"fairlead/deploy/studio"
	"fairlead/processors/ask/erase"
	"fairlead/processors/hub/store"
)

func newEraseCommand() *cobra.Command {
	var yes, keep bool
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
brings nothing back; nobody else's row changes. Cut short, it is run again. The
receipt says what was removed, what remains and until when.

It is carried out after console.erase_after, a day unless the configuration says
otherwise, by the hub itself; --keep takes it back until then, as the page does.

Exit code 0: nothing is left. 1: unknown player, a session that is still open, or
something is left (run it again). 2: wrong use.`,
		Example: `  fairlead erase p-7kq2m --config studio.yaml --dry-run
  fairlead erase p-7kq2m --config studio.yaml
  fairlead erase p-7kq2m --config studio.yaml --keep
  fairlead erase p-7kq2m --config studio.yaml --yes --json > receipt.json`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 || !people.ValidID(args[0]) {
				return frame.Use(errors.New("name one player by pseudonym, as p-7kq2m; /people of the console shows it"))
			}
			return nil
		},
	}
	c.Flags().StringVar(&console, "console", "", "address of the console (default: as configured)")
	c.Flags().BoolVar(&f.DryRun, "dry-run", false, "say what would be erased, and change nothing")
	c.Flags().BoolVar(&keep, "keep", false, "take back an erasure that was asked for and is not due yet")
	c.Flags().BoolVar(&yes, "yes", false, "do not ask")
	c.Flags().Bool("json", false, "print the receipt as one JSON object")
	c.Flags().DurationVar(&wait, "wait", 2*time.Minute, "how long the processors may take to write the sessions again")
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		player, hand := p.Args[0], frame.HandOf(p.Config, console, "")
		if keep {
			if err := hand.KeepPerson(ctx, player); err != nil {
				return frame.OfConsole(c, false, err)
			}
			_, err := fmt.Fprintf(c.OutOrStdout(), "%s is not erased\n", player)
			return err
		}
		s, err := p.Config.OpenAnswering(ctx)
		if err != nil {
			return err
		}
		defer s.Close()
		names, err := people.Open(p.Config.PeopleFile())
		if err != nil {
			return err
		}
		person, onFile := names.Get(player)
		f.Person = erase.Person{Name: person.Name, Role: string(person.Role), OnFile: onFile}
		f.Ask = hand.AskErasure
		if !yes {
			f.Confirm = func(r erase.Receipt) error { return erase.Confirm(c.InOrStdin(), c.ErrOrStderr(), r, person.Name) }
		}
		r, err := forgetter(p.Config, s, hand).Forget(ctx, player, f, wait)
		if r != nil && r.Done && p.Config.Backup.To != "" {
			k, problem := keeper(p)
			if problem == nil {
				problem = k.Keys(ctx)
			}
			if problem != nil {
				problem = fmt.Errorf("the keys beside the backups could not be replaced, which the studio tries again by itself: %w", problem)
			}
			err = errors.Join(err, problem)
		}
		if r != nil {
			err = errors.Join(frame.TellLine(c, r, r), err)
		}
		var refused *erase.RefusedError
		if errors.As(err, &refused) || r != nil && err != nil {
			return frame.Exit(1, err)
		}
		return frame.OfConsole(c, false, err)
	})
}

// backupKept is how long the studio keeps its copies; 0: it takes none.
func backupKept(config *studio.Config) time.Duration {
	if config.Backup.To == "" {
		return 0
	}
	return time.Duration(config.Backup.Keep)
}

// forgetter erases players of the studio, for whoever runs the command.
func forgetter(config *studio.Config, s *store.Store, hand *client.Client) client.Forgetter {
	return client.Forgetter{Hand: hand, Store: s, Studio: config.Studio, Places: config.Places(), Who: frame.UserName(),
		Keep: erase.Keeping{Log: config.Layout().ShotsFor, Journal: time.Duration(config.Journal.Retention),
			Backup: backupKept(config), Office: officeForgot(config)}}
}

// officeForgot says when the head office had forgotten a player; nil: there is none.
func officeForgot(config *studio.Config) func(player string) time.Time {
	if config.HeadOffice.URL == "" {
		return nil
	}
	return func(player string) time.Time {
		state, _ := config.Forwarding() // what can't be read says nothing
		return state.Forgotten[player]
	}
}
