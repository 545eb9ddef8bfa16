// Package trial computes the row of a trial: counts, means and scatter of its
// shots, always from the shots themselves and in their order, never by running
// sums. A trial has tens of shots, so computing it whole at each change costs
// less than a sum that drifts or depends on what was taken back.
//
// It is pure: the same shots in the same order give the same bits.
package trial

import (
	"math/bits"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/shot"
)

// Shot is one shot that the visit events give to the trial.
type Shot struct {
	Values    *shot.Values
	Counts    bool  // enters the statistics
	Excluded  bool  // taken out by the fitter
	Effective int64 // Unix ns, hub clock
	Order     int   // in its session, from 1
	Device    string
	Firmware  string
}

// Moment is count, mean and sum of squares about the mean of one field.
type Moment struct {
	Field event.Field
	N     int
	Mean  float64 // in the field's stored unit, target frame
	SS    float64 // Σ(x−mean)², in the unit squared
}

// Row is what a trial's shots amount to. With N 0 nothing is left of it and
// every number is 0.
type Row struct {
	N        int // shots that count
	Excluded int // taken out by the fitter
	SetAside int // others that do not count: practice, repeats' originals not included
	Device   string
	Firmware string // of the last shot that counts
	First    int64  // effective time of the first shot that counts, Unix ns
	Last     int64
	Order    int // of that first shot in its session

	// Of the shots with a landing point, measured or else computed.
	Landing                int
	Modelled               bool     // some of them by the flight model, their directions too
	CarryMean, OfflineMean float64  // m
	CarryCarry             float64  // Σ(c−c̄)², m²
	CarryOffline           float64  // Σ(c−c̄)(o−ō), m²
	OfflineOffline         float64  // Σ(o−ō)², m²
	CarryFourth            float64  // Σ(c−c̄)⁴, m⁴, for the kurtosis
	Directed               int      // shots with a direction
	DirectionMean          float64  // deg
	DirectionSS            float64  // deg²
	DirectionFourth        float64  // deg⁴
	Fields                 []Moment // by field number, those with at least one value
}

// Compute makes the row from a trial's shots in their order. It does not keep
// or change them.
func Compute(shots []Shot) Row {
	var r Row
	counting := make([]*Shot, 0, len(shots))
	for i := range shots {
		s := &shots[i]
		switch {
		case s.Counts:
			counting = append(counting, s)
		case s.Excluded:
			r.Excluded++
		default:
			r.SetAside++
		}
	}
	r.N = len(counting)
	if r.N == 0 {
		return r
	}
	r.First, r.Last, r.Order = counting[0].Effective, counting[r.N-1].Effective, counting[0].Order
	r.Device, r.Firmware = counting[r.N-1].Device, counting[r.N-1].Firmware
	r.landing(counting)
	r.direction(counting)
	var given uint64
	for _, s := range counting {
		given |= s.Values.Has
	}
	values := make([]float64, 0, len(counting))
	r.Fields = make([]Moment, 0, bits.OnesCount64(given))
	for ; given != 0; given &= given - 1 {
		f := event.Field(bits.TrailingZeros64(given))
		values = values[:0]
		for _, s := range counting {
			if x, ok := s.Values.Get(f); ok {
				values = append(values, x)
			}
		}
		m := moment(values)
		m.Field = f
		r.Fields = append(r.Fields, m)
	}
	return r
}

func (r *Row) landing(shots []*Shot) {
	var carry, offline []float64
	for _, s := range shots {
		if c, o, ok := s.Values.Landing(); ok {
			carry, offline = append(carry, c), append(offline, o)
			r.Modelled = r.Modelled || s.Values.LandsByModel()
		}
	}
	r.Landing = len(carry)
	if r.Landing == 0 {
		return
	}
	c, o := moment(carry), moment(offline)
	r.CarryMean, r.CarryCarry, r.OfflineMean, r.OfflineOffline = c.Mean, c.SS, o.Mean, o.SS
	for i := range carry {
		r.CarryOffline += (carry[i] - c.Mean) * (offline[i] - o.Mean)
		d := (carry[i] - c.Mean) * (carry[i] - c.Mean)
		r.CarryFourth += d * d
	}
}

func (r *Row) direction(shots []*Shot) {
	var values []float64
	for _, s := range shots {
		if s.Values.Ours.HasDirection {
			values = append(values, s.Values.Ours.Direction)
		}
	}
	r.Directed = len(values)
	if r.Directed == 0 {
		return
	}
	m := moment(values)
	r.DirectionMean, r.DirectionSS = m.Mean, m.SS
	for _, x := range values {
		d := (x - m.Mean) * (x - m.Mean)
		r.DirectionFourth += d * d
	}
}

// moment runs twice over the values: the second pass about the mean of the
// first loses nothing to cancellation.
func moment(values []float64) Moment {
	m := Moment{N: len(values)}
	for _, x := range values {
		m.Mean += x
	}
	m.Mean /= float64(m.N)
	for _, x := range values {
		m.SS += (x - m.Mean) * (x - m.Mean)
	}
	return m
}

// Field returns the moment of one field; ok is false when no shot has it.
func (r *Row) Field(f event.Field) (Moment, bool) {
	for _, m := range r.Fields {
		if m.Field == f {
			return m, true
		}
	}
	return Moment{}, false
}
