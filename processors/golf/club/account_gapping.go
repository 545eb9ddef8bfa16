package club

// accountPosition is one way to hit a distance; figures of what was not measured
// are absent, and so are those that a single shot cannot give.
type accountPosition struct {
	Club     string   `json:"club"`
	Swing    string   `json:"swing"`
	Category string   `json:"category"`
	Loft     *float64 `json:"loft_deg,omitempty"`
	N        int      `json:"n"`
	Carry    float64  `json:"carry_m"`
	CarrySD  *float64 `json:"carry_sd_m,omitempty"`
	More     int      `json:"shots_more"`
}

type accountGap struct {
	Longer  string   `json:"longer"`
	Shorter string   `json:"shorter"`
	Gap     *float64 `json:"gap_m,omitempty"`
	Low     *float64 `json:"gap_low_m,omitempty"`
	High    *float64 `json:"gap_high_m,omitempty"`
	Overlap *float64 `json:"prob_overlap,omitempty"`
	Hole    *float64 `json:"prob_hole,omitempty"`
	Fine    *float64 `json:"prob_fine,omitempty"`
	Passed  *float64 `json:"prob_shorter_flies_past,omitempty"`
	Verdict string   `json:"verdict"`
	More    int      `json:"shots_more"`
	Advice  string   `json:"advice,omitempty"`
}

type accountGreen struct {
	Club     string   `json:"club"`
	Category string   `json:"category"`
	Landing  *float64 `json:"landing_deg,omitempty"`
	Spin     *float64 `json:"spin_rpm,omitempty"`
	Stop     *float64 `json:"stop_m,omitempty"`
	Judged   []string `json:"judged_by"`
	Verdict  string   `json:"verdict"`
	More     int      `json:"shots_more"`
}

// GappingAccount is a gapped bag as it is told in JSON, whose keys carry the unit.
type GappingAccount struct {
	Full        []accountPosition `json:"full"`
	Gaps        []accountGap      `json:"gaps"`
	Wedges      []accountPosition `json:"wedges"`
	WedgeGaps   []accountGap      `json:"wedge_gaps"`
	Greens      []accountGreen    `json:"greens"`
	LongestIron *string           `json:"longest_iron_holding_green"`
	LongestAny  *string           `json:"longest_club_holding_green"`
	PerDegree   *float64          `json:"carry_lost_per_loft_degree_m,omitempty"`
	Clubs       int               `json:"clubs"`
	MaxClubs    int               `json:"max_clubs"`
	Notes       []string          `json:"notes"`
	Unhit       []string          `json:"not_hit"`
}

// Account tells of a gapped bag.
func (g Gapping) Account() GappingAccount {
	out := GappingAccount{
		Full: tellPositions(g.Full), Gaps: tellGaps(g.Gaps), Wedges: tellPositions(g.Wedges), WedgeGaps: tellGaps(g.Short),
		Greens: []accountGreen{}, Clubs: g.Clubs, MaxClubs: g.Options.MaxClubs,
		LongestIron: nonEmpty(g.LongestHolding), LongestAny: nonEmpty(g.LongestHoldingAny),
		Notes: append([]string{}, g.Notes...), Unhit: append([]string{}, g.Unhit...),
	}
	if g.LossPerDegree > 0 {
		out.PerDegree = &g.LossPerDegree
	}
	mean := func(s Sample) *float64 {
		if s.N == 0 {
			return nil
		}
		return &s.Mean
	}
	for _, h := range g.Greens {
		out.Greens = append(out.Greens, accountGreen{h.Club, string(h.Category), mean(h.Landing), mean(h.Spin), mean(h.Stop),
			append([]string{}, h.Judged...), string(h.Verdict), h.More})
	}
	return out
}

func tellPositions(ps []Position) []accountPosition {
	out := []accountPosition{}
	for _, p := range ps {
		row := accountPosition{Club: p.Club, Swing: p.Swing, Category: string(p.Category), N: p.Carry.N, Carry: p.Carry.Mean,
			More: p.Carry.More()}
		if p.Full() {
			row.Swing = "full"
		}
		if p.Loft > 0 {
			row.Loft = &p.Loft
		}
		if p.Carry.N >= 2 {
			row.CarrySD = &p.Carry.SD
		}
		out = append(out, row)
	}
	return out
}

func tellGaps(gaps []Gap) []accountGap {
	out := []accountGap{}
	for _, g := range gaps {
		row := accountGap{Longer: g.Longer, Shorter: g.Shorter, Verdict: string(g.Verdict), More: g.More, Advice: g.Advice}
		if g.Known {
			row.Gap, row.Low, row.High, row.Hole, row.Fine, row.Passed = &g.Mean, &g.Low, &g.High, &g.ProbHole, &g.ProbFine, &g.Passed
			if g.Min > 0 {
				row.Overlap = &g.ProbOverlap
			}
		}
		out = append(out, row)
	}
	return out
}

func nonEmpty(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}
