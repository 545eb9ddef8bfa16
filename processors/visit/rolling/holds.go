package rolling

import "fairlead/processors/visit"

func sessionOf(s *visit.Session) *Session {
	out := &Session{
		ID: s.ID, Visit: s.Visit, Open: s.Open(), From: s.From, Player: s.Player, Hand: handName(s.Hand), Category: s.Category,
		Fitter: s.Fitter, Aim: s.Aim, Consent: s.Consent, Minor: s.Minor,
	}
	if !s.Open() {
		out.To = s.To
	}
	return out
}

func nowOf(span *visit.Span) Now {
	n := Now{
		Part: span.Part, Paused: span.Paused, Hitter: hitterName(span.Hitter), Intent: intentName(span.Intent), Class: className(span.Class),
		ClassLength: span.ClassLength, Instruction: span.Instruction,
	}
	if span.Trial != nil {
		n.Trial = span.Trial.ID
	}
	return n
}

func settingOf(s visit.Setting) *Setting {
	if s == (visit.Setting{}) {
		return nil
	}
	number := func(n visit.Number) *float64 {
		if !n.Known {
			return nil
		}
		return &n.Value
	}
	return &Setting{
		Place: s.Place, Surface: s.Surface, TeeHeightM: number(s.TeeHeight), BallModel: s.BallModel, BallClass: s.BallClass,
		TargetBearingDeg: number(s.TargetBearing), GreenSpeedM: number(s.GreenSpeed), WindSpeedMps: number(s.WindSpeed),
		WindTowardDeg: number(s.WindToward), TargetDistanceM: number(s.TargetDistance),
	}
}

// lastSeen is the entry that the bay took last.
func lastSeen(s *Snapshot) *Seen {
	var newest *Shot
	for _, list := range [][]Shot{s.Shots, s.Loose} {
		for i := range list {
			if newest == nil || list[i].Received >= newest.Received {
				newest = &list[i]
			}
		}
	}
	if newest == nil {
		return nil
	}
	return &Seen{newest.Key.Journal, newest.Key.Seq}
}
