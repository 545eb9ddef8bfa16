package main

import (
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/console/people"
	"fairlead/dashboards/sheets"
	"fairlead/ingest/log/vault"
)

func newSheetCommand() *cobra.Command {
	p := &paper{}
	c := &cobra.Command{
		Use:   "sheet [VERDICT]",
		Short: "Print the build sheet of a verdict for the workshop, or list the verdicts",
		Long: `Prints what the workshop needs of a verdict that names a build: every part as it was
entered (measured, stated or unknown), what differs from the player's own club, the
tolerances, whether the parts add up to the swing weight and total weight that are
asked, the work with its cautions, and room for the figures as built. A verdict that
names no build says so. One that was taken back, or whose build was corrected since,
says that first.

Without a verdict it lists the newest ones. The page with the same contents is
/sheets/ of the console. Names come from the people file of the hub.

Exit code 0: printed. 1: no such verdict is stored, or the store is away. 2: wrong use.`,
		Example: `  fairlead sheet --config studio.yaml
  fairlead sheet 0199c2a1 --config studio.yaml --units metric
  fairlead sheet 0199c2a1 --config studio.yaml --json
  fairlead sheet 0199c2a1 --config studio.yaml --pdf order.pdf`,
		Args: frame.AtMostOne("verdict"),
		RunE: func(c *cobra.Command, args []string) error {
			return p.with(c, func(ctx context.Context, s *sheets.Source, u sheets.Units) error {
				if len(args) == 0 {
					lines, err := s.Recent(ctx, 50)
					if err != nil {
						return err
					}
					return frame.Tell(c, append(sheets.Lines{}, lines...), sheets.Lines(lines))
				}
				sheet, err := s.Sheet(ctx, args[0], u)
				if err != nil {
					return findable(err, "`fairlead sheet` without a verdict lists them")
				}
				if p.pdf != "" {
					return p.print(sheet.PDF(ctx))
				}
				return frame.Tell(c, sheet, sheet)
			})
		},
	}
	p.register(c)
	return c
}

// paper is what both papers ask for.
type paper struct {
	dsn, units, pdf string
}

func (p *paper) register(c *cobra.Command) {
	frame.WithStoreAt(c, &p.dsn)
	f := c.Flags()
	f.StringVar(&p.units, "units", "", "imperial or metric (default: the studio's)")
	f.StringVar(&p.pdf, "pdf", "", "write it as PDF to this file, with the Chromium of this machine")
	f.Bool("json", false, "print JSON, in stored units")
}

// print writes a paper to the file that was asked for.
func (p *paper) print(pdf []byte, err error) error {
	if err != nil {
		return err
	}
	return os.WriteFile(p.pdf, pdf, 0o600)
}

// with opens the store and the names of the studio.
func (p *paper) with(c *cobra.Command, do func(context.Context, *sheets.Source, sheets.Units) error) error {
	if p.units != "" && p.units != "imperial" && p.units != "metric" {
		return frame.Use(fmt.Errorf("--units %q: use imperial or metric", p.units))
	}
	config, err := frame.LoadConfig(c)
	if err != nil {
		return err
	}
	s, err := config.OpenAt(c.Context(), p.dsn)
	if err != nil {
		return err
	}
	defer s.Close()
	keys, err := vault.Open(vault.Beside(config.PeopleFile()))
	if err != nil {
		return err
	}
	names, err := people.OpenWith(config.PeopleFile(), keys)
	if err != nil {
		return err
	}
	u := sheets.Units{Imperial: p.units == "imperial" || p.units == "" && config.Units == "imperial"}
	return do(c.Context(), &sheets.Source{Store: s, Studio: config.Studio, Name: names.Name, Open: keys.Open}, u)
}

// findable adds what to try to an error of something that can't be found.
func findable(err error, try string) error {
	if errors.Is(err, sheets.ErrNoVerdict) || errors.Is(err, sheets.ErrNoVisit) {
		return fmt.Errorf("%w: %s", err, try)
	}
	return err
}
