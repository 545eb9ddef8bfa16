package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/console/client"
	"fairlead/processors/visit/stock"
)

func newStockCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "stock",
		Short: "The studio's catalogue and shelf: what parts there are, what they cost, how many lie there",
		Long: `The studio's own catalogue: heads, shafts, grips and adapters with figures, weights,
tolerances, prices and bend limits as the studio knows them, how many lie there, what
orders hold, what runs out, and which test club is which combination. Single parts,
counts and test clubs are entered by 'fairlead visit part', 'stock' and 'testclub'.`,
		Example: `  fairlead stock list --config studio.yaml
  fairlead stock import testdata/stock/catalogue.csv --dry-run --config studio.yaml`,
		Args: frame.Unknown("subcommand"),
	}
	f := c.PersistentFlags()
	f.StringP("config", "c", "studio.yaml", "configuration file; says where the console is")
	f.String("console", "", "address of the console (default: as configured)")
	f.Bool("json", false, "print JSON")
	c.AddCommand(newStockList(), newStockImport(), newStockUndo())
	return c
}

// ofStock asks the console, whatever the bay.
func ofStock(do func(c *cobra.Command, args []string, v *client.Client, asJSON bool) error) func(*cobra.Command, []string) error {
	return func(c *cobra.Command, args []string) error {
		asJSON, _ := c.Flags().GetBool("json")
		address, _ := c.Flags().GetString("console")
		config, err := frame.LoadConfig(c)
		if err != nil && address == "" {
			return frame.Exit(2, fmt.Errorf("%w; or give --console http://HOST:PORT", err))
		}
		return frame.OfConsole(c, asJSON, do(c, args, frame.HandOf(config, address, ""), asJSON))
	}
}

func newStockList() *cobra.Command {
	c := &cobra.Command{
		Use: "list", Short: "List the parts, how many lie there and how many are free",
		Long: `Lists the catalogue: what lies there, what orders hold that are not begun, what is free
and what is short. --csv writes it as a price list that 'import' reads.`,
		Example: `  fairlead stock list --config studio.yaml
  fairlead stock list --csv --config studio.yaml > catalogue.csv`,
		Args: cobra.NoArgs,
	}
	asCSV := c.Flags().Bool("csv", false, "write it as a price list")
	c.RunE = ofStock(func(c *cobra.Command, _ []string, v *client.Client, asJSON bool) error {
		if *asCSV {
			list, err := v.StockList(c.Context())
			if err == nil {
				_, err = c.OutOrStdout().Write(list)
			}
			return err
		}
		s, err := v.Stock(c.Context())
		if err != nil {
			return err
		}
		if asJSON {
			_, err = c.OutOrStdout().Write(s.Body)
			return err
		}
		return s.WriteText(c.OutOrStdout())
	})
	return c
}

func newStockImport() *cobra.Command {
	c := &cobra.Command{
		Use: "import FILE.csv", Short: "Read a price list into the catalogue",
		Long: `Reads a price list: CSV with a header, one part a line, separated by commas or
semicolons, columns in any order. Each part needs code (yours) and kind; what the
others mean:

` + columnsHelp() + `
Figures are written as on paper, with their unit; a bare number is in the unit in
which it makes sense. Parts that the list does not name stay as they are. If
anything is wrong, nothing is taken, and each fault is said with its line and what
to try. --dry-run says what the list would change and writes nothing.

Exit code 0: taken, or a dry run without a fault. 1: the list has faults, or the
console is away. 2: wrong use.`,
		Example: `  fairlead stock import testdata/stock/catalogue.csv --dry-run --config studio.yaml
  fairlead stock import testdata/stock/catalogue.csv --config studio.yaml`,
		Args: frame.OneFile,
	}
	dry := c.Flags().Bool("dry-run", false, "say what would change, write nothing")
	c.RunE = ofStock(func(c *cobra.Command, args []string, v *client.Client, asJSON bool) error {
		in, err := frame.Input(c, args[0])
		if err != nil {
			return err
		}
		defer in.Close()
		text, err := io.ReadAll(in)
		if err != nil {
			return fmt.Errorf("%s: %w", args[0], err)
		}
		change, err := v.ImportStock(c.Context(), text, *dry)
		if err != nil {
			return err
		}
		if err := frame.Tell(c, change, frame.Words(change.WriteText)); err != nil {
			return err
		}
		if change.Failed() {
			return frame.Exit(1, fmt.Errorf("%s: nothing was taken", args[0]))
		}
		return nil
	})
	return c
}

func newStockUndo() *cobra.Command {
	c := &cobra.Command{
		Use: "undo [EVENT]", Short: "Take back what was said of the shelf last: a price list, a count, a test club",
		Long: `Takes back the last price list, count, part or test club that was entered, or the event
that is named. It stays in the log, with who took it back and when.`,
		Example: "  fairlead stock undo --config studio.yaml",
		Args:    frame.AtMostOne("event"),
	}
	c.RunE = ofStock(func(c *cobra.Command, args []string, v *client.Client, asJSON bool) error {
		said, err := v.UndoStock(c.Context(), strings.Join(args, ""))
		if err != nil {
			return err
		}
		return frame.Tell(c, map[string]string{"taken_back": said}, frame.Words(func(w io.Writer) error {
			_, err := fmt.Fprintf(w, "taken back: %s\n", said)
			return err
		}))
	})
	return c
}

// columnsHelp lists the columns of a price list.
func columnsHelp() (out string) {
	for _, c := range stock.Columns() {
		out += fmt.Sprintf("  %-16s  %s\n", c.Name, c.Help)
	}
	return out
}
