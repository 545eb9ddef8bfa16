package main

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio"
	"fairlead/ingest/log/authority"
)

func newAuthorityCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "authority",
		Short: "Show the studio's own certificate authority: its fingerprint, and what to bring where",
		Long: `A studio whose broker or console listens beyond the hub (tls.by: studio) has a
certificate authority of its own below DATA/authority. Its key stays on the hub; its
certificate goes to each bay within the bay's key file, and to each tablet by the
console's own address, opened once as http://. What the listeners show is made by
the processes themselves, and made anew before it ends.`,
		Example: "  fairlead authority --config studio.yaml",
	}
	return frame.OfStudio(c, func(config *studio.Config, _ []string) error {
		a, err := authority.Open(config.AuthorityDir())
		if errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("this studio has no authority yet: tls.by: studio makes one when `fairlead up` starts")
		}
		if err != nil {
			return err
		}
		out := c.OutOrStdout()
		fmt.Fprintf(out, "SHA-256      %s\nends         %s\ncertificate  %s\n", a.Fingerprint(), a.Ends().Format(time.DateOnly),
			authority.CertFile(config.AuthorityDir()))
		if l, err := config.Leaf(); err == nil {
			fmt.Fprintf(out, "the hub is   %s\n", strings.Join(l.Names(), ", "))
		}
		for _, b := range config.Bays {
			fmt.Fprintf(out, "bay %-8s %s\n", b.Name, config.BayKeyFile(b.Name))
		}
		_, err = fmt.Fprintln(out, "tablets      open the console's address once as http://, and compare the SHA-256 there with this one")
		return err
	})
}
