package main

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"fairlead/dashboards/console"
	"fairlead/dashboards/fleet"
	"fairlead/dashboards/gate"
	"fairlead/deploy/studio"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/watch"
)

func newConsoleCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "console",
		Short: "Serve the live bay pages and take what the fitter does and decides",
		Long: `Serves the page of each bay, and takes visit events from its forms, from
'fairlead visit' and from other programs. Every event is durable in the console's
own journal before it is answered; the broker may be away.

People sign in with accounts ('fairlead people'); on a new studio the log names the
address where the first is made. console.open: true asks nobody who they are, and
every page says so.`,
		Example: "  fairlead console --config studio.yaml",
	}
	return asProcess(c, func(ctx context.Context, p *running) error {
		r := p.beat(ctx)
		minFree, err := p.config.MinFreeBytes()
		if err != nil {
			return err
		}
		pages := &fleet.Late{}
		open := func(context.Context) (*store.Store, error) { return p.config.OpenForPages() }
		go pages.Run(ctx, open, p.log, fleet.Options{Studio: p.config.Studio, Imperial: p.config.Units == "imperial"})
		g, err := gate.New(gate.Options{Dir: p.config.GateDir(), TokenFile: p.config.ConsoleTokenFile(), Studio: p.config.Studio,
			Bays:   p.config.BayNames(),
			Listen: p.config.Console.Listen, Open: p.config.Console.Open, Logger: p.log})
		if err != nil {
			return err
		}
		return console.Run(ctx, console.Options{
			Fleet: pages.Answers.Load, Pages: pages, Store: pages.Store.Load,
			Ops: &console.Ops{
				State: func() (watch.State, error) { return watch.Read(p.config.WatchFile()) },
				Test:  p.config.TestSenders, Targets: func() any { return p.config.Targets() },
			},
			Gate: g, EraseAfter: time.Duration(p.config.Console.EraseAfter),
			Studio: p.config.Studio, Bays: p.config.BayNames(), Imperial: p.config.Units == "imperial", Listen: p.config.Console.Listen,
			Hosts:      p.config.Console.Hosts,
			JournalDir: p.config.ConsoleJournalDir(), PeopleFile: p.config.PeopleFile(), MinFree: minFree,
			Clock: p.config.HubClock(p.log),
			Link:  p.config.Link(studio.ConsoleKey, stream.Place{}), Version: version(), Logger: p.log, Registry: r,
		})
	})
}
