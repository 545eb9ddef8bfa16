package main

import (
	"fmt"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/dispersion"

	"github.com/spf13/cobra"
)

// dispersionFlags are what the command line may say.
type dispersionFlags struct {
	category             glossary.Category
	p, level             float64
	left                 bool
	aimCarry, aimOffline *unit.Value
	misses               []dispersion.Miss
	targets              []dispersion.Target
	greenSpeed, hole     *unit.Value
}

func newDispersionCommand() *cobra.Command {
	var asJSON bool
	var category, svg string
	var misses, targets, greens []string
	var show showUnits
	f := dispersionFlags{
		aimCarry: unit.NewValue(unit.Length, 0), aimOffline: unit.NewValue(unit.Length, 0),
		greenSpeed: unit.NewValue(unit.Length, 3), hole: unit.NewValue(unit.Length, 0),
	}
	c := &cobra.Command{
		Use:   "dispersion FILE.csv",
		Short: "How tightly a run of shots lands, where its middle is, and how sure one may be",
		Long: `How tightly a run of shots lands, where its middle is, and how sure one may be.

FILE.csv ("-" is standard input) has a header and one shot a line: carry_m and
offline_m (right of the target positive); strike_x_m and strike_y_m (toe and up
positive) and swing (a wedge's swing length) where there are any. For a putter:
start_deg and ball_speed_mps, and launch_deg where measured. Other units stand
in the header (carry_yd, strike_x_mm). A row that cannot be used is named by its
line, and the rest is used.

Every statistic comes with an interval; below the number of shots where it
means something it is 'not yet' (null in JSON), with how many more it needs.`,
		Example: `  fairlead dispersion testdata/dispersion/driver.csv --svg scatter.svg
  fairlead dispersion testdata/dispersion/driver.csv --miss left=15m --target 60mx30m --json
  fairlead dispersion testdata/dispersion/putts.csv --category putter --hole 3m --green-speed 10ft`,
		Args: oneFile,
	}
	flags := c.Flags()
	flags.StringVar(&category, "category", "driver", "driver, wood, hybrid, iron, wedge or putter: what the shots are judged by")
	flags.Float64Var(&f.p, "p", 0.95, "share of shots that the ellipses hold")
	flags.Float64Var(&f.level, "level", 0.95, "level of the intervals")
	flags.BoolVar(&f.left, "left", false, "left-handed player: mirror across the target line")
	flags.Var(f.aimCarry, "aim-carry", "the distance aimed at (0: none, the shots' own mean is used)")
	flags.Var(f.aimOffline, "aim-offline", "how far right of the target line the player aimed")
	flags.StringArrayVar(&misses, "miss", nil, "a miss whose odds are wanted, as in left=15m (repeatable; else left and right beyond 15 m, of irons 10 m, of wedges 5 m)")
	flags.StringArrayVar(&targets, "target", nil, "a rectangle whose odds are wanted, length x width about the aim, as in 60mx30m (repeatable)")
	flags.StringArrayVar(&greens, "green", nil, "an ellipse whose odds are wanted, as in 25mx20m (repeatable)")
	flags.Var(f.greenSpeed, "green-speed", "putter: how far a ball released at 1.83 m/s rolls")
	flags.Var(f.hole, "hole", "putter: distance to a hole, for the share that would go in")
	flags.StringVar(&svg, "svg", "", "write the picture of the shots to this file")
	flags.BoolVar(&asJSON, "json", false, "write one JSON object")
	show.flag(c)
	c.RunE = func(c *cobra.Command, args []string) error {
		var err error
		if f.category, err = glossary.ParseCategory(category); err != nil {
			return &usageError{err}
		}
		if !(f.p > 0 && f.p < 1) || !(f.level > 0 && f.level < 1) {
			return &usageError{fmt.Errorf("--p %g and --level %g must lie between 0 and 1, as 0.95 does", f.p, f.level)}
		}
		if f.misses, f.targets, err = parseGround(misses, targets, greens); err != nil {
			return err
		}
		if f.category == glossary.Putter {
			return runPutts(c, args[0], f, asJSON, svg)
		}
		return runDispersion(c, args[0], f, asJSON, svg, show)
	}
	return c
}

