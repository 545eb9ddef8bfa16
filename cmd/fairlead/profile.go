package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/profile"

	"github.com/spf13/cobra"
)

var swingColumns = []sheetColumn{
	{names: []string{"speed", "head_speed", "club_speed", "clubhead_speed"}, quantity: unit.Speed},
	{names: []string{"attack", "attack_angle"}, quantity: unit.Angle},
	{names: []string{"path", "club_path"}, quantity: unit.Angle},
	{names: []string{"face", "face_angle"}, quantity: unit.Angle},
	{names: []string{"face_to_path"}, quantity: unit.Angle},
	{names: []string{"dynamic_loft"}, quantity: unit.Angle},
	{names: []string{"strike_x"}, quantity: unit.Length},
	{names: []string{"strike_y"}, quantity: unit.Length},
	{names: []string{"tempo"}, quantity: unit.Ratio},
}

func newProfileCommand() *cobra.Command {
	var asJSON, left, adjust bool
	var category, half string
	var differs []string
	c := &cobra.Command{
		Use:   "profile BASELINE.csv [LATER.csv]",
		Short: "A swing from its baseline shots, each figure with its uncertainty; with two files, what changed",
		Long: `Describes a swing from baseline shots, one row a shot: any of speed_mps,
attack_deg, path_deg, face_deg, face_to_path_deg, dynamic_loft_deg, strike_x_m,
strike_y_m, tempo_ratio. Units may stand in the column's name (speed_mph,
strike_x_mm). "-" reads standard input.

A left-hander (--left) is shown mirrored: in-to-out and open mean the same for
everybody. Give the club that was hit (--length, --loft, --lie) to adjust the
figures to the category's reference build. With a second file, of a later
visit: what changed, whether by more than noise from visit to visit, and by
more than a new --differs ball, surface or device would explain.`,
		Example: `  fairlead profile testdata/profile/spring.csv --left --category driver
  fairlead profile testdata/profile/spring.csv testdata/profile/next_spring.csv --left --loft 12.5deg
  fairlead profile testdata/profile/spring.csv testdata/profile/next_spring.csv --left --differs device,ball --json`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) < 1 || len(args) > 2 {
				return &usageError{fmt.Errorf("give the baseline's CSV file, and a later visit's to compare; %d given", len(args))}
			}
			if len(args) == 2 && args[0] == "-" && args[1] == "-" {
				return &usageError{fmt.Errorf("standard input can be only one of the two files")}
			}
			return nil
		},
	}
	f := clubFlags{c}
	builds := [2][3]*unit.Value{}
	for i, later := range []string{"", "later-"} {
		word := map[string]string{"": "that was hit", "later-": "of the later visit (default: the same)"}[later]
		builds[i] = [3]*unit.Value{
			f.add(unit.Length, later+"length", 0, "length of the club "+word),
			f.add(unit.Angle, later+"loft", 0, "static loft of the club "+word),
			f.add(unit.Angle, later+"lie", 0, "lie of the club "+word),
		}
	}
	c.Flags().StringVar(&category, "category", "driver", "driver, wood, hybrid, iron or wedge")
	c.Flags().BoolVar(&left, "left", false, "the player is left-handed")
	c.Flags().BoolVar(&adjust, "adjust", false, "adjust to the reference build even where the club is unknown")
	c.Flags().StringVar(&half, "half", "", "use only one half of the shots, a or b, which share none")
	c.Flags().StringSliceVar(&differs, "differs", nil, "what else differs at the later visit: ball, surface, device")
	c.Flags().BoolVar(&asJSON, "json", false, "write one JSON object")
	c.RunE = func(c *cobra.Command, args []string) error {
		cat, err := club.ParseCategory(category)
		if err != nil {
			return clubUse(err)
		}
		set, err := settingOf(differs)
		if err != nil {
			return err
		}
		var visits []profile.Profile
		var built profile.Build
		anyBuild := adjust
		for _, v := range append(builds[0][:], builds[1][:]...) {
			anyBuild = anyBuild || v.Given
		}
		for i, path := range args {
			b := buildOf(builds[0], builds[0])
			if i == 0 {
				built = b
			} else {
				b = buildOf(builds[1], builds[0])
			}
			p, err := readProfile(c, path, profile.Options{Category: cat, Left: left}, half)
			if err != nil {
				return err
			}
			if anyBuild {
				if p, err = p.Adjust(b, profile.Reference(cat)); err != nil {
					return profileUse(err)
				}
			}
			visits = append(visits, p)
		}
		if len(visits) == 1 {
			if asJSON {
				return writeClubJSON(c.OutOrStdout(), profileOut(visits[0]))
			}
			return printProfile(c.OutOrStdout(), visits[0])
		}
		changes, err := profile.Compare(visits[0], visits[1], set, nil)
		if err != nil {
			return profileUse(err)
		}
		read := profile.Imply(cat, changes, built)
		if asJSON {
			return writeClubJSON(c.OutOrStdout(), comparisonOut(visits, changes, read))
		}
		return printChanges(c.OutOrStdout(), changes, read, set)
	}
	return c
}

func profileUse(err error) error {
	var se *profile.ShotError
	if errors.As(err, &se) && se.Shot == 0 {
		return &usageError{err}
	}
	return err
}

func settingOf(differs []string) (profile.Setting, error) {
	var s profile.Setting
	for _, d := range differs {
		switch strings.TrimSpace(d) {
		case "ball":
			s.Ball = true
		case "surface":
			s.Surface = true
		case "device":
			s.Device = true
		default:
			return s, &usageError{fmt.Errorf("--differs %q: use ball, surface or device", d)}
		}
	}
	return s, nil
}

