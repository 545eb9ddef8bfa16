package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"

	"github.com/spf13/cobra"
)

var bagColumns = []sheetColumn{
	{names: []string{"club"}, text: true},
	{names: []string{"category"}, text: true},
	{names: []string{"swing"}, text: true},
	{names: []string{"loft"}, quantity: unit.Angle},
	{names: []string{"carry"}, quantity: unit.Length},
	{names: []string{"landing", "landing_angle"}, quantity: unit.Angle},
	{names: []string{"spin", "spin_rate"}, quantity: unit.Rotation},
	{names: []string{"stop"}, quantity: unit.Length},
}

func newClubGappingCommand() *cobra.Command {
	var asJSON bool
	var svg string
	var show showUnits
	o := club.DefaultGapOptions()
	c := &cobra.Command{
		Use:   "gapping FILE.csv",
		Short: "Gaps, holes and overlaps of a bag from measured carries, and which iron still holds a green",
		Long: `Judges a bag from measured shots, one row a shot: club, carry_m, and where
measured swing (for partial wedge swings), loft_deg, landing_deg, spin_rpm,
stop_m, category. Units may stand in the column's name (carry_yd). "-" reads
standard input. What counts as a hole or an overlap, and what holds a green,
are the flags below: habits, not norms. Fewer than four shots of a club say
'not yet'.`,
		Example: `  fairlead club gapping testdata/club/bag.csv
  fairlead club gapping testdata/club/bag.csv --imperial --svg bag.svg
  fairlead club gapping testdata/club/bag.csv --max-gap 15yd --json`,
		Args: oneFile,
	}
	f := clubFlags{c}
	minGap := f.add(unit.Length, "min-gap", o.MinGap, "full swings closer than this overlap")
	maxGap := f.add(unit.Length, "max-gap", o.MaxGap, "farther apart than this is a hole (irons, wedges)")
	maxWoods := f.add(unit.Length, "max-gap-woods", o.MaxGapWoods, "the same below a driver, wood or hybrid")
	maxWedge := f.add(unit.Length, "max-gap-wedge", o.MaxGapWedge, "the same between wedge swings")
	landing := f.add(unit.Angle, "hold-landing", o.HoldLanding, "landing angle that holds a green")
	spin := f.add(unit.Rotation, "hold-spin", o.HoldSpin, "spin that holds a green")
	stop := f.add(unit.Length, "hold-stop", o.HoldStop, "farthest stop that holds a green")
	decide := f.add(unit.Ratio, "decide", o.Decide, "probability at which a finding is stated")
	c.Flags().IntVar(&o.MaxClubs, "max-clubs", o.MaxClubs, "clubs allowed in the bag")
	c.Flags().IntVar(&o.OtherClubs, "other-clubs", o.OtherClubs, "clubs in the bag that are not in the file (the putter)")
	c.Flags().StringVar(&svg, "svg", "", "write the picture of the bag to this file")
	c.Flags().BoolVar(&asJSON, "json", false, "write one JSON object")
	show.flag(c)
	c.RunE = func(c *cobra.Command, args []string) error {
		o.MinGap, o.MaxGap, o.MaxGapWoods, o.MaxGapWedge = minGap.V, maxGap.V, maxWoods.V, maxWedge.V
		o.HoldLanding, o.HoldSpin, o.HoldStop, o.Decide = landing.V, spin.V, stop.V, decide.V
		rows, err := readSheet(c, args[0], bagColumns)
		if err != nil {
			return err
		}
		bag, err := bagOf(args[0], rows)
		if err != nil {
			return err
		}
		g, err := club.NewGapping(bag, o)
		if err != nil {
			return clubUse(err)
		}
		if svg != "" {
			if err := writeGappingSVG(svg, g, show.imperial); err != nil {
				return err
			}
		}
		if asJSON {
			return writeClubJSON(c.OutOrStdout(), gappingOut(g))
		}
		return printGapping(c.OutOrStdout(), g, show)
	}
	return c
}

// oneFile asks for exactly one file.
func oneFile(_ *cobra.Command, args []string) error {
	if len(args) != 1 {
		return &usageError{fmt.Errorf("give one CSV file, or - for standard input; %d given", len(args))}
	}
	return nil
}

