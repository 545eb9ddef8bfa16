package evidence

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"fairlead/ingest/contract/unit/table"
	"fairlead/processors/golf/dispersion"
	"fairlead/processors/golf/strokes"
)

// columnOf is the column of a measure, without its unit.
func columnOf(m Measure) string {
	s := string(m)
	return s[:strings.LastIndex(s, "_")]
}

// reasonOf words what is wrong with a value, without its shot: the line
// says that.
func reasonOf(err error) string {
	var bad *ShotError
	if errors.As(err, &bad) {
		return fmt.Sprintf("%s %g %s", bad.Measure, bad.Value, bad.Reason)
	}
	return err.Error()
}

// TrialsOf turns a file into trials: a new one at each change of the trial's
// name or the count of instructions, and wherever other shots were hit in
// between. A row with a value that is no measurement is rejected by its line.
func TrialsOf(file *table.Partial, left bool) []Trial {
	var out []Trial
	last := table.Row{}
	for _, row := range file.Rows {
		s := Shot{Values: map[Measure]float64{}}
		for _, m := range Measures() {
			if v, ok := row.Value(columnOf(m)); ok {
				s.Values[m] = v
			}
		}
		at, _ := row.Value("position")
		s.Position = int(at)
		told, _ := row.Value("instructions")
		t := Trial{Name: file.Name, Instructions: int(told), Shots: []Shot{s}}
		if name := row.Cells["trial"]; name.Known {
			t.Name += " " + name.Text
		}
		if float64(s.Position) != at || float64(t.Instructions) != told {
			file.Reject(row.Line, "position and instructions are whole numbers")
			continue
		}
		if err := t.Check(); err != nil {
			file.Reject(row.Line, "%s", reasonOf(err))
			continue
		}
		before, _ := last.Value("position")
		n := len(out)
		follows := n > 0 && out[n-1].Name == t.Name && out[n-1].Instructions == t.Instructions && (s.Position == 0 || at == before+1)
		last = row
		if t = t.Handed(left); follows {
			out[n-1].Shots = append(out[n-1].Shots, t.Shots...)
			continue
		}
		out = append(out, t)
	}
	return out
}

// ProbTighter answers with an inverse Wishart prior on the covariance in metres.
func ProbTighter(prior dispersion.AreaPrior, baseline, candidate []Trial) (float64, error) {
	var scatters [2]dispersion.Scatter
	for i, trials := range [2][]Trial{baseline, candidate} {
		var points [][2]float64
		for _, t := range trials {
			for _, s := range t.Shots {
				carry, okC := s.Values[CarryM]
				offline, okO := s.Values[OfflineM]
				if okC && okO {
					points = append(points, [2]float64{carry, offline})
				}
			}
		}
		var err error
		if scatters[i], err = dispersion.NewScatter(points); err != nil {
			return 0, err
		}
	}
	return prior.ProbTighter(scatters[0], scatters[1])
}

// ReadHole reads the hole on which shots are valued from a file of JSON; nil where none is
// named.
func ReadHole(path string, read func(string) ([]byte, error)) (*strokes.Hole, error) {
	if path == "" {
		return nil, nil
	}
	text, err := read(path)
	if err != nil {
		return nil, fmt.Errorf("--hole: %w", err)
	}
	h, err := strokes.Read(bytes.NewReader(text))
	if err != nil {
		return nil, fmt.Errorf("--hole %s: %w", path, err)
	}
	return &h, nil
}
