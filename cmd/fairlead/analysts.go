package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/engine"
	"fairlead/deploy/studio"
)

func newAnalystsCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "analysts",
		Short: "Give analysts tokens of their own for the embedded engine, list and revoke them",
		Long: `An analyst asks the embedded engine with a token of their own: it reads the studio's
tables, where players stand by pseudonym, and nothing else; statements are bounded in
time, memory and number, so that they take nobody's place. What was asked, by whom,
when and from where stands in DATA/engine/statements.log. A ClickHouse server has users
of its own: deploy/clickhouse/users.sql.`,
		Example: "  fairlead analysts list --config studio.yaml",
	}
	return frame.Group(c, newAnalystsListCommand(), newAnalystsAddCommand(), newAnalystsRevokeCommand())
}

// withAnalysts lets a subcommand do its work where a studio runs the embedded
// engine: the folder of the engine's users is there.
func withAnalysts(c *cobra.Command, do func(config *studio.Config, args []string) error) *cobra.Command {
	return frame.OfStudio(c, func(config *studio.Config, args []string) error {
		if config.Store.DSN != "" {
			return frame.Use(errors.New("store.dsn names a ClickHouse server: make its users there, as deploy/clickhouse/users.sql does"))
		}
		return do(config, args)
	})
}

func newAnalystsListCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "list", Short: "List who has a token",
		Example: "  fairlead analysts list --config studio.yaml",
	}
	return withAnalysts(c, func(config *studio.Config, _ []string) error {
		users, problem := engine.ListUsers(config.EngineUsersDir())
		for _, u := range users {
			fmt.Fprintf(c.OutOrStdout(), "%-24s %-8s since %s\n", u.Name, u.Purpose, u.Made.Local().Format("2006-01-02 15:04"))
		}
		return problem
	})
}

func newAnalystsAddCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "add NAME", Short: "Make a token and print it, this once", Args: frame.OneName("NAME", "jo"),
		Long: `Prints the new token on standard output, alone; only what it hashes to is kept. It is
taken at once, without a restart.`,
		Example: "  fairlead analysts add jo --config studio.yaml",
	}
	return withAnalysts(c, func(config *studio.Config, args []string) error {
		token, err := engine.AddUser(config.EngineUsersDir(), args[0], engine.Analyst, time.Now())
		if err != nil {
			return err
		}
		fmt.Fprintln(c.OutOrStdout(), token)
		fmt.Fprintf(c.ErrOrStderr(), "it is shown this once; ask with\n  curl -H 'X-ClickHouse-Key: TOKEN' 'http://%s/?database=%s' "+
			"--data-binary 'SELECT count() FROM entries'\n",
			config.Store.Listen, studio.EngineDatabase)
		return nil
	})
}

func newAnalystsRevokeCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "revoke NAME", Short: "End a token", Args: frame.OneName("NAME", "jo"),
		Long:    "The token is refused from the next statement on; one that runs ends within its minute.",
		Example: "  fairlead analysts revoke jo --config studio.yaml",
	}
	return withAnalysts(c, func(config *studio.Config, args []string) error {
		if err := engine.RevokeUser(config.EngineUsersDir(), args[0]); err != nil {
			return fmt.Errorf("%w: `fairlead analysts list` shows who has a token", err)
		}
		fmt.Fprintf(c.OutOrStdout(), "the token of %s is refused\n", args[0])
		return nil
	})
}
