package visit

import (
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

var _ = kind(Kind{
	Name: "setting_changed", Bears: OnSpan,
	// The setting is the bay's and goes on to hold for the players who follow.
	Keeps: []string{"place", "surface", "tee_height_m", "ball_model", "ball_class", "target_bearing_deg", "green_speed_m", "wind_speed_mps",
		"wind_toward_deg", "target_distance_m", "forgotten"},
	Acts: []Act{{
		Name: "setting", Short: "Say where and with what balls is hit; what is not named stays",
		Example: "setting --bay north --place indoor --surface mat --target-distance 150yd",
		Fields: []Field{
			{Name: "place", Help: "indoor or outdoor"}, {Name: "surface", Help: "mat, grass or tee"},
			{Name: "ball_model", Flag: "ball", Help: "ball model"}, {Name: "ball_class", Help: "premium, range, limited-flight, …"},
			{Name: "tee_height", Help: "height of the tee", Quantity: unit.Length},
			{Name: "target_distance", Help: "distance of the target", Quantity: unit.Length},
			{Name: "target_bearing", Help: "aim against the device's zero line, right positive", Quantity: unit.Angle},
			{Name: "green_speed", Help: "run of a ball released at 1.83 m/s", Quantity: unit.Length},
			{Name: "wind_speed", Help: "wind speed", Quantity: unit.Speed},
			{Name: "wind_toward", Help: "where it blows to: 0 is down-range, right positive", Quantity: unit.Angle},
			{Name: "forget", Help: "what is no longer known: target, wind, tee, green", Many: true},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			s := &event.SettingChanged{
				Place: r.Text("place"), Surface: r.Text("surface"), BallModel: r.Text("ball_model"), BallClass: r.Text("ball_class"),
				TeeHeightM: r.number("tee_height", unit.Length), TargetDistanceM: r.number("target_distance", unit.Length),
				TargetBearingDeg: r.number("target_bearing", unit.Angle), GreenSpeedM: r.number("green_speed", unit.Length),
				WindSpeedMps: r.number("wind_speed", unit.Speed), WindTowardDeg: r.number("wind_toward", unit.Angle),
			}
			for _, word := range r.Texts("forget") {
				s.Forgotten = append(s.Forgotten, event.SettingPart(r.wordOf("forget", word, "SETTING_", event.SettingPart_value)))
			}
			ev.Body = &event.VisitEvent_SettingChanged{SettingChanged: s}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		s := ev.GetSettingChanged()
		c.OneOf("place", s.GetPlace(), "indoor", "outdoor")
		c.OneOf("surface", s.GetSurface(), "mat", "grass", "tee")
		c.Text("ball_model", s.GetBallModel(), event.LongestLabel)
		c.Text("ball_class", s.GetBallClass(), event.LongestLabel)
		for _, p := range s.GetForgotten() {
			c.Choice("forgotten", int32(p), event.SettingPart_name)
		}
		if s == nil || proto.Equal(s, &event.SettingChanged{}) {
			c.Add("setting", "", "changes nothing", "give at least one part of it")
			return
		}
		c.Optional("tee_height_m", s.TeeHeightM, 0, 0.12, "m")
		c.Optional("target_bearing_deg", s.TargetBearingDeg, -180, 180, "deg")
		c.Optional("green_speed_m", s.GreenSpeedM, 0.5, 6, "m")
		c.Optional("wind_speed_mps", s.WindSpeedMps, 0, 40, "m/s")
		c.Optional("wind_toward_deg", s.WindTowardDeg, -360, 360, "deg")
		c.Optional("target_distance_m", s.TargetDistanceM, 0, 400, "m")
		if s.Place == "indoor" && s.WindSpeedMps != nil && *s.WindSpeedMps > 0 {
			c.Add("wind_speed_mps", *s.WindSpeedMps, "there is no wind indoors", "set the place to outdoor, or leave the wind out")
		}
		if s.TeeHeightM != nil && *s.TeeHeightM > 0 && s.Surface == "grass" {
			c.Add("tee_height_m", *s.TeeHeightM, "a ball on grass has no tee", "set the surface to tee")
		}
	},
	step: func(f *folder, ev *event.VisitEvent) {
		if next := f.now.setting.with(ev.GetSettingChanged()); next != *f.now.setting {
			f.now.setting = &next
		}
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		if s := ev.GetSettingChanged(); len(s.GetForgotten()) > 0 {
			return "setting changed: what belonged to another kind of session no longer holds"
		}
		return "setting changed"
	},
})
