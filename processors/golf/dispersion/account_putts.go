package dispersion

import (
	"fmt"
	"io"
	"text/tabwriter"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit/table"
)

// PuttsAsked is what is asked of a file of putts.
type PuttsAsked struct {
	Run   float64 // m that a ball released at 1.83 m/s rolls: the speed of the green
	Hole  float64 // m to a hole, 0 for none
	Level float64 // of the intervals
	Left  bool
}

// PuttsAccount is a run of putts as it is told; keys carry their unit.
type PuttsAccount struct {
	asked      PuttsAsked
	Category   string       `json:"category"`
	Primary    []string     `json:"judged_by"`
	N          int          `json:"n"`
	Start      Stat         `json:"start_deg"`
	StartSD    Stat         `json:"start_sd_deg"`
	Speed      Stat         `json:"speed_mps"`
	SpeedSD    Stat         `json:"speed_sd_mps"`
	SpeedSDPct Stat         `json:"speed_sd_pct"`
	Launch     Stat         `json:"launch_deg"`
	LaunchSD   Stat         `json:"launch_sd_deg"`
	Skid       Stat         `json:"skid_m"`
	RollOut    Stat         `json:"roll_out_m"`
	Holed      *Stat        `json:"holed_share,omitempty"`
	Rejected   []table.Left `json:"rejected"`
}

// puttFriction is that of a ball skidding on turf.
const puttFriction = 0.4

// Tell answers from a file with start and ball_speed. Rows that cannot be used are
// rejected in the file by their line.
func (a PuttsAsked) Tell(file *table.Partial) (*PuttsAccount, error) {
	green := Green{Run: a.Run, Friction: puttFriction}
	var putts []Putt
	for _, row := range file.Rows {
		start, okS := row.Value("start")
		speed, okV := row.Value("ball_speed")
		if !okS || !okV {
			file.Reject(row.Line, "start or ball_speed is empty")
			continue
		}
		p := Putt{Start: start, Speed: speed}
		p.Launch, p.HasLaunch = row.Value("launch")
		if a.Left {
			p.Start = -p.Start
		}
		if _, err := SummarisePutts([]Putt{p}, green, a.Hole, a.Level); err != nil {
			if green.Run <= 0 || a.Hole < 0 {
				return nil, err
			}
			file.Reject(row.Line, "%s", reasonOf(err))
			continue
		}
		putts = append(putts, p)
	}
	s, err := SummarisePutts(putts, green, a.Hole, a.Level)
	if err != nil {
		return nil, err
	}
	out := &PuttsAccount{
		asked:    a,
		Category: string(glossary.Putter), Primary: glossary.Putter.Judged(), N: s.N,
		Start: s.Start.Mean, StartSD: s.Start.SD, Speed: s.Speed.Mean, SpeedSD: s.Speed.SD, SpeedSDPct: s.SpeedSDPct,
		Launch: s.Launch.Mean, LaunchSD: s.Launch.SD, Skid: s.Skid, RollOut: s.RollOut, Rejected: append([]table.Left{}, file.Out...),
	}
	if a.Hole > 0 {
		out.Holed = &s.Holed
	}
	return out, nil
}

// WriteText tells of it in words.
func (out *PuttsAccount) WriteText(to io.Writer) error {
	metres := func(v float64) string { return fmt.Sprintf("%.2f m", v) }
	speed := func(v float64) string { return fmt.Sprintf("%.2f m/s", v) }
	w := tabwriter.NewWriter(to, 0, 4, 2, ' ', 0)
	fmt.Fprintf(w, "putter, %d putts\t\t%.0f %% interval\n", out.N, 100*out.asked.Level)
	statLine(w, "start line, right +", out.Start, inDegrees)
	statLine(w, "start line, sd", out.StartSD, inDegrees)
	statLine(w, "ball speed", out.Speed, speed)
	statLine(w, "ball speed, sd", out.SpeedSDPct, inPercent)
	statLine(w, "launch", out.Launch, inDegrees)
	statLine(w, "skids for", out.Skid, metres)
	statLine(w, "rolls out in all", out.RollOut, metres)
	if out.Holed != nil {
		statLine(w, fmt.Sprintf("holed from %.1f m, level", out.asked.Hole), *out.Holed, inHundred)
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write: %w", err)
	}
	return nil
}
