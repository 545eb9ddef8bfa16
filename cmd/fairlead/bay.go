package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio"
	"fairlead/deploy/studio/bays"
)

func newBayCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "bay",
		Short: "Bring a bay's PC into the studio, and keep its configuration on the hub",
		Long: `On the hub, 'add' prints one line with a one-time code. On the bay's PC that line
('join') makes the bay's key, fetches configuration, field maps and the certificate by
which it knows the hub, installs the service, tries the feeds, and says when the first
shot went through. 'config' keeps versions of what the bay reads, and how; they go to
the bay while it runs.`,
		Example: "  fairlead bay add north --config studio.yaml",
	}
	return frame.Group(c, newBayAddCommand(), newBayJoinCommand(), newBayListCommand(), newBayConfigCommand())
}

func newBayAddCommand() *cobra.Command {
	var file, at string
	var valid time.Duration
	c := &cobra.Command{
		Use: "add NAME", Short: "Print the line with which a bay's PC enrols", Args: frame.OneName("NAME", "north"),
		Long: `Makes a one-time code for a bay and prints what is to be typed on its PC, as the
administrator there. A bay that the studio does not know yet is added: 'fairlead up'
takes it up within seconds. For a bay that has a PC already, the new one takes its
place once it has enrolled: the old one's key is cut off.

--feeds names a file with feeds: (and devices:) as in studio.yaml; the field maps that
it names are read from beside it and go along.`,
		Example: "  fairlead bay add north --config studio.yaml\n  fairlead bay add quay --feeds quay.yaml --valid 24h --config studio.yaml",
	}
	c.Flags().StringVar(&file, "feeds", "", "configuration of the bay to begin with")
	c.Flags().StringVar(&at, "at", "", "`host[:port]` by which the bay's PC reaches the console (default: as the configuration says)")
	c.Flags().DurationVar(&valid, "valid", bays.ValidFor, "how long the code may be used")
	c.Flags().Bool("json", false, "print one JSON object")
	return frame.OfStudio(c, func(config *studio.Config, args []string) error {
		if valid <= 0 || valid > 7*24*time.Hour {
			return frame.Use(fmt.Errorf("--valid %s: give a time of up to a week, such as 1h", valid))
		}
		hub := bays.HubOf(config)
		if file != "" {
			g, err := bays.ReadFile(args[0], file)
			if err != nil {
				return frame.Exit(2, err)
			}
			was, err := hub.Kept.Version(args[0], 0)
			if err == nil {
				_, err = hub.Kept.Put(args[0], g, was.Version, "hub", "bay add")
			}
			if err != nil {
				return err
			}
		}
		line, err := hub.Invite(args[0], at, "hub", valid)
		if err != nil {
			return err
		}
		return frame.TellLine(c, line, line)
	})
}

func newBayJoinCommand() *cobra.Command {
	dir, data := homes()
	j := bays.Join{}
	c := &cobra.Command{
		Use: "join LINE", Short: "Set this machine up as a bay's PC, with the line that the hub printed",
		Args: frame.OneName("LINE", "'https://…'"),
		Long: `Run it as the administrator of the bay's PC. It makes the bay's key (which never
leaves this machine), fetches configuration and field maps from the hub, installs and
starts the service (systemd; the service manager on Windows), tries the feeds, and says
when the hub has stored the first shot. A line can be used once; when the answer was
lost on the way, the same machine may try again.

The hub may have read later what lies below the folders of the feeds of now, and below
those that --allow names, and nothing else.`,
		Example: "  fairlead bay join 'https://192.0.2.10:8080/north/CODE#HUB'\n  fairlead bay join 'LINE' --allow /srv/monitor --wait 10m",
	}
	c.Flags().StringVar(&j.Dir, "dir", dir, "folder of the configuration and the key")
	c.Flags().StringVar(&j.Data, "data", data, "data folder")
	c.Flags().StringVar(&j.Service, "service", "", "systemd, windows or none (default: what this system has)")
	c.Flags().StringSliceVar(&j.Allow, "allow", nil, "further folders below which the hub may have devices' files read")
	c.Flags().DurationVar(&j.Wait, "wait", 10*time.Minute, "how long to wait for the first shot; 0s: for ever")
	c.RunE = func(c *cobra.Command, args []string) error {
		j.Line, j.Out, j.Version = args[0], c.OutOrStdout(), frame.Version()
		for _, p := range []*string{&j.Dir, &j.Data} {
			abs, err := filepath.Abs(*p)
			if err != nil {
				return err
			}
			*p = abs
		}
		var err error
		if j.Program, err = os.Executable(); err != nil {
			return err
		}
		return j.Run(c.Context())
	}
	return c
}

// homes are where a bay's PC keeps its configuration and data.
func homes() (dir, data string) {
	switch runtime.GOOS {
	case "windows":
		home := filepath.Join(os.Getenv("ProgramData"), "Fairlead")
		return home, filepath.Join(home, "var")
	case "darwin":
		return "/usr/local/fairlead/etc", "/usr/local/fairlead/var"
	}
	return "/etc/fairlead", "/var/lib/fairlead"
}

func newBayListCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "list", Short: "List bays that enrolled or may, and the configurations they go by",
		Example: "  fairlead bay list --config studio.yaml",
	}
	c.Flags().Bool("json", false, "print a JSON array")
	return frame.OfStudio(c, func(config *studio.Config, _ []string) error {
		list, err := bays.Of(config).List()
		if err != nil {
			return err
		}
		return frame.TellLine(c, list, frame.Words(func(w io.Writer) error { return bays.WriteList(w, list, time.Now()) }))
	})
}
