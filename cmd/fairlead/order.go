package main

import (
	"os"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/console/client"
)

func newOrderCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "order NUMBER", Short: "Print an order's paper for the bench, as text, JSON or PDF",
		Long: `Prints what the bench needs of an order: each club with its figures and what passes, the
work with its cautions, the reminders of the rules. --pdf writes the page as the console
prints it, with the Chromium of the console's machine. The page is /orders/NUMBER/paper
of the console, and .pdf, .txt and .json after it. Orders are placed by 'fairlead visit
order', and listed at /orders/.`,
		Example: `  fairlead order K7P-4XA8 --config studio.yaml
  fairlead order K7P-4XA8 --pdf order.pdf --config studio.yaml`,
		Args: frame.OneName("order", "K7P-4XA8"),
	}
	f := c.Flags()
	f.StringP("config", "c", "studio.yaml", "configuration file; says where the console is")
	f.String("console", "", "address of the console (default: as configured)")
	f.Bool("json", false, "print JSON, in stored units")
	file := f.String("pdf", "", "write it as PDF to this file")
	c.RunE = ofStock(func(c *cobra.Command, args []string, v *client.Client, asJSON bool) error {
		form := "txt"
		switch {
		case *file != "":
			form = "pdf"
		case asJSON:
			form = "json"
		}
		text, err := v.OrderPaper(c.Context(), args[0], form)
		if err != nil {
			return err
		}
		if *file != "" {
			return os.WriteFile(*file, text, 0o600)
		}
		_, err = c.OutOrStdout().Write(text)
		return err
	})
	return c
}
