package main

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
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
	return frame.AsProcess(c, func(ctx context.Context, p *frame.Running) error {
		r := p.Beat(ctx)
		minFree, err := p.Config.MinFreeBytes()
		if err != nil {
			return err
		}
		pages := &fleet.Late{}
		open := func(context.Context) (*store.Store, error) { return p.Config.OpenForPages() }
		go pages.Run(ctx, open, p.Log, fleet.Options{Studio: p.Config.Studio, Imperial: p.Config.Units == "imperial"})
		shown, err := p.Config.ConsoleCertificate(r, p.Log)
		if err != nil {
			return err
		}
		g, err := gate.New(gate.Options{Dir: p.Config.GateDir(), TokenFile: p.Config.ConsoleTokenFile(), Studio: p.Config.Studio,
			Bays:   p.Config.BayNames(),
			Listen: p.Config.Console.Listen, Open: p.Config.Console.Open, Secure: shown.TLS != nil,
			Clear: p.Config.InClear(), Provider: p.Config.Provider(), Logger: p.Log})
		if err != nil {
			return err
		}
		return console.Run(ctx, console.Options{
			Fleet: pages.Answers.Load, Pages: pages, Store: pages.Store.Load,
			Ops: &console.Ops{
				State: func() (watch.State, error) { return watch.Read(p.Config.WatchFile()) },
				Days:  func() (watch.Days, error) { return watch.ReadDays(p.Config.DaysFile()) },
				Test:  p.Config.TestSenders, Targets: func() any { return p.Config.Targets() },
				Forward: p.Config.ForwardLine,
			},
			Enrol: enrolment(p.Config, g, p.Log),
			TLS:   shown.TLS, Plain: shown.Plain, Known: shown.Known,
			Gate: g, EraseAfter: time.Duration(p.Config.Console.EraseAfter),
			Studio: p.Config.Studio, Bays: p.Config.BayNames(), Imperial: p.Config.Units == "imperial", Listen: p.Config.Console.Listen,
			Hosts:      p.Config.Console.Hosts,
			JournalDir: p.Config.ConsoleJournalDir(), PeopleFile: p.Config.PeopleFile(), MinFree: minFree,
			Clock: p.Config.HubClock(p.Log),
			Link:  p.Config.Link(studio.ConsoleKey, stream.Place{}), Version: frame.Version(), Logger: p.Log, Registry: r,
		})
	})
}
