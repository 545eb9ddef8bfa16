package answers

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/gauge"
	"fairlead/processors/hub/store/question"
)

// traitOf says which figures of a bay's check a trait of the swing rests on: the first
// alone where checks have it, else the second less the third.
var traitOf = [fleet.TraitCount][]string{
	{"clubhead_speed_mps"}, {"attack_angle_deg"}, {"club_path_deg"}, {"face_to_path_deg", "face_angle_deg", "club_path_deg"},
	{"dynamic_loft_deg"},
}

// bayDevice is what a bias belongs to.
type bayDevice struct{ studio, bay, device string }

// bias is what a device reads off from a time on, trait by trait.
type bias struct {
	bayDevice
	at             int64
	bias, variance []float64
}

// keepBiases writes down what the bays' checks say that their devices read off, for
// the snapshot's profiles.
func (f *Fleet) keepBiases(ctx context.Context, snapshot uint64) error {
	checks, studios, err := f.bayChecks(ctx)
	if err != nil || len(checks) == 0 {
		return err
	}
	var rows [][]any
	for _, b := range biases(checks, studios) {
		rows = append(rows, []any{snapshot, b.studio, b.bay, b.device, time.Unix(0, b.at).UTC(), b.bias, b.variance})
	}
	return f.put(ctx, "biases of bays", question.KeepBiases(), rows...)
}

// bayChecks reads the checks: samples by figure, and of each figure by studio, whose
// names come beside.
func (f *Fleet) bayChecks(ctx context.Context) (map[string][][]gauge.Sample, []string, error) {
	rows, err := f.store.Conn().Query(ctx, question.BayChecks())
	if err != nil {
		return nil, nil, fmt.Errorf("checks of bays: %w", err)
	}
	defer rows.Close()
	place, studios := map[string]int{}, []string{}
	out := map[string][][]gauge.Sample{}
	for rows.Next() {
		var studio, club, ball, figure string
		var n uint32
		var s gauge.Sample
		if err := rows.Scan(&studio, &s.Bay, &s.Device, &club, &ball, &s.At, &figure, &n, &s.Mean, &s.SD); err != nil {
			return nil, nil, fmt.Errorf("checks of bays: %w", err)
		}
		s.N, s.Reference = int(n), club+"\x00"+ball
		at, ok := place[studio]
		if !ok {
			at = len(studios)
			place[studio], studios = at, append(studios, studio)
		}
		for len(out[figure]) <= at {
			out[figure] = append(out[figure], nil)
		}
		out[figure][at] = append(out[figure][at], s)
	}
	if err := rows.Err(); err != nil {
		return nil, nil, fmt.Errorf("checks of bays: %w", err)
	}
	return out, studios, nil
}

// biases are those of the traits, from each check on.
func biases(checks map[string][][]gauge.Sample, studios []string) (out []bias) {
	type moment struct {
		bayDevice
		at int64
	}
	known := map[string]map[moment]gauge.Offset{}
	moments := map[moment]bool{}
	for figure, all := range checks {
		known[figure] = map[moment]gauge.Offset{}
		offsets, _ := gauge.Offsets(figure, all)
		for i, list := range offsets {
			for _, o := range list {
				m := moment{bayDevice{studios[i], o.Bay, o.Device}, o.At}
				known[figure][m], moments[m] = o, true
			}
		}
	}
	// A figure that a check does not have stands as the check before had it.
	last := map[bayDevice]map[string]gauge.Offset{}
	for _, m := range slices.SortedFunc(maps.Keys(moments), func(a, b moment) int { return int(min(max(a.at-b.at, -1), 1)) }) {
		if last[m.bayDevice] == nil {
			last[m.bayDevice] = map[string]gauge.Offset{}
		}
		for figure := range known {
			if o, ok := known[figure][m]; ok {
				last[m.bayDevice][figure] = o
			}
		}
		b := bias{m.bayDevice, m.at, make([]float64, fleet.TraitCount), make([]float64, fleet.TraitCount)}
		for i, figures := range traitOf {
			if len(figures) == 0 {
				continue
			}
			o, ok := last[m.bayDevice][figures[0]]
			if !ok && len(figures) == 3 {
				x, y := last[m.bayDevice][figures[1]], last[m.bayDevice][figures[2]]
				o = gauge.Offset{Bias: x.Bias - y.Bias, Variance: x.Variance + y.Variance}
			}
			b.bias[i], b.variance[i] = o.Bias, o.Variance
		}
		out = append(out, b)
	}
	return out
}
