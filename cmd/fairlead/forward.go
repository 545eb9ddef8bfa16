package main

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio"
	"fairlead/ingest/log/alive"
	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/expose"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/answers"
	"fairlead/processors/hub/group"
	"fairlead/processors/visit"
)

// needOffice says that the configuration names no head office, where it names none.
func needOffice(c *studio.Config) error {
	if c.HeadOffice.URL != "" {
		return nil
	}
	return frame.Use(errors.New("the configuration names no head office: set head_office.url and head_office.key"))
}

func newForwardCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "forward",
		Short: "Send what the studio has stored to its head office",
		Long: `Sends entries and visit events from the studio's own store to the broker of a head
office, as head_office: of the configuration says; ` + "`fairlead up`" + ` runs it. The studio
works on alone while the head office can't be reached, for as long as it takes.

What leaves the studio: what was measured, when, and what was entered, under ids of
persons that are made for the head office. Names, lines and file names of devices and
free text stay. The head office lists the studio under studios: of its configuration,
and its key studio-NAME.seed is brought over from there.

What the head office's fleet answers comes back, and is what a change of build is expected
to do where more players stand behind it than behind the studio's own answer.`,
		Example: `  fairlead forward --config studio.yaml
  fairlead forward show
  fairlead forward check
  fairlead forward priors`,
	}
	show := &cobra.Command{
		Use:     "show",
		Short:   "Say how far the head office has what is stored here",
		Example: "  fairlead forward show --json",
	}
	show.Flags().Bool("json", false, "print a JSON object")
	frame.OfStudio(show, func(config *studio.Config, _ []string) error {
		if err := needOffice(config); err != nil {
			return err
		}
		state, err := config.Forwarding()
		if err != nil {
			return err
		}
		return frame.TellLine(show, state, state)
	})
	c.AddCommand(show, newForwardCheckCommand(), newForwardPriorsCommand(), newForwardCodeCommand())
	return frame.AsProcess(c, func(ctx context.Context, p *frame.Running) error {
		if err := needOffice(p.Config); err != nil {
			return err
		}
		persons, err := group.OpenPseudonyms(p.Config.PseudonymsFile())
		if err != nil {
			return err
		}
		pulse, r := group.NewPulse(), expose.NewRegistry("forward", frame.Version())
		p.Show(ctx, "forward", r, alive.Check{Name: "forwarding", Do: pulse.Stuck})
		go alive.Keep(ctx, p.Log, alive.Check{Name: "forwarding", Do: pulse.Hung})
		s, err := p.Config.AwaitStore(ctx, p.Log)
		if err != nil {
			return err
		}
		defer s.Close()
		begin, err := p.Config.Forwarding()
		if err != nil {
			p.Log.Warn("what was known of the forwarding can't be read; it begins anew", "error", err)
		}
		link := p.Config.OfficeLink()
		link.Logger = p.Log
		nc, js, err := stream.Connect(link)
		if err != nil {
			return err
		}
		defer nc.Close()
		signed, err := p.Config.OfficeSigned()
		if err != nil {
			return err
		}
		ctx, stop := context.WithCancel(ctx)
		var beside sync.WaitGroup
		defer beside.Wait()
		defer stop() // or a forwarding that gave up would wait for it
		beside.Go(func() {
			answers.Fetch(ctx, answers.FetchOptions{Studio: p.Config.Studio, Store: s, Conn: nc, Signed: signed, Logger: p.Log})
		})
		return group.Run(ctx, group.Options{Studio: p.Config.Studio, Store: s, Conn: nc, JS: js, Persons: persons,
			Bytes: p.Config.OfficeBytes(), Begin: begin, Logger: p.Log, Registry: r, Pulse: pulse,
			Keep: func(state group.State) {
				if err := durable.WriteJSON(p.Config.ForwardFile(), state); err != nil {
					p.Log.Debug("how the forwarding goes was not written", "error", err)
				}
			}})
	})
}

func newForwardCheckCommand() *cobra.Command {
	var wait time.Duration
	c := &cobra.Command{
		Use:   "check",
		Short: "Compare what the studio and its head office have stored, day by day",
		Long: `Counts the studio's entries, trials, verdicts and visit events by day in both stores,
sums what they say, and lists the days that differ. Ids of persons, words and what
stays in the studio are not compared.

Exit code 0: the same on both sides. 1: something differs, or a side does not answer.`,
		Example: "  fairlead forward check --config studio.yaml --json",
	}
	c.Flags().Bool("json", false, "print a JSON object")
	c.Flags().DurationVar(&wait, "wait", time.Minute, "how long the head office may take to answer")
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		if err := needOffice(p.Config); err != nil {
			return err
		}
		s, err := p.Config.OpenAnswering(ctx)
		if err != nil {
			return err
		}
		defer s.Close()
		nc, _, err := stream.Connect(p.Config.OfficeLink())
		if err != nil {
			return err
		}
		defer nc.Close()
		m, err := group.Check(ctx, nc, s, p.Config.Studio, wait)
		if err != nil {
			return err
		}
		if err := frame.Tell(c, m, m); err != nil {
			return err
		}
		return frame.ExitIf(!m.Alike(), nil)
	})
}

func newForwardPriorsCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "priors",
		Short: "Say by which answers changes of build are judged: whose, from when, of how many players",
		Long: `Lists for each kind of club and outcome the answer that a visit which begins now is judged
with: the studio's own or its head office's, whichever more players stand behind. It is never
both: the head office's has the studio's own trials in it. A studio that is cut off goes on
with what it had last.`,
		Example: "  fairlead forward priors --config studio.yaml --json",
	}
	c.Flags().Bool("json", false, "print a JSON object")
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		s, err := p.Config.OpenAnswering(ctx)
		if err != nil {
			return err
		}
		defer s.Close()
		told, err := answers.New(s, answers.Options{}).PriorsInUse(ctx)
		if err != nil {
			return err
		}
		return frame.Tell(c, told, told)
	})
}

func newForwardCodeCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "code",
		Short: "Make a code by which a player's visits at two studios are told of as one player's",
		Long: `Prints a code. When a player agrees that their visits at another studio of the same head
office are told of as the same player's, both studios enter it, in a session of that player's:
'fairlead visit join --bay BAY CODE'. A code is for two studios and one player; it can't be
guessed, and it is kept nowhere but as what it hashes to. Taken back with 'fairlead visit undo'
in either studio, or erased with the player, the visits count as two players' again.`,
		Example: "  fairlead forward code",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := fmt.Fprintln(c.OutOrStdout(), visit.JoinCode(func() uint64 {
				var b [8]byte
				_, _ = rand.Read(b[:]) // never fails
				return binary.BigEndian.Uint64(b[:])
			}))
			return err
		},
	}
}