// buildOf is the club of the given flags, and what they leave open of the others.
func buildOf(v, others [3]*unit.Value) profile.Build {
	opt := func(i int) profile.Opt {
		switch {
		case v[i].Given:
			return profile.Some(v[i].V)
		case others[i].Given:
			return profile.Some(others[i].V)
		}
		return profile.Opt{}
	}
	return profile.Build{Length: opt(0), Loft: opt(1), Lie: opt(2)}
}

func readProfile(c *cobra.Command, path string, o profile.Options, half string) (profile.Profile, error) {
	rows, err := readSheet(c, path, swingColumns)
	if err != nil {
		return profile.Profile{}, err
	}
	shots := make([]profile.Shot, len(rows))
	for i, r := range rows {
		opt := func(name string) profile.Opt { return profile.Opt{V: r[name].V, Known: r[name].Known} }
		shots[i] = profile.Shot{Speed: opt("speed"), Attack: opt("attack"), Path: opt("path"), Face: opt("face"), FaceToPath: opt("face_to_path"),
			DynamicLoft: opt("dynamic_loft"), StrikeX: opt("strike_x"), StrikeY: opt("strike_y"), Tempo: opt("tempo")}
	}
	a, b := profile.Split(len(shots))
	switch half {
	case "":
	case "a":
		o.Use = append([]int{}, a...)
	case "b":
		o.Use = append([]int{}, b...)
	default:
		return profile.Profile{}, &usageError{fmt.Errorf("--half %q: use a or b", half)}
	}
	p, err := profile.FromShots(shots, o)
	if err != nil {
		return p, fmt.Errorf("%s: %w", path, profileUse(err))
	}
	return p, nil
}

func printProfile(w io.Writer, p profile.Profile) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "\tn\tmean\t95 % interval\tshot to shot\tin words\n")
	for _, e := range p.All() {
		name := strings.ReplaceAll(string(e.Term), "_", " ")
		if !e.Known {
			fmt.Fprintf(t, "%s\t%d\tnot yet: %d more\t\t\t\n", name, e.N, e.More)
			continue
		}
		low, high := e.Interval(0.95)
		scatter := ""
		if e.Term != profile.StrikeScatter {
			scatter = "± " + swingFigure(e.Term, e.SD)
		}
		best, _ := p.Likeliest(e.Term)
		fmt.Fprintf(t, "%s\t%d\t%s\t%s to %s\t%s\t%s (%.0f %%)\n", name, e.N, swingFigure(e.Term, e.Mean), swingFigure(e.Term, low), swingFigure(e.Term, high), scatter, best.Name, 100*best.Prob)
	}
	if err := t.Flush(); err != nil {
		return fmt.Errorf("write profile: %w", err)
	}
	if p.Left {
		fmt.Fprintln(w, "left-handed: path, face and face to path are mirrored")
	}
	if p.Reference != nil {
		fmt.Fprintf(w, "adjusted to a club of %.2f in, %.1f° loft, %.1f° lie\n", p.Reference.Length.V/club.Inch, p.Reference.Loft.V, p.Reference.Lie.V)
	}
	for _, s := range p.Suspects {
		fmt.Fprintf(w, "shot %d stands off: %s %s, the others around %s (kept)\n", s.Shot+1, s.Term, swingFigure(s.Term, s.Value), swingFigure(s.Term, s.Median))
	}
	for _, n := range p.Notes {
		fmt.Fprintln(w, n)
	}
	return nil
}

// swingFigure writes a value of a term as people read it.
func swingFigure(t profile.Term, v float64) string {
	switch t.Unit() {
	case "m/s":
		return fmt.Sprintf("%.1f m/s", v)
	case "deg":
		return fmt.Sprintf("%.1f°", v)
	case "m":
		return fmt.Sprintf("%.1f mm", v*1e3)
	}
	return fmt.Sprintf("%.2f", v)
}

func printChanges(w io.Writer, changes []profile.Change, read []profile.Implication, set profile.Setting) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "\tbefore\tafter\tchange\t95 % interval\tverdict\n")
	for _, c := range changes {
		name := strings.ReplaceAll(string(c.Term), "_", " ")
		switch {
		case c.More > 0:
			fmt.Fprintf(t, "%s\t\t\t\t\t%s: %d more shots\n", name, c.Verdict, c.More)
		case c.Term == profile.StrikeScatter:
			fmt.Fprintf(t, "%s\t%s\t%s\t%+.0f %%\t%+.0f to %+.0f %%\t%s\n", name, swingFigure(c.Term, c.Before.Mean), swingFigure(c.Term, c.After.Mean),
				100*(c.Ratio-1), percent(c.Low), percent(c.High), c.Verdict)
		default:
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s to %s\t%s\n", name, swingFigure(c.Term, c.Before.Mean), swingFigure(c.Term, c.After.Mean),
				swingFigure(c.Term, c.Diff), swingFigure(c.Term, c.Low), swingFigure(c.Term, c.High), c.Verdict)
		}
	}
	if err := t.Flush(); err != nil {
		return fmt.Errorf("write changes: %w", err)
	}
	if set == (profile.Setting{}) {
		fmt.Fprintln(w, "ball, surface and device are taken to be the same; say --differs where they were not")
	}
	for _, r := range read {
		fmt.Fprintf(w, "\n%s\n  Test: %s\n", r.Text, r.Try)
	}
	return nil
}
