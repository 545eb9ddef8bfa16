package main

import (
	"errors"
	"fmt"

	"fairlead/processors/golf/dispersion"
)

// shotReason words what is wrong with a shot, without its number: the line
// says that.
func shotReason(err error) string {
	var bad *dispersion.ShotError
	if errors.As(err, &bad) {
		return fmt.Sprintf("%s %g %s", bad.Field, bad.Value, bad.Reason)
	}
	return err.Error()
}

type ellipseJSON struct {
	P       float64 `json:"p"`
	C       float64 `json:"c"`
	Carry   float64 `json:"centre_carry_m"`
	Offline float64 `json:"centre_offline_m"`
	Major   float64 `json:"semi_major_m"`
	Minor   float64 `json:"semi_minor_m"`
	TiltDeg float64 `json:"tilt_deg"`
	Area    float64 `json:"area_m2"`
}

func ellipseOut(e *dispersion.Ellipse) *ellipseJSON {
	if e == nil {
		return nil
	}
	return &ellipseJSON{e.P, e.C, e.Centre[0], e.Centre[1], e.Major, e.Minor, e.TiltDeg, e.Area}
}

type oddsJSON struct {
	Name string          `json:"name"`
	Odds dispersion.Stat `json:"odds"`
	Hits int             `json:"seen"`
	Seen dispersion.Stat `json:"seen_share"`
}

type oddShotJSON struct {
	Line   int     `json:"line"`
	Chance float64 `json:"chance"`
	Reason string  `json:"reason"`
}

type robustJSON struct {
	N           int             `json:"n"`
	NotYet      bool            `json:"not_yet,omitempty"`
	More        int             `json:"more,omitempty"`
	Why         string          `json:"why,omitempty"`
	Carry       *float64        `json:"centre_carry_m"`
	Offline     *float64        `json:"centre_offline_m"`
	CovCarry    *float64        `json:"var_carry_m2"`
	CovCross    *float64        `json:"cov_m2"`
	CovOffline  *float64        `json:"var_offline_m2"`
	SpreadRatio *float64        `json:"area_ratio"`
	Mishits     *int            `json:"mishits"`
	Rate        dispersion.Stat `json:"mishit_rate"`
	Lines       []int           `json:"mishit_lines,omitempty"`
	Changes     []string        `json:"changes,omitempty"`
}

type strikeJSON struct {
	N         int             `json:"n"`
	X         dispersion.Stat `json:"mean_x_m"`
	Y         dispersion.Stat `json:"mean_y_m"`
	SDX       dispersion.Stat `json:"sd_x_m"`
	SDY       dispersion.Stat `json:"sd_y_m"`
	OffCentre dispersion.Stat `json:"off_centre_m"`
	SpreadLn  dispersion.Stat `json:"spread_ln"`
	Ellipse   *ellipseJSONXY  `json:"ellipse"`
}

type ellipseJSONXY struct {
	P       float64 `json:"p"`
	X       float64 `json:"centre_x_m"`
	Y       float64 `json:"centre_y_m"`
	Major   float64 `json:"semi_major_m"`
	Minor   float64 `json:"semi_minor_m"`
	TiltDeg float64 `json:"tilt_deg"`
	Area    float64 `json:"area_m2"`
}

func strikeOut(s dispersion.StrikeSummary) *strikeJSON {
	out := &strikeJSON{N: s.N, X: s.X.Mean, Y: s.Y.Mean, SDX: s.X.SD, SDY: s.Y.SD, OffCentre: s.OffCentre, SpreadLn: s.SpreadLn}
	if e := s.NextStrike; e != nil {
		out.Ellipse = &ellipseJSONXY{e.P, e.Centre[0], e.Centre[1], e.Major, e.Minor, e.TiltDeg, e.Area}
	}
	return out
}

type swingJSON struct {
	Swing     string          `json:"swing"`
	N         int             `json:"n"`
	Carry     dispersion.Stat `json:"carry_m"`
	CarryPct  dispersion.Stat `json:"carry_sd_pct"`
	CarrySD   dispersion.Stat `json:"carry_sd_m"`
	Direction dispersion.Stat `json:"direction_sd_deg"`
}

