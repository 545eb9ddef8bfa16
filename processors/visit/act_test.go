package visit

import (
	"math"
	"strings"
	"testing"

	"fairlead/ingest/contract/unit"
)

// Signs that turn the direction of writing are refused in every field of every act.
func TestTurnedWritingIsRefused(t *testing.T) {
	for _, act := range Acts() {
		for _, f := range act.Fields {
			_, faults := Read(act.Name, Input{f.Name: {"half\u202einch"}}, &Place{})
			found := false
			for _, fault := range faults {
				found = found || fault.Field == f.Name && strings.Contains(fault.Reason, "direction of writing")
			}
			if !found {
				t.Errorf("%s: %s takes signs that turn the direction of writing", act.Name, f.Name)
			}
		}
	}
	r := &Reader{In: Input{"words": {"كرة جيدة"}}}
	if r.showing(); len(r.Faults) > 0 {
		t.Errorf("words written from right to left are refused: %v", r.Faults[0])
	}
}

// A figure is read as the parts of a club are, and a bare one in the unit that its field
// shows.
func TestFiguresAreReadAsTheFieldShowsThem(t *testing.T) {
	imperial := &Place{Timeline: (&Log{}).Timeline(), Shown: func(field string, q unit.Quantity) string {
		return map[string]string{"tee_height": "in", "target_distance": "yd", "green_speed": "ft", "wind_speed": "mph"}[field]
	}}
	for _, c := range []struct {
		place       *Place
		field, text string
		want        float64
	}{
		{imperial, "target_distance", "150", 150 * unit.Yard}, {imperial, "target_distance", "140 m", 140},
		{imperial, "tee_height", "1 1/2 in", 1.5 * unit.Inch}, {imperial, "tee_height", "1½", 1.5 * unit.Inch},
		{imperial, "green_speed", "10", 10 * unit.Foot}, {imperial, "wind_speed", "7", 7 * unit.MPH},
		{imperial, "wind_speed", "3,5 m/s", 3.5}, {imperial, "target_bearing", "-2", -2}, {imperial, "target_bearing", "+2deg", 2},
		{&Place{Timeline: (&Log{}).Timeline()}, "target_distance", "150", 150},
		{&Place{Timeline: (&Log{}).Timeline()}, "tee_height", "40 mm", .04},
	} {
		ev, faults := Read("setting", Input{c.field: {c.text}}, c.place)
		if len(faults) > 0 {
			t.Errorf("%s %q: %v", c.field, c.text, faults[0])
			continue
		}
		s := ev.GetSettingChanged()
		got := map[string]*float64{"target_distance": s.TargetDistanceM, "tee_height": s.TeeHeightM, "green_speed": s.GreenSpeedM,
			"wind_speed": s.WindSpeedMps, "target_bearing": s.TargetBearingDeg}[c.field]
		if got == nil || math.Abs(*got-c.want) > 1e-9 {
			t.Errorf("%s %q is read as %v, want %v", c.field, c.text, got, c.want)
		}
	}
	if _, faults := Read("setting", Input{"wind_speed": {"windy"}}, imperial); len(faults) != 1 || !strings.Contains(faults[0].Hint, "m/s") {
		t.Errorf("no figure: %v", faults)
	}
}
