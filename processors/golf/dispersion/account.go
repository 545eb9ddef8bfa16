package dispersion

import "fairlead/ingest/contract/unit/table"

type accountEllipse struct {
	P       float64 `json:"p"`
	C       float64 `json:"c"`
	Carry   float64 `json:"centre_carry_m"`
	Offline float64 `json:"centre_offline_m"`
	Major   float64 `json:"semi_major_m"`
	Minor   float64 `json:"semi_minor_m"`
	TiltDeg float64 `json:"tilt_deg"`
	Area    float64 `json:"area_m2"`
}

func tellEllipse(e *Ellipse) *accountEllipse {
	if e == nil {
		return nil
	}
	return &accountEllipse{e.P, e.C, e.Centre[0], e.Centre[1], e.Major, e.Minor, e.TiltDeg, e.Area}
}

type accountOdds struct {
	Name string `json:"name"`
	Odds Stat   `json:"odds"`
	Hits int    `json:"seen"`
	Seen Stat   `json:"seen_share"`
}

type accountSuspect struct {
	Line   int     `json:"line"`
	Chance float64 `json:"chance"`
	Reason string  `json:"reason"`
}

type accountRobust struct {
	N           int      `json:"n"`
	NotYet      bool     `json:"not_yet,omitempty"`
	More        int      `json:"more,omitempty"`
	Why         string   `json:"why,omitempty"`
	Carry       *float64 `json:"centre_carry_m"`
	Offline     *float64 `json:"centre_offline_m"`
	CovCarry    *float64 `json:"var_carry_m2"`
	CovCross    *float64 `json:"cov_m2"`
	CovOffline  *float64 `json:"var_offline_m2"`
	SpreadRatio *float64 `json:"area_ratio"`
	Mishits     *int     `json:"mishits"`
	Rate        Stat     `json:"mishit_rate"`
	Lines       []int    `json:"mishit_lines,omitempty"`
	Changes     []string `json:"changes,omitempty"`
}

type accountStrike struct {
	N         int          `json:"n"`
	X         Stat         `json:"mean_x_m"`
	Y         Stat         `json:"mean_y_m"`
	SDX       Stat         `json:"sd_x_m"`
	SDY       Stat         `json:"sd_y_m"`
	OffCentre Stat         `json:"off_centre_m"`
	SpreadLn  Stat         `json:"spread_ln"`
	Ellipse   *accountFace `json:"ellipse"`
}

type accountFace struct {
	P       float64 `json:"p"`
	X       float64 `json:"centre_x_m"`
	Y       float64 `json:"centre_y_m"`
	Major   float64 `json:"semi_major_m"`
	Minor   float64 `json:"semi_minor_m"`
	TiltDeg float64 `json:"tilt_deg"`
	Area    float64 `json:"area_m2"`
}

func tellStrike(s StrikeSummary) *accountStrike {
	out := &accountStrike{N: s.N, X: s.X.Mean, Y: s.Y.Mean, SDX: s.X.SD, SDY: s.Y.SD, OffCentre: s.OffCentre, SpreadLn: s.SpreadLn}
	if e := s.NextStrike; e != nil {
		out.Ellipse = &accountFace{e.P, e.Centre[0], e.Centre[1], e.Major, e.Minor, e.TiltDeg, e.Area}
	}
	return out
}

type accountSwing struct {
	Swing     string `json:"swing"`
	N         int    `json:"n"`
	Carry     Stat   `json:"carry_m"`
	CarryPct  Stat   `json:"carry_sd_pct"`
	CarrySD   Stat   `json:"carry_sd_m"`
	Direction Stat   `json:"direction_sd_deg"`
}

// Account is a run of shots as it is told in JSON: plain numbers where a script
// wants them (null when not yet); intervals holds what each rests on, by the same
// name. Keys carry their unit; rows and suspects are named by their line.
type Account struct {
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
	DirectionSDDeg  *float64         `json:"direction_sd_deg"`
	DirectionSDM    *float64         `json:"direction_sd_m"`
	CarrySDPct      *float64         `json:"carry_sd_pct"`
	SpreadLn        *float64         `json:"spread_ln"`
	SpreadVar       *float64         `json:"spread_var"`
	RelativeLn      *float64         `json:"relative_spread_ln"`
	CarrySpreadLn   *float64         `json:"carry_spread_ln"`
	OfflineSpreadLn *float64         `json:"offline_spread_ln"`
	AxisSpreadVar   *float64         `json:"axis_spread_var"`
	Ellipse         *accountEllipse  `json:"ellipse"`
	MeanEllipse     *accountEllipse  `json:"mean_ellipse"`
	R50             *float64         `json:"r50_m"`
	R95             *float64         `json:"r95_m"`
	CarryFromAim    *float64         `json:"carry_from_aim_m"`
	RightOfAim      *float64         `json:"right_of_aim_m"`
	Misses          []accountOdds    `json:"misses"`
	Targets         []accountOdds    `json:"targets,omitempty"`
	WorstTenth      *float64         `json:"worst_tenth_m"`
	WorstTenthSeen  *float64         `json:"worst_tenth_seen_m"`
	Robust          accountRobust    `json:"robust"`
	Suspects        []accountSuspect `json:"suspects"`
	Strike          *accountStrike   `json:"strike,omitempty"`
	Swings          []accountSwing   `json:"swings,omitempty"`
	Intervals       map[string]Stat  `json:"intervals"`
	Notes           []string         `json:"notes,omitempty"`
	Rejected        []table.Left     `json:"rejected"`
}
