package main

import (
	"fmt"
	"os"
	"text/tabwriter"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/dispersion"

	"github.com/spf13/cobra"
)

type puttsJSON struct {
	Category   string           `json:"category"`
	Primary    []string         `json:"judged_by"`
	N          int              `json:"n"`
	Start      dispersion.Stat  `json:"start_deg"`
	StartSD    dispersion.Stat  `json:"start_sd_deg"`
	Speed      dispersion.Stat  `json:"speed_mps"`
	SpeedSD    dispersion.Stat  `json:"speed_sd_mps"`
	SpeedSDPct dispersion.Stat  `json:"speed_sd_pct"`
	Launch     dispersion.Stat  `json:"launch_deg"`
	LaunchSD   dispersion.Stat  `json:"launch_sd_deg"`
	Skid       dispersion.Stat  `json:"skid_m"`
	RollOut    dispersion.Stat  `json:"roll_out_m"`
	Holed      *dispersion.Stat `json:"holed_share,omitempty"`
	Rejected   []badRow         `json:"rejected"`
}

// puttFriction is that of a ball skidding on turf.
const puttFriction = 0.4

func runPutts(c *cobra.Command, path string, f dispersionFlags, asJSON bool, svg string) error {
	if svg != "" {
		return &usageError{fmt.Errorf("--svg draws landing points; putts have none")}
	}
	file, err := readShots(c, path, "start", "ball_speed")
	if err != nil {
		return err
	}
	green := dispersion.Green{Run: f.greenSpeed.V, Friction: puttFriction}
	var putts []dispersion.Putt
	for _, row := range file.rows {
		start, okS := row.value("start")
		speed, okV := row.value("ball_speed")
		if !okS || !okV {
			file.reject(row.line, "start or ball_speed is empty")
			continue
		}
		p := dispersion.Putt{Start: start, Speed: speed}
		p.Launch, p.HasLaunch = row.value("launch")
		if f.left {
			p.Start = -p.Start
		}
		if _, err := dispersion.SummarisePutts([]dispersion.Putt{p}, green, f.hole.V, f.level); err != nil {
			if green.Run <= 0 || f.hole.V < 0 {
				return &usageError{err}
			}
			file.reject(row.line, "%s", shotReason(err))
			continue
		}
		putts = append(putts, p)
	}
	file.warn(c.ErrOrStderr())
	if len(putts) == 0 && len(file.bad) > 0 {
		return fmt.Errorf("%s: none of its %d rows can be used", path, len(file.bad))
	}
	s, err := dispersion.SummarisePutts(putts, green, f.hole.V, f.level)
	if err != nil {
		return &usageError{err}
	}
	out := puttsJSON{
		Category: string(glossary.Putter), Primary: glossary.Putter.Judged(), N: s.N,
		Start: s.Start.Mean, StartSD: s.Start.SD, Speed: s.Speed.Mean, SpeedSD: s.Speed.SD, SpeedSDPct: s.SpeedSDPct,
		Launch: s.Launch.Mean, LaunchSD: s.Launch.SD, Skid: s.Skid, RollOut: s.RollOut, Rejected: append([]badRow{}, file.bad...),
	}
	if f.hole.V > 0 {
		out.Holed = &s.Holed
	}
	if asJSON {
		return writeClubJSON(c.OutOrStdout(), out)
	}
	metres := func(v float64) string { return fmt.Sprintf("%.2f m", v) }
	speed := func(v float64) string { return fmt.Sprintf("%.2f m/s", v) }
	w := tabwriter.NewWriter(c.OutOrStdout(), 0, 4, 2, ' ', 0)
	fmt.Fprintf(w, "putter, %d putts\t\t%.0f %% interval\n", s.N, 100*f.level)
	statLine(w, "start line, right +", out.Start, inDegrees)
	statLine(w, "start line, sd", out.StartSD, inDegrees)
	statLine(w, "ball speed", out.Speed, speed)
	statLine(w, "ball speed, sd", out.SpeedSDPct, inPercent)
	statLine(w, "launch", out.Launch, inDegrees)
	statLine(w, "skids for", out.Skid, metres)
	statLine(w, "rolls out in all", out.RollOut, metres)
	if out.Holed != nil {
		statLine(w, fmt.Sprintf("holed from %.1f m, level", f.hole.V), *out.Holed, inHundred)
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write: %w", err)
	}
	return nil
}

// writeSVG writes a picture to a file.
func writeSVG(path, picture string) error {
	if err := os.WriteFile(path, []byte(picture), 0o644); err != nil {
		return fmt.Errorf("write picture: %w", err)
	}
	return nil
}
