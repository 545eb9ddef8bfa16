package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"fairlead/deploy/engine"
	"fairlead/deploy/studio"
)

func newEngineCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "engine",
		Short: "Run the embedded ClickHouse engine that stores the shots",
		Long: `Becomes bin/fairlead-engine with the settings of the configuration: the ClickHouse
engine as a process of its own, on a loopback address, behind a token. A studio
that has a ClickHouse server sets store.dsn instead.`,
		Example: "  fairlead engine --config studio.yaml",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			_, p, err := startProcess(c, "engine")
			if err != nil {
				return err
			}
			if p.config.Store.DSN != "" {
				return &usageError{errors.New("store.dsn names a ClickHouse server: nothing to run here")}
			}
			binary, err := engine.FindBinary()
			if err != nil {
				return err
			}
			if _, err := engine.FindLibrary(); err != nil {
				return err
			}
			if _, err := engine.EnsureToken(p.config.EngineTokenFile()); err != nil {
				return err
			}
			memory, err := p.config.EngineMemory()
			if err != nil {
				return err
			}
			args := []string{binary, "--data", p.config.EngineDir(), "--listen", p.config.Store.Listen,
				"--token-file", p.config.EngineTokenFile(), "--database", studio.EngineDatabase, "--memory", fmt.Sprint(memory)}
			if bound, _ := c.Flags().GetBool("with-parent"); bound {
				args = append(args, "--parent-stdin")
			}
			return become(c, binary, args)
		},
	}
	withProcess(c)
	return c
}
