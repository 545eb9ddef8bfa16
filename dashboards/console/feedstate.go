package console

import (
	"slices"
	"strings"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/rolling"
)

// feedsView is how a bay's feeds are getting on, and its latest shots.
type feedsView struct {
	Bay    string
	Heard  bool
	Feeds  []feedState
	Shots  []string
	Alarms []string
}

type feedState struct {
	Name, State, Detail string
	Lines, Rejected     uint64
	Last, Fault         string
	Bad                 bool
}

const namedShots = 3

func (s *server) feedStates(bay string) feedsView {
	v := feedsView{Bay: bay, Alarms: s.alarmsOf(bay)}
	for _, b := range s.health.All() {
		if b.Place.Bay != bay || b.Heartbeat == nil {
			continue
		}
		v.Heard = true
		for _, f := range b.Heartbeat.Feeds {
			v.Feeds = append(v.Feeds, feedStateOf(f))
		}
	}
	state, _ := s.stateOf(bay)
	for _, list := range [][]rolling.ShotRow{state.Shots, state.Loose} {
		for i := range slices.Backward(list) {
			if len(v.Shots) < namedShots {
				v.Shots = append(v.Shots, s.shotWords(&list[i]))
			}
		}
	}
	return v
}

// shotWords names a shot by its carry, or its ball's speed.
func (s *server) shotWords(shot *rolling.ShotRow) string {
	words := s.clock(shot.At)
	for _, column := range []string{"carry_m", "ball_speed_mps"} {
		if x, ok := shot.Values[column]; ok {
			words += ", " + strings.TrimSuffix(strings.TrimSuffix(column, "_mps"), "_m") + " " + s.units.of(column).Text(x)
			break
		}
	}
	return strings.ReplaceAll(words, "_", " ") + ", by " + shot.Device
}

func feedStateOf(f *event.FeedState) feedState {
	out := feedState{Name: f.Feed, State: f.State, Detail: f.Detail, Lines: f.Lines, Rejected: f.Rejected, Fault: f.LastFault,
		Bad: f.State == "stopped" || f.State == "away" || f.State == "mute" || f.LatestRejected > 0 && f.LatestRejected == f.Latest}
	if f.LastLineUnixNs != 0 {
		out.Last = time.Unix(0, f.LastLineUnixNs).Local().Format("2 Jan 15:04:05")
	}
	return out
}
