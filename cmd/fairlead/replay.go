package main

import (
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"

	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
)

func newReplayCommand() *cobra.Command {
	var asJSON, keep bool
	var database string
	c := &cobra.Command{
		Use:   "replay",
		Short: "Rebuild what the log holds in a fresh database and compare it with the live one",
		Long: `Reads every entry and visit event of the log into a database of its own, tags and
computes all of it anew, and compares the checksums of the tables (without
versions and insert times) with the live ones. The live database is only read.

Exit code 0: equal. 1: they differ. Shots that arrive meanwhile make a difference:
replay while the bays are quiet.`,
		Example: "  fairlead replay --config studio.yaml",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			ctx, p, err := startProcess(c, "replay")
			if err != nil {
				return err
			}
			live, err := openStore(p.config)
			if err != nil {
				return err
			}
			defer live.Close()
			nc, js, err := stream.Connect(toolsLink(p.config, "replay", p.log))
			if err != nil {
				return err
			}
			defer nc.Close()
			if err := waitConnected(ctx, nc, p.config.BrokerURL()); err != nil {
				return err
			}
			fresh, err := freshDatabase(c, p, live, database)
			if err != nil {
				return err
			}
			defer fresh.Close()
			entries := 0
			for _, place := range p.config.Places() {
				n, err := sink.Replay(ctx, js, fresh, place, p.log)
				if err != nil {
					return err
				}
				entries += n
			}
			result := replayResult{Database: database, Entries: entries}
			if result.Live, err = audit.Checksums(ctx, live); err != nil {
				return err
			}
			if result.Replayed, err = audit.Checksums(ctx, fresh); err != nil {
				return err
			}
			result.Equal = true
			for i := range result.Live {
				result.Equal = result.Equal && result.Live[i] == result.Replayed[i]
			}
			if !keep {
				if err := live.Conn().Exec(ctx, "DROP DATABASE "+database+" SYNC"); err != nil {
					return fmt.Errorf("drop database %s: %w", database, err)
				}
			}
			if asJSON {
				if err := json.NewEncoder(c.OutOrStdout()).Encode(result); err != nil {
					return err
				}
			} else {
				for i, l := range result.Live {
					word := "equal"
					if l != result.Replayed[i] {
						word = "DIFFERENT"
					}
					fmt.Fprintf(c.OutOrStdout(), "%-13s live %d rows, %016x; replayed %d rows, %016x: %s\n", l.Table, l.Rows, l.Sum, result.Replayed[i].Rows, result.Replayed[i].Sum, word)
				}
			}
			if !result.Equal {
				return &exitError{1, nil}
			}
			return nil
		},
	}
	withConfig(c)
	c.Flags().String("log", "warn", "least level to log")
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON object")
	c.Flags().BoolVar(&keep, "keep", false, "keep the database that was rebuilt")
	c.Flags().StringVar(&database, "database", "fairlead_replay", "name of the database to rebuild in; must not exist")
	return c
}

type replayResult struct {
	Database string           `json:"database"`
	Entries  int              `json:"entries"`
	Equal    bool             `json:"equal"`
	Live     []audit.Checksum `json:"live"`
	Replayed []audit.Checksum `json:"replayed"`
}

// freshDatabase makes the database and opens it.
func freshDatabase(c *cobra.Command, p *running, live *store.Store, name string) (*store.Store, error) {
	var exists uint64
	if err := live.Conn().QueryRow(c.Context(), "SELECT count() FROM system.databases WHERE name = ?", name).Scan(&exists); err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	if exists > 0 {
		return nil, &usageError{fmt.Errorf("database %s exists already: drop it, or name another with --database", name)}
	}
	if err := live.Conn().Exec(c.Context(), "CREATE DATABASE "+name); err != nil {
		return nil, fmt.Errorf("create database %s: %w", name, err)
	}
	dsn, err := p.config.StoreDSN()
	if err != nil {
		return nil, err
	}
	dsn, err = store.WithDatabase(dsn, name)
	if err != nil {
		return nil, err
	}
	fresh, err := store.Open(dsn)
	if err != nil {
		return nil, err
	}
	return fresh, fresh.Migrate(c.Context())
}
