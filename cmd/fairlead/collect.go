package main

import (
	"context"
	"errors"
	"sync/atomic"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio"
	"fairlead/deploy/studio/bays"
	"fairlead/ingest/bay/collector"
	"fairlead/ingest/log/alive"
	"fairlead/ingest/log/expose"
)

func newCollectCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "collect",
		Short: "Take the shots of a bay's devices into its journal and send them to the hub",
		Long: `Runs on the bay's PC (or on the hub, for bays that are attached there). Every
line is made durable in the bay's journal before anything else happens to it;
the network and the hub may be away for as long as they like. SIGHUP has it read the
configuration again, say what changed, and take up feeds that did; what the hub keeps
for the bay comes by itself.`,
		Example: "  fairlead collect --config studio.yaml --bay north",
	}
	c.Flags().String("bay", "", "the bay to collect for (default: all of the configuration)")
	frame.AsProcess(c, func(ctx context.Context, p *frame.Running) error {
		name, _ := c.Flags().GetString("bay")
		bays, err := p.Config.BaysNamed(name)
		if err != nil {
			return frame.Use(err)
		}
		go alive.Keep(ctx, p.Log)
		group, ctx := errgroup.WithContext(ctx)
		var lives []*studio.Live
		for i := range bays {
			b := &bays[i]
			r := expose.NewRegistry("collect", frame.Version())
			var hub hubCheck
			p.Show(ctx, "collect-"+b.Name, r, alive.Check{Name: "hub", Do: hub.trusted})
			p.Log.Info("collecting", "bay", b.Name, "metrics", p.Config.Address("collect-"+b.Name))
			o, live, err := p.Config.Collector(b, frame.Version(), r, p.Log)
			if err != nil {
				return err
			}
			o.Told = hub.told
			lives = append(lives, live)
			group.Go(func() error { return collector.Run(ctx, o) })
		}
		group.Go(func() error { p.Config.ReloadFeeds(ctx, lives, p.Log); return nil })
		return group.Wait()
	})
	collect := c.RunE
	c.RunE = func(c *cobra.Command, args []string) error {
		is, err := bays.AsService(c.Context(), func(ctx context.Context) error {
			c.SetContext(ctx)
			return collect(c, args)
		})
		if is || err != nil {
			return err
		}
		return collect(c, args)
	}
	return c
}

// hubCheck keeps why the hub that answers is told nothing.
type hubCheck struct{ why atomic.Value }

func (h *hubCheck) told(why string) { h.why.Store(why) }

// trusted is for /healthz: a bay whose shots wait because it does not know the hub says so.
func (h *hubCheck) trusted(context.Context) error {
	if why, _ := h.why.Load().(string); why != "" {
		return errors.New(why)
	}
	return nil
}
