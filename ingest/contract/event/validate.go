package event

import (
	"fmt"
	"math"
	"regexp"
	"time"

	"fairlead/ingest/contract/unit"
)

var nameRule = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,31}$`)

// CheckName refuses what can't be a studio's, bay's or feed's name: names stand
// in subjects, paths and labels.
func CheckName(kind, name string) error {
	if !nameRule.MatchString(name) {
		return fmt.Errorf("%s %q: use 1 to 32 of a-z, 0-9 and -, beginning with a letter or digit", kind, name)
	}
	return nil
}

// Times outside of these are refused: a device before 2000 has lost its clock,
// one more than a day ahead of the bay too.
var earliest = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

const ahead = 24 * time.Hour

// ValidateEntry returns what is wrong with a shot's values: numbers that are
// not finite or not plausible, pairs that can't both be true, times far off.
// now is the wall clock of the bay. It does not change the entry.
func ValidateEntry(e *Entry, now time.Time) []*Fault {
	var faults []*Fault
	add := func(field string, value any, reason, hint string) {
		faults = append(faults, NewFault(field, fmt.Sprint(value), reason, hint))
	}
	if e.Contract > Contract {
		add("contract", e.Contract, "written by a later version", "update this program")
	}
	if err := CheckName("studio", e.Studio); err != nil {
		add("studio", e.Studio, err.Error(), "")
	}
	if err := CheckName("bay", e.Bay); err != nil {
		add("bay", e.Bay, err.Error(), "")
	}
	if len(e.ShotId) != len(ShotID{}) {
		add("shot_id", len(e.ShotId), "not 16 bytes", "")
	}
	checkTime := func(field string, ns int64) {
		if ns == 0 {
			return
		}
		t := time.Unix(0, ns)
		if t.Before(earliest) {
			add(field, t.UTC().Format(time.RFC3339), "before 2000", "set the device's clock, or its time layout in the field map")
		} else if t.After(now.Add(ahead)) {
			add(field, t.UTC().Format(time.RFC3339), "more than a day in the future", "set the device's clock, or its time zone in the field map")
		}
	}
	checkTime("device_time", e.DeviceUnixNs)
	seen := map[Field]bool{}
	for _, m := range e.Measures {
		info, ok := m.Field.Info()
		switch {
		case !ok:
			add(info.Name, m.Value, "unknown field", "update this program")
		case seen[m.Field]:
			add(info.Name, m.Value, "given twice", "map one column to it")
		case math.IsNaN(m.Value) || math.IsInf(m.Value, 0):
			add(info.Name, m.Value, "not a finite number", "list the device's missing marker in the field map")
		case m.Value < info.Min || m.Value > info.Max:
			add(info.Name, m.Value, fmt.Sprintf("outside %g to %g %s", info.Min, info.Max, unitOf(info)), "check the unit in the field map")
		}
		seen[m.Field] = true
	}
	if len(e.Measures) == 0 && !e.Deleted {
		add("", "", "no value at all", "check that the field map names the file's columns")
	}
	return append(faults, impossiblePairs(e)...)
}

// impossiblePairs finds values that are plausible alone and not together.
func impossiblePairs(e *Entry) (faults []*Fault) {
	get := func(f Field) (float64, bool) { return e.Get(f) }
	if carry, ok := get(Field_FIELD_CARRY); ok {
		if total, ok := get(Field_FIELD_TOTAL); ok && total < carry-60 {
			faults = append(faults, NewFault("total", fmt.Sprint(total), fmt.Sprintf("far below the carry of %g m", carry),
				"check the units of both"))
		}
		if ball, ok := get(Field_FIELD_BALL_SPEED); ok && carry > ball*ball/9+10 {
			// Drag takes more than lift gives: no ball passes the drag-free parabola, v²/g.
			faults = append(faults, NewFault("carry", fmt.Sprint(carry), fmt.Sprintf("no ball at %g m/s flies that far", ball),
				"check the units of both"))
		}
	}
	if club, ok := get(Field_FIELD_CLUBHEAD_SPEED); ok {
		if ball, ok := get(Field_FIELD_BALL_SPEED); ok && ball > 2*club {
			faults = append(faults, NewFault("ball_speed", fmt.Sprint(ball), fmt.Sprintf("more than twice the clubhead speed of %g m/s", club),
				"check the units of both"))
		}
	}
	if spin, ok := get(Field_FIELD_SPIN_RATE); ok {
		if side, ok := get(Field_FIELD_SIDE_SPIN); ok && math.Abs(side) > spin+50 {
			faults = append(faults, NewFault("side_spin", fmt.Sprint(side), fmt.Sprintf("more than the whole spin of %g rpm", spin),
				"check the units of both"))
		}
	}
	return faults
}

func unitOf(info FieldInfo) string {
	if s := unit.Stored(info.Quantity); s != "" {
		return s
	}
	return "(a ratio)"
}

// NewFault makes a fault; value is cut at 80 characters.
func NewFault(field, value, reason, hint string) *Fault {
	if r := []rune(value); len(r) > 80 {
		value = string(r[:79]) + "…"
	}
	return &Fault{Field: field, Value: value, Reason: reason, Hint: hint}
}
