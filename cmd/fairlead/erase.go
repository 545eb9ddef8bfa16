package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/encoding/protojson"

	"fairlead/dashboards/console/people"
	"fairlead/deploy/studio"
	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/erase"
)

func newEraseCommand() *cobra.Command {
	var dryRun, yes, asJSON bool
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
			if len(args) != 1 || !pseudonym.MatchString(args[0]) {
				return &usageError{errors.New("name one player by pseudonym, as p-7kq2m; /people of the console shows it")}
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			ctx, p, err := startProcess(c, "erase")
			if err != nil {
				return err
			}
			s, err := p.config.OpenStore()
			if err != nil {
				return err
			}
			defer s.Close()
			if err := studio.Answering(ctx, s); err != nil {
				return err
			}
			if console == "" {
				console = p.config.Console.Listen
			}
			h := &eraseHand{c: c, base: consoleURL(console), http: &http.Client{Timeout: 15 * time.Second}}
			places := p.config.Places()
			stored, err := s.Places(ctx)
			if err != nil {
				return err
			}
			for _, place := range stored { // a bay that is no longer configured has its past all the same
				if place.Studio == p.config.Studio && !slices.Contains(places, place) {
					places = append(places, place)
				}
			}
			e := &erase.Eraser{Store: s, Studio: p.config.Studio, Places: places, Write: h.write, Now: time.Now, Wait: wait, Who: userName()}
			plan, err := e.Plan(ctx, args[0])
			if err != nil {
				return err
			}
			names, err := people.Open(p.config.PeopleFile())
			if err != nil {
				return err
			}
			person, onFile := names.Get(args[0])
			if !plan.Known() && !onFile {
				return &exitError{1, fmt.Errorf("no player %s in studio %s: no name, no session and no row is kept under this id; check it on the console's page /people", args[0], p.config.Studio)}
			}
			if onFile && person.Role != people.Player {
				return &exitError{1, fmt.Errorf("%s is a %s, not a player: erase the name on the console's page /people", args[0], person.Role)}
			}
			r := erase.Receipt{Player: args[0], Studio: p.config.Studio, At: time.Now().UTC(), DryRun: dryRun, Name: "not on file", Sessions: plan.Sessions, Removed: plan.Held, Guest: plan.Guest,
				Remains: erase.Remains(plan.Last(time.Now()), erase.Keeping{Log: p.config.Layout().ShotsFor, Journal: time.Duration(p.config.Journal.Retention)}, plan.Guest)}
			if plan.Before != nil && !plan.Before.Finished.IsZero() {
				r.Before = &plan.Before.Finished
			}
			if onFile {
				r.Name = "on file"
			}
			if !dryRun {
				if err := plan.Open(); err != nil {
					return &exitError{1, err}
				}
				if !yes {
					if err := confirm(c, r, person.Name); err != nil {
						return err
					}
				}
				if onFile {
					if err := h.eraseName(ctx, args[0]); err != nil {
						return err
					}
					r.Name = "erased"
				}
				r.Left, err = e.Run(ctx, plan)
				r.Done, r.At = err == nil, time.Now().UTC()
			}
			if asJSON {
				if e := json.NewEncoder(c.OutOrStdout()).Encode(r); e != nil {
					return e
				}
			} else {
				r.Write(c.OutOrStdout())
			}
			if err != nil {
				return &exitError{1, err}
			}
			return nil
		},
	}
	withConfig(c)
	c.Flags().String("log", "warn", "least level to log")
	c.Flags().StringVar(&console, "console", "", "address of the console (default: as configured)")
	c.Flags().BoolVar(&dryRun, "dry-run", false, "say what would be erased, and change nothing")
	c.Flags().BoolVar(&yes, "yes", false, "do not ask")
	c.Flags().BoolVar(&asJSON, "json", false, "print the receipt as one JSON object")
	c.Flags().DurationVar(&wait, "wait", 2*time.Minute, "how long the processors may take to write the sessions again")
	return c
}

var pseudonym = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._:-]{0,63}$`)

// confirm shows what will go and wants the id typed once more.
func confirm(c *cobra.Command, r erase.Receipt, name string) error {
	w := c.ErrOrStderr()
	r.DryRun = true
	r.Write(w)
	if name != "" {
		fmt.Fprintf(w, "\nThe name on file is %s.", name)
	}
	fmt.Fprintf(w, "\nThis can't be taken back. Type %s to erase: ", r.Player)
	line, err := bufio.NewReader(c.InOrStdin()).ReadString('\n')
	if strings.TrimSpace(line) != r.Player {
		if err != nil && line == "" {
			return &exitError{1, errors.New("nothing was erased: nobody answered; scripts say --yes")}
		}
		return &exitError{1, errors.New("nothing was erased: that was not the id")}
	}
	return nil
}

// eraseHand has the console write, which is the only one that may.
type eraseHand struct {
	c    *cobra.Command
	base string
	http *http.Client
}

func (h *eraseHand) write(ctx context.Context, bay string, ev *event.VisitEvent) error {
	body, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(ev)
	if err != nil {
		return err
	}
	v := &visitClient{base: h.base, bay: bay, http: h.http}
	_, err = v.call(h.c, http.MethodPost, "events", body)
	return err
}

// eraseName takes the name out of the file through the console, which holds it
// in memory too. A name that is gone already is well.
func (h *eraseHand) eraseName(ctx context.Context, id string) error {
	request, err := http.NewRequestWithContext(ctx, http.MethodDelete, h.base+"/api/people/"+url.PathEscape(id), nil)
	if err != nil {
		return &usageError{fmt.Errorf("--console: %w", err)}
	}
	answer, err := h.http.Do(request)
	if err != nil {
		return fmt.Errorf("the console does not answer: %w: is `fairlead console` (or `fairlead up`) running? Nothing was erased", err)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK && answer.StatusCode != http.StatusNotFound {
		return fmt.Errorf("the console answered %s when asked to erase the name: nothing was erased", answer.Status)
	}
	return nil
}
