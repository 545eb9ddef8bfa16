package main

import (
	"errors"
	"net/url"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/console/client"
)

func newMorningCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "morning",
		Short: "Check bays with the studio's reference club and ball: go, look, or stop",
		Long: `Without a subcommand: the last check of each bay, figure by figure, with what it reads
beside its own past and beside the other bays (bias, 95 %).

A check opens a session of nobody with the reference club in hand ('begin'); ten balls
are hit; 'judge' holds them against the past and the other bays, with limits that know
the swing's noise, writes it down and closes the session. A bay that says stop is not
fitted in until it is found why.`,
		Example: `  fairlead morning --config studio.yaml
  fairlead morning begin --bay north --club REF-7 --ball Harbour --config studio.yaml
  fairlead morning judge --bay north --config studio.yaml`,
		Args: frame.Unknown("subcommand"),
	}
	f := c.PersistentFlags()
	f.StringP("config", "c", "studio.yaml", "configuration file; says where the console is")
	f.String("console", "", "address of the console (default: as configured)")
	f.Bool("json", false, "print JSON")
	c.RunE = ofStock(func(c *cobra.Command, _ []string, v *client.Client, asJSON bool) error {
		m, err := v.Mornings(c.Context())
		return tellMornings(c, m, asJSON, err)
	})
	begin := &cobra.Command{
		Use: "begin", Short: "Begin a check: a session of nobody with the reference club in hand", Args: cobra.NoArgs,
		Example: "  fairlead morning begin --bay north --club REF-7 --ball Harbour --config studio.yaml",
	}
	var bay, club, ball string
	var shut bool
	begin.RunE = ofStock(func(c *cobra.Command, _ []string, v *client.Client, asJSON bool) error {
		v.Bay = bay
		in := url.Values{"club": {club}, "ball": {ball}}
		if shut {
			in.Set("close", "yes")
		}
		if _, err := v.Check(c.Context(), "begin", in); err != nil || asJSON {
			return err
		}
		c.Printf("the check of %s has begun: hit ten balls with %s, then fairlead morning judge --bay %s\n", bay, club, bay)
		return nil
	})
	begin.Flags().StringVar(&club, "club", "", "the reference club, as the stock lists it")
	begin.Flags().StringVar(&ball, "ball", "", "the reference ball: another one reads otherwise")
	begin.Flags().BoolVar(&shut, "close", false, "close the session that is open there")
	judge := &cobra.Command{
		Use: "judge", Short: "Judge what was hit: go, look, or stop", Args: cobra.NoArgs,
		Example: "  fairlead morning judge --bay north --config studio.yaml",
	}
	undo := &cobra.Command{
		Use: "undo", Short: "Take back the bay's last check", Args: cobra.NoArgs,
		Long: `Takes back the last check of the bay, which was hit with another club or ball, say. It stays
in the log, with who took it back and when; no later check is held against it.`,
		Example: "  fairlead morning undo --bay north --config studio.yaml",
	}
	for _, one := range []*cobra.Command{judge, undo} {
		one.RunE = ofStock(func(c *cobra.Command, _ []string, v *client.Client, asJSON bool) error {
			v.Bay = bay
			m, err := v.Check(c.Context(), c.Name(), url.Values{})
			return tellMornings(c, m, asJSON, err)
		})
	}
	for _, one := range []*cobra.Command{begin, judge, undo} {
		one.Flags().StringVar(&bay, "bay", "", "which bay")
		one.PreRunE = func(*cobra.Command, []string) error {
			if bay == "" {
				return frame.Use(errors.New("--bay is missing: name the bay"))
			}
			return nil
		}
		c.AddCommand(one)
	}
	return c
}

func tellMornings(c *cobra.Command, m *client.Mornings, asJSON bool, err error) error {
	if err != nil {
		return err
	}
	if asJSON {
		_, err = c.OutOrStdout().Write(m.Body)
		return err
	}
	return m.WriteText(c.OutOrStdout())
}
