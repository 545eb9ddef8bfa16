package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"fairlead/ingest/log/stream"
)

func newKeysCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "keys",
		Short: "List, rotate and revoke the broker's keys",
		Long: `The broker's keys stand below DATA/keys on its machine: NAME.seed is the secret and
goes to the machine that uses it, NAME.pub says what the key may do. What is changed
here takes effect within a second, without a restart.`,
		Example: "  fairlead keys list --config studio.yaml",
		Args:    cobra.NoArgs,
		RunE:    showHelp,
	}
	c.AddCommand(newKeysListCommand(), newKeysRotateCommand(), newKeysRevokeCommand(), newKeysAccountsCommand())
	return c
}

// withKeyring gives a subcommand the keyring of the configuration.
func withKeyring(do func(c *cobra.Command, args []string, k stream.Keyring) error) func(*cobra.Command, []string) error {
	return func(c *cobra.Command, args []string) error {
		config, err := loadConfig(c)
		if err != nil {
			return err
		}
		return do(c, args, config.Keyring())
	}
}

func newKeysListCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "list", Short: "List the keys in force, and what is not as it should be", Args: cobra.NoArgs,
		Example: "  fairlead keys list --config studio.yaml",
		RunE: withKeyring(func(c *cobra.Command, _ []string, k stream.Keyring) error {
			return k.WriteText(c.OutOrStdout())
		}),
	}
	withConfig(c)
	return c
}

func newKeysRotateCommand() *cobra.Command {
	var overlap time.Duration
	c := &cobra.Command{
		Use: "rotate NAME", Short: "Give a key a new secret; the old one is taken for a while", Args: cobra.ExactArgs(1),
		Long: `Makes a new pair for a key. Copy the new NAME.seed to the machine that uses it and
restart what runs there within the overlap: until then both are taken, after it the
old one is cut off. --overlap 0s cuts the old one off at once.`,
		Example: "  fairlead keys rotate bay-north --overlap 24h --config studio.yaml",
		RunE: withKeyring(func(c *cobra.Command, args []string, k stream.Keyring) error {
			until := time.Now().Add(overlap).Round(time.Second)
			if err := k.Rotate(args[0], until); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%s is the new secret; the old one is taken until %s\n", k.SeedFile(args[0]), until.Local().Format("2006-01-02 15:04:05"))
			return nil
		}),
	}
	withConfig(c)
	c.Flags().DurationVar(&overlap, "overlap", 24*time.Hour, "how long the old secret is taken beside the new one")
	return c
}

func newKeysRevokeCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "revoke NAME", Short: "Cut a key off", Args: cobra.ExactArgs(1),
		Long: `Removes what the key may do: whoever holds it is cut off within a second. For a new
key of the same name remove NAME.seed too and start the broker again.`,
		Example: "  fairlead keys revoke bay-north --config studio.yaml",
		RunE: withKeyring(func(c *cobra.Command, args []string, k stream.Keyring) error {
			if err := k.Revoke(args[0]); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%s is cut off\n", args[0])
			return nil
		}),
	}
	withConfig(c)
	return c
}

func newKeysAccountsCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "accounts", Short: "Write the keys as accounts of a NATS server of one's own", Args: cobra.NoArgs,
		Long: `Writes the accounts of the keyring as a nats-server reads them, for deploy/nats: who
may publish and hear what, and through which doors. Include it in the server's
configuration and reload the server after each change of a key.`,
		Example: "  fairlead keys accounts --config studio.yaml",
		RunE: withKeyring(func(c *cobra.Command, _ []string, k stream.Keyring) error {
			grants, problem := k.Grants(time.Now())
			fmt.Fprint(c.OutOrStdout(), stream.Accounts(grants))
			return problem
		}),
	}
	withConfig(c)
	return c
}
