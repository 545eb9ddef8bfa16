package main

import (
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio"
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
	}
	return frame.Group(c, newKeysListCommand(), newKeysRotateCommand(), newKeysRevokeCommand(), newKeysAccountsCommand())
}

// withKeyring lets a subcommand do its work with the keyring of the configuration.
func withKeyring(c *cobra.Command, do func(out io.Writer, args []string, k stream.Keyring) error) *cobra.Command {
	return frame.OfStudio(c, func(config *studio.Config, args []string) error { return do(c.OutOrStdout(), args, config.Keyring()) })
}

func newKeysListCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "list", Short: "List the keys in force, and what is not as it should be",
		Example: "  fairlead keys list --config studio.yaml",
	}
	return withKeyring(c, func(out io.Writer, _ []string, k stream.Keyring) error {
		return k.WriteText(out)
	})
}

func newKeysRotateCommand() *cobra.Command {
	var overlap time.Duration
	c := &cobra.Command{
		Use: "rotate NAME", Short: "Give a key a new secret; the old one is taken for a while", Args: frame.OneName("NAME", "bay-north"),
		Long: `Makes a new pair for a key. Copy the new NAME.seed to the machine that uses it and
restart what runs there within the overlap: until then both are taken, after it the
old one is cut off. --overlap 0s cuts the old one off at once. A key that was revoked
gets a new secret, and the old one stays cut off.`,
		Example: "  fairlead keys rotate bay-north --overlap 24h --config studio.yaml",
	}
	c.Flags().DurationVar(&overlap, "overlap", 24*time.Hour, "how long the old secret is taken beside the new one")
	return frame.OfStudio(c, func(config *studio.Config, args []string) error {
		k, out, until := config.Keyring(), c.OutOrStdout(), time.Now().Add(overlap).Round(time.Second)
		given, err := config.GiveBack(args[0])
		if given {
			fmt.Fprintf(out, "%s is the new secret; the old one was revoked and stays so\n", k.SeedFile(args[0]))
		}
		if given || err != nil {
			return err
		}
		if err := k.Rotate(args[0], until); err != nil {
			return err
		}
		fmt.Fprintf(out, "%s is the new secret; the old one is taken until %s\n", k.SeedFile(args[0]),
			until.Local().Format("2006-01-02 15:04:05"))
		return nil
	})
}

func newKeysRevokeCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "revoke NAME", Short: "Cut a key off", Args: frame.OneName("NAME", "bay-north"),
		Long: `Removes what the key may do: whoever holds it is cut off within a second.
` + "`fairlead keys rotate`" + ` makes a new key of the same name.`,
		Example: "  fairlead keys revoke bay-north --config studio.yaml",
	}
	return withKeyring(c, func(out io.Writer, args []string, k stream.Keyring) error {
		if err := k.Revoke(args[0]); err != nil {
			return err
		}
		fmt.Fprintf(out, "%s is cut off\n", args[0])
		return nil
	})
}

func newKeysAccountsCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "accounts", Short: "Write the keys as accounts of a NATS server of one's own",
		Long: `Writes the accounts of the keyring as a nats-server reads them, for deploy/nats: who
may publish and hear what, and through which doors. Include it in the server's
configuration and reload the server after each change of a key.`,
		Example: "  fairlead keys accounts --config studio.yaml",
	}
	return withKeyring(c, func(out io.Writer, _ []string, k stream.Keyring) error {
		grants, problem := k.Grants(time.Now())
		fmt.Fprint(out, stream.Accounts(grants))
		return problem
	})
}
