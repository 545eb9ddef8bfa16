package dispersion

import "fairlead/ingest/contract/unit/table"

// number is a statistic's value, nil when not yet.
func number(s Stat) *float64 {
	if s.NotYet {
		return nil
	}
	v := s.Value
	return &v
}

// tell turns a summary into its account; lines are those of its shots.
func tell(s Summary, lines []int) Account {
	out := Account{Category: string(s.Category), Primary: s.Primary, N: s.N, Suspects: []accountSuspect{}, Rejected: []table.Left{},
		Misses: []accountOdds{}}
	out.Intervals = map[string]Stat{}
	keep := func(name string, v Stat) *float64 {
		out.Intervals[name] = v
		return number(v)
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
	out.Ellipse, out.MeanEllipse = tellEllipse(s.NextShot), tellEllipse(s.MeanArea)
	out.R50, out.R95 = keep("r50_m", s.R50), keep("r95_m", s.R95)
	out.CarryFromAim = keep("carry_from_aim_m", s.CarryFromAim)
	out.RightOfAim = keep("right_of_aim_m", s.RightOfAim)
	out.WorstTenth = keep("worst_tenth_m", s.WorstTenth.Distance)
	if s.WorstTenth.SeenN > 0 {
		out.WorstTenthSeen = &s.WorstTenth.Seen
	}
	for _, m := range s.Misses {
		out.Misses = append(out.Misses, accountOdds{m.Miss.String(), m.Odds, m.Hits, m.Seen})
	}
	for _, t := range s.Targets {
		out.Targets = append(out.Targets, accountOdds{t.Target.Name, t.Odds, t.Hits, t.Seen})
	}
	for _, u := range s.Suspects {
		out.Suspects = append(out.Suspects, accountSuspect{lines[u.Index], u.Chance, u.Reason})
	}
	r := s.Robust
	out.Robust = accountRobust{N: r.N, NotYet: r.NotYet, More: r.More, Why: r.Why, Rate: r.MishitRate, Changes: r.Changes}
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