// bagOf groups rows by club and swing, in the order they first appear.
func bagOf(path string, rows []map[string]sheetCell) ([]club.Position, error) {
	type measured struct{ carry, landing, spin, stop []float64 }
	var order []string
	positions := map[string]*club.Position{}
	values := map[string]*measured{}
	for i, r := range rows {
		where := fmt.Sprintf("%s, shot %d", path, i+1)
		name := r["club"].Text
		if name == "" {
			return nil, fmt.Errorf("%s: no club: every row needs one", where)
		}
		swing := r["swing"].Text
		p := club.Position{Club: name, Swing: swing}
		key := strings.ToLower(p.Name())
		if positions[key] == nil {
			category, ok := club.CategoryOf(name)
			if text := r["category"].Text; text != "" {
				var err error
				if category, err = club.ParseCategory(text); err != nil {
					return nil, fmt.Errorf("%s: %w", where, err)
				}
			} else if !ok {
				return nil, fmt.Errorf("%s: %q is no usual name of a club: add a column category (driver, wood, hybrid, iron, wedge or putter)", where, name)
			}
			p.Category, p.Loft = category, r["loft"].V
			positions[key], values[key] = &p, &measured{}
			order = append(order, key)
		}
		v := values[key]
		for name, list := range map[string]*[]float64{"carry": &v.carry, "landing": &v.landing, "spin": &v.spin, "stop": &v.stop} {
			if r[name].Known {
				*list = append(*list, r[name].V)
			}
		}
	}
	var out []club.Position
	for _, key := range order {
		p, v := positions[key], values[key]
		for _, part := range []struct {
			to   *club.Sample
			what string
			from []float64
		}{{&p.Carry, "carry", v.carry}, {&p.Landing, "landing", v.landing}, {&p.Spin, "spin", v.spin}, {&p.Stop, "stop", v.stop}} {
			s, err := club.NewSample(part.what, part.from)
			if err != nil {
				return nil, fmt.Errorf("%s, %s: %w", path, p.Name(), err)
			}
			*part.to = s
		}
		out = append(out, *p)
	}
	return out, nil
}

func writeGappingSVG(path string, g club.Gapping, imperial bool) error {
	f, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("write picture: %w", err)
	}
	if err := draw.Gapping(g, imperial).Write(f); err != nil {
		f.Close()
		return fmt.Errorf("draw gapping: %w", err)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("write picture: %w", err)
	}
	return nil
}

func printGapping(w io.Writer, g club.Gapping, show showUnits) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "club\tn\tcarry\t± shot to shot\tgap below\tinterval\tverdict\tshots more\n")
	rows := func(ps []club.Position, gaps []club.Gap) {
		for i, p := range ps {
			fmt.Fprintf(t, "%s\t%d\t%s", p.Name(), p.Carry.N, show.distance(p.Carry.Mean))
			if p.Carry.N >= 2 {
				fmt.Fprintf(t, "\t%s", show.distance(p.Carry.SD))
			} else {
				fmt.Fprint(t, "\t")
			}
			if i < len(gaps) {
				gap := gaps[i]
				if gap.Known {
					fmt.Fprintf(t, "\t%s\t%s to %s\t%s", show.distance(gap.Mean), show.distance(gap.Low), show.distance(gap.High), gap.Verdict)
				} else {
					fmt.Fprintf(t, "\t\t\t%s", gap.Verdict)
				}
				if gap.More > 0 {
					fmt.Fprintf(t, "\t%d", gap.More)
				}
			}
			fmt.Fprintln(t)
		}
	}
	rows(g.Full, g.Gaps)
	if len(g.Short) > 0 {
		fmt.Fprint(t, "\nwedge swings\tn\tcarry\t\tgap below\tinterval\tverdict\tshots more\n")
		rows(g.Wedges, g.Short)
	}
	if err := t.Flush(); err != nil {
		return fmt.Errorf("write gapping: %w", err)
	}
	fmt.Fprintln(w)
	for _, gap := range g.Gaps {
		if gap.Advice != "" {
			fmt.Fprintf(w, "%s–%s, %s: %s\n", gap.Longer, gap.Shorter, gap.Verdict, gap.Advice)
		}
	}
	if g.LossPerDegree > 0 {
		fmt.Fprintf(w, "a degree of loft costs %s of carry in this bag's irons and wedges\n", show.distance(g.LossPerDegree))
	}
	if g.LongestHolding != "" {
		fmt.Fprintf(w, "longest iron that holds a green: %s\n", g.LongestHolding)
	} else {
		fmt.Fprintln(w, "longest iron that holds a green: cannot be said of any yet")
	}
	for _, h := range g.Greens {
		if h.Verdict == club.CannotTell || h.Verdict == club.NotYet {
			fmt.Fprintf(w, "%s on a green: %s\n", h.Club, h.Verdict)
		}
	}
	for _, n := range g.Notes {
		fmt.Fprintln(w, n)
	}
	for _, u := range g.Unhit {
		fmt.Fprintf(w, "%s: no carry measured\n", u)
	}
	return nil
}
