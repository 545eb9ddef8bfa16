package console

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/processors/visit/rolling"
)

type shotView struct {
	rolling.ShotRow
	Marker template.HTML
	Cells  []cell
	When   string
	Out    bool
	Notes  string // what is special about it
}

const latestShots = 30

func (s *server) shotView(state *rolling.State, r *rolling.ShotRow, markers map[string]template.HTML, usual string) shotView {
	v := shotView{ShotRow: *r, Marker: markers[r.Row], When: s.clock(r.At), Out: r.Status != "counts"}
	columns := []column{{"carry_m", "Carry"}, {"offline_m", "Offline"}, {"ball_speed_mps", "Ball"}, {"launch_angle_deg", "Launch"},
		{"spin_rate_rpm", "Spin"}}
	if state.Session != nil && state.Session.Category == "putter" {
		columns = []column{{"ball_speed_mps", "Ball"}, {"launch_direction_deg", "Start"}, {"launch_angle_deg", "Launch"}}
	}
	for _, c := range columns {
		x, ok := r.Values[c.column]
		if !ok {
			v.Cells = append(v.Cells, cell{Label: c.label, Value: "–", NotYet: true})
			continue
		}
		sc := s.units.of(c.column)
		text := sc.With(sc.Number(x))
		if c.column == "offline_m" || c.column == "launch_direction_deg" {
			text = sided(sc, x)
		}
		if slices.Contains(r.Computed, c.column) {
			text = "≈ " + text
		}
		v.Cells = append(v.Cells, cell{Label: c.label, Value: text})
	}
	var notes []string
	if r.Swap > 0 && r.Swap <= 2 && r.Number > r.Swap { // the first club of a session came after none
		notes = append(notes, fmt.Sprintf("shot %d after a swap", r.Swap))
	}
	if r.Moved {
		notes = append(notes, "moved by hand")
	}
	if seen := devices(r); seen != usual && usual != "" {
		notes = append(notes, "seen by "+seen)
	}
	if v.Out {
		notes = append(notes, nonEmpty(r.Reason, strings.ReplaceAll(r.Status, "_", " ")))
		if r.Status == "excluded" {
			notes[len(notes)-1] = "left out: " + r.Reason
		}
	}
	v.Notes = strings.Join(notes, " · ")
	return v
}

// devices names those that saw a shot.
func devices(r *rolling.ShotRow) string {
	if r.Second == "" {
		return r.Device + " only"
	}
	return r.Device + " and " + r.Second
}

// seenBy names the devices that saw most of the shots, so that only the others
// have to be remarked on; nothing where no shot was seen by two.
func seenBy(shots []rolling.ShotRow) (usual string) {
	times := map[string]int{}
	paired := false
	for i := range shots {
		seen := devices(&shots[i])
		times[seen]++
		if usual == "" || times[seen] > times[usual] {
			usual = seen
		}
		paired = paired || shots[i].Second != ""
	}
	if !paired {
		return ""
	}
	return usual
}

// sided writes a direction with its side.
func sided(sc figure.Unit, x float64) string {
	side := " R"
	if x < 0 {
		side = " L"
	}
	return sc.With(sc.Number(math.Abs(x))) + side
}