// dispersionJSON has plain numbers where a script wants them (null when not
// yet); intervals holds what each rests on, by the same name.
type dispersionJSON struct {
	Category string   `json:"category"`
	Primary  []string `json:"judged_by"`
	Handed   bool     `json:"mirrored,omitempty"`
	N        int      `json:"n"`
	Mean     struct {
		Carry     *float64 `json:"carry_m"`
		Offline   *float64 `json:"offline_m"`
		Direction *float64 `json:"direction_deg"`
	} `json:"mean"`
	SD struct {
		Carry   *float64 `json:"carry_m"`
		Offline *float64 `json:"offline_m"`
	} `json:"sd"`
	DirectionSDDeg  *float64                   `json:"direction_sd_deg"`
	DirectionSDM    *float64                   `json:"direction_sd_m"`
	CarrySDPct      *float64                   `json:"carry_sd_pct"`
	SpreadLn        *float64                   `json:"spread_ln"`
	SpreadVar       *float64                   `json:"spread_var"`
	RelativeLn      *float64                   `json:"relative_spread_ln"`
	CarrySpreadLn   *float64                   `json:"carry_spread_ln"`
	OfflineSpreadLn *float64                   `json:"offline_spread_ln"`
	AxisSpreadVar   *float64                   `json:"axis_spread_var"`
	Ellipse         *ellipseJSON               `json:"ellipse"`
	MeanEllipse     *ellipseJSON               `json:"mean_ellipse"`
	R50             *float64                   `json:"r50_m"`
	R95             *float64                   `json:"r95_m"`
	CarryFromAim    *float64                   `json:"carry_from_aim_m"`
	RightOfAim      *float64                   `json:"right_of_aim_m"`
	Misses          []oddsJSON                 `json:"misses"`
	Targets         []oddsJSON                 `json:"targets,omitempty"`
	WorstTenth      *float64                   `json:"worst_tenth_m"`
	WorstTenthSeen  *float64                   `json:"worst_tenth_seen_m"`
	Robust          robustJSON                 `json:"robust"`
	Suspects        []oddShotJSON              `json:"suspects"`
	Strike          *strikeJSON                `json:"strike,omitempty"`
	Swings          []swingJSON                `json:"swings,omitempty"`
	Intervals       map[string]dispersion.Stat `json:"intervals"`
	Notes           []string                   `json:"notes,omitempty"`
	Rejected        []badRow                   `json:"rejected"`
}

// statNumber is a statistic's value, nil when not yet.
func statNumber(s dispersion.Stat) *float64 {
	if s.NotYet {
		return nil
	}
	v := s.Value
	return &v
}

func dispersionOut(s dispersion.Summary, lines []int) dispersionJSON {
	out := dispersionJSON{Category: string(s.Category), Primary: s.Primary, N: s.N, Suspects: []oddShotJSON{}, Rejected: []badRow{}, Misses: []oddsJSON{}}
	out.Intervals = map[string]dispersion.Stat{}
	keep := func(name string, v dispersion.Stat) *float64 {
		out.Intervals[name] = v
		return statNumber(v)
	}
	out.Mean.Carry = keep("mean_carry_m", s.Carry.Mean)
	out.Mean.Offline = keep("mean_offline_m", s.Offline.Mean)
	out.Mean.Direction = keep("mean_direction_deg", s.Direction.Mean)
	out.SD.Carry = keep("sd_carry_m", s.Carry.SD)
	out.SD.Offline = keep("sd_offline_m", s.Offline.SD)
	out.DirectionSDDeg = keep("direction_sd_deg", s.DirectionSDDeg)
	out.DirectionSDM = keep("direction_sd_m", s.WidthM)
	out.CarrySDPct = keep("carry_sd_pct", s.CarrySDPct)
	out.SpreadLn = keep("spread_ln", s.SpreadLn)
	out.RelativeLn = keep("relative_spread_ln", s.RelativeSpreadLn)
	out.CarrySpreadLn = keep("carry_spread_ln", s.Carry.SpreadLn)
	out.OfflineSpreadLn = keep("offline_spread_ln", s.Offline.SpreadLn)
	if s.SpreadVar > 0 {
		out.SpreadVar = &s.SpreadVar
	}
	if s.Carry.SpreadVar > 0 {
		out.AxisSpreadVar = &s.Carry.SpreadVar
	}
	out.Ellipse, out.MeanEllipse = ellipseOut(s.NextShot), ellipseOut(s.MeanArea)
	out.R50, out.R95 = keep("r50_m", s.R50), keep("r95_m", s.R95)
	out.CarryFromAim = keep("carry_from_aim_m", s.CarryFromAim)
	out.RightOfAim = keep("right_of_aim_m", s.RightOfAim)
	out.WorstTenth = keep("worst_tenth_m", s.WorstTenth.Distance)
	if s.WorstTenth.SeenN > 0 {
		out.WorstTenthSeen = &s.WorstTenth.Seen
	}
	for _, m := range s.Misses {
		out.Misses = append(out.Misses, oddsJSON{m.Miss.String(), m.Odds, m.Hits, m.Seen})
	}
	for _, t := range s.Targets {
		out.Targets = append(out.Targets, oddsJSON{t.Target.Name, t.Odds, t.Hits, t.Seen})
	}
	for _, u := range s.Suspects {
		out.Suspects = append(out.Suspects, oddShotJSON{lines[u.Index], u.Chance, u.Reason})
	}
	r := s.Robust
	out.Robust = robustJSON{N: r.N, NotYet: r.NotYet, More: r.More, Why: r.Why, Rate: r.MishitRate, Changes: r.Changes}
	if !r.NotYet {
		mishits := len(r.Mishits)
		out.Robust.Carry, out.Robust.Offline = &r.Centre[0], &r.Centre[1]
		out.Robust.CovCarry, out.Robust.CovCross, out.Robust.CovOffline = &r.Cov[0], &r.Cov[1], &r.Cov[2]
		out.Robust.SpreadRatio, out.Robust.Mishits = &r.SpreadRatio, &mishits
		for _, i := range r.Mishits {
			out.Robust.Lines = append(out.Robust.Lines, lines[i])
		}
	}
	return out
}