func parseGround(misses, targets, greens []string) (m []dispersion.Miss, t []dispersion.Target, err error) {
	for _, s := range misses {
		one, err := parseMiss(s)
		if err != nil {
			return nil, nil, err
		}
		m = append(m, one)
	}
	for i, list := range [][]string{targets, greens} {
		for _, s := range list {
			one, err := parseTarget([]string{"target", "green"}[i], s, i == 1)
			if err != nil {
				return nil, nil, err
			}
			t = append(t, one)
		}
	}
	return m, t, nil
}

// landing is one file's shots with the lines they came from.
type landing struct {
	shots   []dispersion.Shot
	lines   []int
	strikes []dispersion.Strike
	swings  []string // names of the swing lengths, in order of appearance
	bySwing map[string][]dispersion.Shot
}

// landings picks the shots with carry and offline out of a file; a row without
// them, or with a carry that is none, is rejected by its line.
func landings(file *shotFile, left bool) landing {
	out := landing{bySwing: map[string][]dispersion.Shot{}}
	for _, row := range file.rows {
		carry, okC := row.value("carry")
		offline, okO := row.value("offline")
		if !okC || !okO {
			file.reject(row.line, "carry or offline is empty")
			continue
		}
		s := dispersion.Shot{Carry: carry, Offline: offline}
		if err := s.Check(0); err != nil {
			file.reject(row.line, "%s", shotReason(err))
			continue
		}
		x, okX := row.value("strike_x")
		y, okY := row.value("strike_y")
		strike := dispersion.Strike{X: x, Y: y}
		if _, err := dispersion.SummariseStrikes([]dispersion.Strike{strike}, 0.95); err != nil {
			file.reject(row.line, "%s", shotReason(err))
			continue
		}
		s = dispersion.Handed([]dispersion.Shot{s}, left)[0]
		out.shots, out.lines = append(out.shots, s), append(out.lines, row.line)
		if okX && okY {
			out.strikes = append(out.strikes, strike)
		}
		if swing := row.cells["swing"]; swing.Known {
			if _, seen := out.bySwing[swing.Text]; !seen {
				out.swings = append(out.swings, swing.Text)
			}
			out.bySwing[swing.Text] = append(out.bySwing[swing.Text], s)
		}
	}
	return out
}

func runDispersion(c *cobra.Command, path string, f dispersionFlags, asJSON bool, svg string, show showUnits) error {
	file, err := readShots(c, path, "carry", "offline")
	if err != nil {
		return err
	}
	l := landings(file, f.left)
	file.warn(c.ErrOrStderr())
	if len(l.shots) == 0 && len(file.bad) > 0 {
		return fmt.Errorf("%s: none of its %d rows can be used", path, len(file.bad))
	}
	options := []dispersion.Option{dispersion.WithP(f.p), dispersion.WithLevel(f.level), dispersion.WithTargets(f.targets...)}
	if len(f.misses) > 0 {
		options = append(options, dispersion.WithMisses(f.misses...))
	}
	aim := dispersion.Aim{Carry: f.aimCarry.V, Offline: f.aimOffline.V}
	if f.left {
		aim.Offline = -aim.Offline
	}
	s, err := dispersion.Summarise(f.category, l.shots, aim, options...)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	out := dispersionOut(s, l.lines)
	out.Handed, out.Rejected = f.left, append(out.Rejected, file.bad...)
	if len(l.strikes) > 0 {
		strikes, err := dispersion.SummariseStrikes(l.strikes, f.level)
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		out.Strike = strikeOut(strikes)
	}
	if len(l.swings) > 1 {
		for _, name := range l.swings {
			one, err := dispersion.Summarise(f.category, l.bySwing[name], dispersion.Aim{Offline: aim.Offline}, options...)
			if err != nil {
				return fmt.Errorf("%s, swing %s: %w", path, name, err)
			}
			out.Swings = append(out.Swings, swingJSON{name, one.N, one.Carry.Mean, one.CarrySDPct, one.Carry.SD, one.DirectionSDDeg})
		}
		out.Notes = append(out.Notes, "the file holds several swing lengths: read the spread of carry for each of them, under swings")
	}
	if svg != "" {
		if err := writeSVG(svg, dispersionSVG(s, l.shots, show)); err != nil {
			return err
		}
	}
	if asJSON {
		return writeClubJSON(c.OutOrStdout(), out)
	}
	return printDispersion(c.OutOrStdout(), s, out, show)
}
