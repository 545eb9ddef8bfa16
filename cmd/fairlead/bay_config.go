package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio"
	"fairlead/deploy/studio/bays"
)

func newBayConfigCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "config",
		Short: "Keep, show and take back versions of a bay's configuration",
		Long: `What a bay reads, and by which field maps, is kept on the hub in versions, checked
before they are kept. The console brings the latest to the bay while it runs: feeds that
did not change go on undisturbed. A bay whose feed stops parsing with a version goes
back to the one before by itself, and says why.`,
		Example: "  fairlead bay config put north north.yaml --config studio.yaml",
	}
	return frame.Group(c, newBayConfigPutCommand(), newBayConfigShowCommand(), newBayConfigListCommand(), newBayConfigBackCommand())
}

func newBayConfigPutCommand() *cobra.Command {
	var why string
	c := &cobra.Command{
		Use: "put NAME FILE", Short: "Check a configuration and its maps, and keep it as the bay's next version", Args: cobra.ExactArgs(2),
		Example: "  fairlead bay config put north north.yaml --why 'new map' --config studio.yaml",
	}
	c.Flags().StringVar(&why, "why", "", "what changed, for those who look later")
	return frame.OfStudio(c, func(config *studio.Config, args []string) error {
		g, err := bays.ReadFile(args[0], args[1])
		if err != nil {
			return frame.Exit(2, err)
		}
		kept := bays.Of(config)
		was, err := kept.Version(args[0], 0)
		if err != nil {
			return err
		}
		v, err := kept.Put(args[0], g, was.Version, "hub", why)
		if err != nil {
			return err
		}
		return toldVersion(c.OutOrStdout(), args[0], was, v)
	})
}

func toldVersion(w io.Writer, bay string, was, v bays.Version) error {
	if was.Version == v.Version {
		_, err := fmt.Fprintf(w, "bay %s: version %d says the same already\n", bay, v.Version)
		return err
	}
	for _, change := range bays.Changes(was.Given, v.Given) {
		fmt.Fprintln(w, change)
	}
	_, err := fmt.Fprintf(w, "bay %s: version %d is kept; `fairlead bay list` shows when the bay goes by it\n", bay, v.Version)
	return err
}

func newBayConfigShowCommand() *cobra.Command {
	var n int
	c := &cobra.Command{
		Use: "show NAME", Short: "Show a version, with its field maps", Args: frame.OneName("NAME", "north"),
		Example: "  fairlead bay config show north --config studio.yaml",
	}
	c.Flags().IntVar(&n, "version", 0, "which; 0: the latest")
	c.Flags().Bool("json", false, "print one JSON object")
	return frame.OfStudio(c, func(config *studio.Config, args []string) error {
		v, err := bays.Of(config).Version(args[0], n)
		if err != nil {
			return err
		}
		return frame.TellLine(c, v, v)
	})
}

func newBayConfigListCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "list NAME", Short: "List a bay's versions, the latest first", Args: frame.OneName("NAME", "north"),
		Example: "  fairlead bay config list north --config studio.yaml",
	}
	c.Flags().Bool("json", false, "print a JSON array")
	return frame.OfStudio(c, func(config *studio.Config, args []string) error {
		list, err := bays.Of(config).Versions(args[0])
		if err != nil {
			return err
		}
		return frame.TellLine(c, list, frame.Words(func(w io.Writer) error { return bays.WriteVersions(w, list) }))
	})
}

func newBayConfigBackCommand() *cobra.Command {
	var to int
	c := &cobra.Command{
		Use: "back NAME", Short: "Keep an earlier version again, as the next one", Args: frame.OneName("NAME", "north"),
		Example: "  fairlead bay config back north --to 3 --config studio.yaml",
	}
	c.Flags().IntVar(&to, "to", 0, "which; 0: the one before the latest")
	return frame.OfStudio(c, func(config *studio.Config, args []string) error {
		kept := bays.Of(config)
		was, v, err := kept.Back(args[0], to, "hub")
		if err != nil {
			return err
		}
		return toldVersion(c.OutOrStdout(), args[0], was, v)
	})
}
