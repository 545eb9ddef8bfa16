package frame

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"fairlead/dashboards/console/client"
	"fairlead/deploy/studio"
)

// HandOf speaks to the console of a configuration, or the one at an address. The
// hub's token is shown to the hub's own console alone.
func HandOf(config *studio.Config, address, bay string) *client.Client {
	if config == nil || address != "" && address != config.Console.Listen {
		return client.New(address, bay)
	}
	hand := client.New(config.ConsoleURL(), bay)
	hand.HTTP = config.Client(hand.HTTP.Timeout)
	hand.Token = config.ConsoleToken()
	return hand
}

// OfConsole gives an error of the console its exit code: what was entered wrongly
// is wrong use; that the console is away is not.
func OfConsole(c *cobra.Command, asJSON bool, err error) error {
	var refused *client.Refused
	if errors.As(err, &refused) {
		if asJSON {
			fmt.Fprintf(c.OutOrStdout(), "%s\n", refused.Body)
		}
		if refused.Wrong {
			return Exit(2, err)
		}
	}
	return err
}
