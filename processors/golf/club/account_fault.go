package club

import (
	"fmt"
	"io"
	"math"
	"strings"

	"fairlead/ingest/contract/unit"
)

// FaultAccount is what a wrong lie or loft does, as it is told; right is positive.
type FaultAccount struct {
	fault       Fault
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

// Tell tells of a fault.
func (f Fault) Tell() (FaultAccount, error) {
	e, err := f.Effect()
	return FaultAccount{f, e.FaceAzimuth, e.Start, e.StartLow, e.StartHigh, e.Offline, e.OfflineLow, e.OfflineHigh,
		e.AxisTilt, e.Launch, e.LaunchLow, e.LaunchHigh, e.LoftLost}, err
}

// WriteText tells of it in words.
func (a FaultAccount) WriteText(w io.Writer, show unit.Shown) error {
	var b strings.Builder
	if a.fault.LieError != 0 {
		fmt.Fprintf(&b, "face points   %s\n", sided(a.Face, "°"))
		fmt.Fprintf(&b, "ball starts   %s (%.2f to %.2f°)", sided(a.Start, "°"), math.Abs(a.StartLow), math.Abs(a.StartHigh))
		if a.fault.Carry > 0 {
			fmt.Fprintf(&b, ", %s off line at its carry, before any curve", show.Distance(math.Abs(a.Offline)))
		}
		fmt.Fprintf(&b, "\nspin axis     %s\n", sided(a.Axis, "°"))
	}
	if a.fault.LoftError != 0 {
		fmt.Fprintf(&b, "launches      %+.2f° (%+.2f to %+.2f°)\n", a.Launch, a.LaunchLow, a.LaunchHigh)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

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
