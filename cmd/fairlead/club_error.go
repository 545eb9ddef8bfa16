package main

import (
	"fmt"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"github.com/spf13/cobra"
)

type faultJSON struct {
	Face        float64 `json:"face_azimuth_deg"`
	Start       float64 `json:"start_deg"`
	StartLow    float64 `json:"start_low_deg"`
	StartHigh   float64 `json:"start_high_deg"`
	Offline     float64 `json:"start_offline_m"`
	OfflineLow  float64 `json:"start_offline_low_m"`
	OfflineHigh float64 `json:"start_offline_high_m"`
	Axis        float64 `json:"spin_axis_deg"`
	Launch      float64 `json:"launch_change_deg"`
	LaunchLow   float64 `json:"launch_change_low_deg"`
	LaunchHigh  float64 `json:"launch_change_high_deg"`
	LoftLost    float64 `json:"loft_lost_deg"`
}

func newClubErrorCommand() *cobra.Command {
	var asJSON, left bool
	var show showUnits
	c := &cobra.Command{
		Use:   "error",
		Short: "What a wrong lie or loft does at the target, in degrees and metres",
		Long: `What a lie or loft that is off by so many degrees does to a good strike. A lie
too upright turns the face to the left (left-handed: right) by its error times
the tangent of the loft. The ball starts 61 to 83 % of the way to the face and
goes on curving to that side; the curve is not in the metres shown.`,
		Example: `  fairlead club error --loft 36deg --lie-error 1deg --carry 140yd --imperial
  fairlead club error --loft 33deg --loft-error -2deg --carry 130m --json`,
		Args: noClubArgs,
	}
	f := clubFlags{c}
	loft := f.add(unit.Angle, "loft", 0, "loft as delivered")
	lie := f.add(unit.Angle, "lie-error", 0, "lie error, positive too upright")
	weak := f.add(unit.Angle, "loft-error", 0, "loft error, positive too weak")
	carry := f.add(unit.Length, "carry", 0, "carry with this club")
	c.Flags().BoolVar(&left, "left", false, "left-handed player")
	c.Flags().BoolVar(&asJSON, "json", false, "write one JSON object")
	show.flag(c)
	c.RunE = func(c *cobra.Command, _ []string) error {
		if !lie.Given && !weak.Given {
			return &usageError{fmt.Errorf("give --lie-error or --loft-error")}
		}
		e, err := club.Fault{Loft: loft.V, LieError: lie.V, LoftError: weak.V, Carry: carry.V, Left: left}.Effect()
		if err != nil {
			return clubUse(err)
		}
		if asJSON {
			return writeClubJSON(c.OutOrStdout(), faultJSON{e.FaceAzimuth, e.Start, e.StartLow, e.StartHigh,
				e.Offline, e.OfflineLow, e.OfflineHigh, e.AxisTilt, e.Launch, e.LaunchLow, e.LaunchHigh, e.LoftLost})
		}
		w := c.OutOrStdout()
		if lie.V != 0 {
			fmt.Fprintf(w, "face points   %s\n", sided(e.FaceAzimuth, "°"))
			fmt.Fprintf(w, "ball starts   %s (%.2f to %.2f°)", sided(e.Start, "°"), abs(e.StartLow), abs(e.StartHigh))
			if carry.V > 0 {
				fmt.Fprintf(w, ", %s off line at its carry, before any curve", show.distance(abs(e.Offline)))
			}
			fmt.Fprintf(w, "\nspin axis     %s\n", sided(e.AxisTilt, "°"))
		}
		if weak.V != 0 {
			fmt.Fprintf(w, "launches      %+.2f° (%+.2f to %+.2f°)\n", e.Launch, e.LaunchLow, e.LaunchHigh)
		}
		return nil
	}
	return c
}

func abs(v float64) float64 { return max(v, -v) }

// sided writes a signed angle with its side in words.
func sided(v float64, unit string) string {
	switch {
	case v < 0:
		return fmt.Sprintf("%.2f%s left", -v, unit)
	case v > 0:
		return fmt.Sprintf("%.2f%s right", v, unit)
	}
	return "straight"
}
