package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/profile"
)

func newProfileCommand() *cobra.Command {
	var a profile.Asked
	var category string
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
more than a new --differs ball, surface or device would explain.

What fairlead export shots writes is read as it is: the rows that count.`,
		Example: `  fairlead profile testdata/profile/spring.csv --left --category driver
  fairlead profile testdata/profile/spring.csv testdata/profile/next_spring.csv --left --loft 12.5deg
  fairlead profile testdata/profile/spring.csv testdata/profile/next_spring.csv --left --differs device,ball --json`,
		Args: frame.UpTo(1, 2, "the baseline's CSV file, and a later visit's to compare"),
	}
	f := frame.UnitFlags{Command: c}
	builds := [2][3]*unit.Value{}
	for i, later := range []string{"", "later-"} {
		word := map[string]string{"": "that was hit", "later-": "of the later visit (default: the same)"}[later]
		builds[i] = [3]*unit.Value{
			f.Add(unit.Length, later+"length", 0, "length of the club "+word),
			f.Add(unit.Angle, later+"loft", 0, "static loft of the club "+word),
			f.Add(unit.Angle, later+"lie", 0, "lie of the club "+word),
		}
	}
	c.Flags().StringVar(&category, "category", "driver", "driver, wood, hybrid, iron or wedge")
	c.Flags().BoolVar(&a.Left, "left", false, "the player is left-handed")
	c.Flags().BoolVar(&a.Adjust, "adjust", false, "adjust to the reference build even where the club is unknown")
	c.Flags().StringVar(&a.Half, "half", "", "use only one half of the shots, a or b, which share none")
	c.Flags().StringSliceVar(&differs, "differs", nil, "what else differs at the later visit: ball, surface, device")
	c.Flags().Bool("json", false, "write one JSON object")
	c.RunE = func(c *cobra.Command, args []string) error {
		var err error
		if a.Category, err = club.ParseCategory(category); err != nil {
			return err
		}
		if a.Differs, err = profile.ParseSetting(differs); err != nil {
			return frame.Use(fmt.Errorf("--differs %w", err))
		}
		for i, b := range builds {
			a.Builds[i] = profile.Build{Length: known(b[0]), Loft: known(b[1]), Lie: known(b[2])}
			a.Adjust = a.Adjust || b[0].Given || b[1].Given || b[2].Given
		}
		var told profile.Told
		for _, path := range args {
			in, err := frame.Input(c, path)
			if err != nil {
				return err
			}
			defer in.Close()
			err = told.Add(in, path, a)
			// An error of no single shot is wrong use.
			var se *profile.ShotError
			if errors.As(err, &se) && se.Shot == 0 {
				return frame.Use(err)
			}
			if err != nil {
				return err
			}
		}
		if told.Comparison() {
			return frame.Tell(c, told.Changes(), &told)
		}
		return frame.Tell(c, told.Profile(), &told)
	}
	return c
}

// known is a value that a flag may have given.
func known(v *unit.Value) profile.Opt { return profile.Opt{V: v.V, Known: v.Given} }
