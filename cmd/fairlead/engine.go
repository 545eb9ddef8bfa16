package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/engine"
)

func newEngineCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "engine",
		Short: "Run the embedded ClickHouse engine that stores the shots",
		Long: `Becomes bin/fairlead-engine with the settings of the configuration: the ClickHouse
engine as a process of its own, on a loopback address, behind a token. A studio
that has a ClickHouse server sets store.dsn instead.`,
		Example: "  fairlead engine --config studio.yaml",
	}
	return frame.AsProcess(c, func(_ context.Context, p *frame.Running) error {
		if p.Config.Store.DSN != "" {
			return frame.Use(errors.New("store.dsn names a ClickHouse server: nothing to run here"))
		}
		bound, _ := c.Flags().GetBool("with-parent")
		binary, args, err := p.Config.EngineCommand(bound)
		if err != nil {
			return err
		}
		return engine.Become(binary, args)
	})
}
