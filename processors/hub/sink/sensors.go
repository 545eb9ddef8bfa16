package sink

import (
	"log/slog"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/flight"
	"fairlead/processors/visit/rolling"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

// sensors watches whether a bay's devices agree with the flight model on what
// they measured themselves: a device that drifts, or that was set wrong, shows
// long before anybody doubts it. A chart for each device, field and category,
// because what the model gets wrong differs between a driver and a wedge.
type sensors struct {
	charts  map[sensor]*flight.Chart
	said    map[sensor]flight.Status
	average *prometheus.GaugeVec // bay, device, category, field
	wrong   *prometheus.GaugeVec
	bay     string
	log     *slog.Logger
}

type sensor struct{ device, category, field string }

func newSensors(bay string, m *Metrics, log *slog.Logger) *sensors {
	return &sensors{charts: map[sensor]*flight.Chart{}, said: map[sensor]flight.Status{}, average: m.residual, wrong: m.drifting, bay: bay,
		log: log}
}

// add takes a shot that counts, in the order in which shots come.
func (s *sensors) add(t *tag.Tag, device string, v *shot.Values) {
	if t.Status != tag.Counts || t.Category == "putter" {
		return
	}
	launch, ok := v.Launch()
	if !ok {
		return
	}
	measured := func(f event.Field) *float64 {
		if v.Measured&(1<<f) == 0 {
			return nil // computed by the device from its own launch: it would always agree
		}
		x, ok := v.Get(f)
		if !ok {
			return nil
		}
		return &x
	}
	landing := flight.Landing{
		Carry: measured(event.Field_FIELD_CARRY), Apex: measured(event.Field_FIELD_APEX), LandingAngle: measured(event.Field_FIELD_LANDING_ANGLE),
	}
	if landing.Carry == nil && landing.Apex == nil && landing.LandingAngle == nil {
		return
	}
	conditions, _ := v.Conditions()
	if v.AirAdjusted&(1<<event.Field_FIELD_CARRY) != 0 {
		conditions = flight.Standard()
	}
	r, err := flight.Consistency(launch, conditions, landing)
	if err != nil {
		return
	}
	for _, f := range []struct {
		name     string
		residual *float64
		offset   float64
	}{{"carry", r.Carry, flight.CarryOffset}, {"apex", r.Apex, flight.ApexOffset}, {"landing_angle", r.Landing, flight.LandingOffset}} {
		if f.residual != nil {
			s.note(sensor{device, t.Category, f.name}, *f.residual, f.offset)
		}
	}
}

func (s *sensors) note(k sensor, residual, offset float64) {
	c := s.charts[k]
	if c == nil {
		fresh := flight.NewChart(offset)
		c = &fresh
		s.charts[k] = c
	}
	reading, err := c.Add(residual)
	if err != nil {
		return
	}
	s.average.WithLabelValues(s.bay, k.device, k.category, k.field).Set(reading.Average)
	bad := reading.Status == flight.Drifting || reading.Status == flight.Offset
	value := 0.0
	if bad {
		value = 1
	}
	s.wrong.WithLabelValues(s.bay, k.device, k.category, k.field).Set(value)
	if bad && s.said[k] != reading.Status {
		s.log.Warn("a device no longer agrees with the flight of what it measures: clean, level and calibrate it, look at the air and units "+
			"that are set",
			"device", k.device, "category", k.category, "field", k.field, "reading", reading.String())
	}
	s.said[k] = reading.Status
}

// readings are what the live page shows of the charts that ask for attention.
func (s *sensors) readings() (out []rolling.Sensor) {
	for k, c := range s.charts {
		r := c.Reading()
		if r.Status == flight.Drifting || r.Status == flight.Offset {
			out = append(out, rolling.Sensor{Device: k.device, Category: k.category, Field: k.field, Status: string(r.Status), Average: r.Average,
				Ordinary: r.Mean})
		}
	}
	return out
}
