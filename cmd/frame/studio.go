package frame

import (
	"os"

	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
	"fairlead/processors/hub/store"
)

// WithConfig adds the flag that names the configuration.
func WithConfig(c *cobra.Command) {
	c.Flags().StringP("config", "c", "studio.yaml", "configuration file of the studio")
}

// LoadConfig reads the configuration that --config names. A configuration that
// can't be used is wrong use: exit 2.
func LoadConfig(c *cobra.Command) (*studio.Config, error) {
	file, err := c.Flags().GetString("config")
	if err != nil {
		return nil, err
	}
	config, err := studio.Load(file)
	if err != nil {
		return nil, Exit(2, err)
	}
	return config, nil
}

// OfStudio lets a command do its work with the configuration that --config names.
func OfStudio(c *cobra.Command, do func(config *studio.Config, args []string) error) *cobra.Command {
	WithConfig(c)
	c.RunE = func(c *cobra.Command, args []string) error {
		config, err := LoadConfig(c)
		if err != nil {
			return err
		}
		return do(config, args)
	}
	return c
}

// StoreAt opens the store at an address, or the configuration's where that is
// empty; it has to answer.
func StoreAt(c *cobra.Command, dsn string) (*store.Store, error) {
	config := &studio.Config{}
	if dsn == "" {
		var err error
		if config, err = LoadConfig(c); err != nil {
			return nil, err
		}
	}
	return config.OpenAt(c.Context(), dsn)
}

// WithStoreAt adds the flag that names another store than the configuration's.
func WithStoreAt(c *cobra.Command, dsn *string) {
	WithConfig(c)
	c.Flags().StringVar(dsn, "clickhouse", os.Getenv("FAIRLEAD_CLICKHOUSE"),
		"`address` of the store instead of the configuration's (default: $FAIRLEAD_CLICKHOUSE)")
}
