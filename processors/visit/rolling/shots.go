package rolling

import (
	"math"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

// shown are the values that a state lists of a shot.
var shown = []event.Field{
	event.Field_FIELD_CLUBHEAD_SPEED, event.Field_FIELD_BALL_SPEED, event.Field_FIELD_ATTACK_ANGLE, event.Field_FIELD_CLUB_PATH,
	event.Field_FIELD_FACE_ANGLE,
	event.Field_FIELD_LAUNCH_ANGLE, event.Field_FIELD_LAUNCH_DIRECTION, event.Field_FIELD_SPIN_RATE, event.Field_FIELD_SPIN_AXIS,
	event.Field_FIELD_CARRY, event.Field_FIELD_OFFLINE, event.Field_FIELD_TOTAL, event.Field_FIELD_APEX, event.Field_FIELD_LANDING_ANGLE,
	event.Field_FIELD_STRIKE_X, event.Field_FIELD_STRIKE_Y, event.Field_FIELD_SKID_DISTANCE, event.Field_FIELD_FORWARD_ROLL,
	event.Field_FIELD_PUTT_DISTANCE,
}

var columns = func() map[event.Field]string {
	m := map[event.Field]string{}
	for _, f := range event.Fields() {
		m[f.Field] = f.Column
	}
	return m
}()

func shotRow(s *Shot, row string) ShotRow {
	t := s.Tag
	out := ShotRow{
		ID: s.Key.ID.String(), Journal: s.Key.Journal, Seq: s.Key.Seq, At: t.At, Number: t.OrderInSession, Row: row,
		Trial: t.Trial, TrialNo: t.TrialNumber, InTrial: t.OrderInTrial, Status: t.Status.String(), Reason: t.Reason, Swap: t.Swap,
		Moved: t.Moved, Device: s.Device, Second: s.Second, Values: map[string]float64{},
	}
	if t.Class != event.ShotClass_CLASS_FULL {
		out.Class = className(t.Class)
	}
	for _, f := range shown {
		if x, ok := s.Values.Get(f); ok {
			out.Values[columns[f]] = rounded(x)
		}
	}
	if o := s.Values.Ours; o.HasDirection {
		d := rounded(o.Direction)
		out.Dir = &d
	}
	if s.Values.Ours.HasFlight {
		for _, c := range []struct {
			field event.Field
			value float64
		}{
			{event.Field_FIELD_CARRY, s.Values.Ours.Carry}, {event.Field_FIELD_OFFLINE, s.Values.Ours.Offline},
			{event.Field_FIELD_APEX, s.Values.Ours.Apex}, {event.Field_FIELD_LANDING_ANGLE, s.Values.Ours.LandingAngle},
		} {
			if _, measured := out.Values[columns[c.field]]; !measured {
				out.Values[columns[c.field]] = rounded(c.value)
				out.Computed = append(out.Computed, columns[c.field])
			}
		}
	}
	return out
}

// question lists where a shot of unknown time may belong.
func question(tl *visit.Timeline, s *Shot) Question {
	q := Question{Shot: shotRow(s, ""), From: max(s.Tag.From, 0), To: s.Tag.To}
	for _, c := range tag.Choices(tl, s.Tag.From, s.Tag.To) {
		q.Choices = append(q.Choices, Choice{c.Trial, c.At, c.Text, c.Build})
	}
	return q
}

// rounded leaves five decimals: a state of hundreds of shots goes out with each
// shot, and no device measures finer. Statistics come from the full values.
func rounded(x float64) float64 { return math.Round(x*1e5) / 1e5 }

// landingAngle is the measured landing angle, else the computed one.
func landingAngle(v *shot.Values) (float64, bool) {
	if x, ok := v.Get(event.Field_FIELD_LANDING_ANGLE); ok {
		return x, true
	}
	return v.Ours.LandingAngle, v.Ours.HasFlight
}
