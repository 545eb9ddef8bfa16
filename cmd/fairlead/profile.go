package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/profile"
)

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
				return use(fmt.Errorf("give the baseline's CSV file, and a later visit's to compare; %d given", len(args)))
			}
			if len(args) == 2 && args[0] == "-" && args[1] == "-" {
				return use(fmt.Errorf("standard input can be only one of the two files"))
			}
			return nil
		},
	}
	f := unitFlags{c}
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
		set, err := profile.ParseSetting(differs)
		if err != nil {
			return use(fmt.Errorf("--differs %w", err))
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
				return printJSON(c.OutOrStdout(), visits[0].Account())
			}
			return visits[0].WriteText(c.OutOrStdout())
		}
		changes, err := profile.Compare(visits[0], visits[1], set, nil)
		if err != nil {
			return profileUse(err)
		}
		read := profile.Imply(cat, changes, built)
		if asJSON {
			return printJSON(c.OutOrStdout(), profile.TellComparison(visits, changes, read))
		}
		return profile.WriteChanges(c.OutOrStdout(), changes, read, set)
	}
	return c
}

// profileUse marks an error of no single shot as wrong use.
func profileUse(err error) error {
	var se *profile.ShotError
	if errors.As(err, &se) && se.Shot == 0 {
		return use(err)
	}
	return err
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
	in, err := input(c, path)
	if err != nil {
		return profile.Profile{}, err
	}
	defer in.Close()
	p, err := profile.ReadProfile(in, path, o, half)
	if errors.Is(err, profile.ErrHalf) {
		err = use(fmt.Errorf("--half %w", err))
	}
	return p, profileUse(err)
}
