package event

import (
	"fmt"
	"slices"

	"fairlead/ingest/contract/unit"
)

// FieldInfo describes a measured quantity.
type FieldInfo struct {
	Field    Field
	Name     string        // in field maps and on the command line: club_path
	Column   string        // in the store and in exports, with its unit: club_path_deg
	Label    string        // for people
	Quantity unit.Quantity // stored unit is unit.Stored(Quantity)
	Min, Max float64       // plausible range in the stored unit; outside is refused
	Mirrors  bool          // changes sign when left-handed values are mirrored
	Distance bool          // a distance that air changes
}

// The ranges are wide enough for every human swing and narrow enough for a
// wrong unit to show: a driver's ball speed in mph would read above 90 m/s.
var fieldInfos = []FieldInfo{
	{1, "clubhead_speed", "clubhead_speed_mps", "Clubhead speed", unit.Speed, 0.2, 75, false, false},
	{2, "ball_speed", "ball_speed_mps", "Ball speed", unit.Speed, 0.2, 105, false, false},
	{3, "smash_factor", "smash_factor", "Smash factor", unit.Ratio, 0.2, 2, false, false},
	{4, "attack_angle", "attack_angle_deg", "Attack angle", unit.Angle, -30, 30, false, false},
	{5, "club_path", "club_path_deg", "Club path", unit.Angle, -45, 45, true, false},
	{6, "face_angle", "face_angle_deg", "Face angle", unit.Angle, -60, 60, true, false},
	{7, "face_to_path", "face_to_path_deg", "Face to path", unit.Angle, -60, 60, true, false},
	{8, "dynamic_loft", "dynamic_loft_deg", "Dynamic loft", unit.Angle, -15, 80, false, false},
	{9, "spin_loft", "spin_loft_deg", "Spin loft", unit.Angle, -15, 90, false, false},
	{10, "launch_angle", "launch_angle_deg", "Launch angle", unit.Angle, -20, 75, false, false},
	{11, "launch_direction", "launch_direction_deg", "Launch direction", unit.Angle, -70, 70, true, false},
	{12, "spin_rate", "spin_rate_rpm", "Spin rate", unit.Rotation, 0, 18000, false, false},
	{13, "spin_axis", "spin_axis_deg", "Spin axis", unit.Angle, -90, 90, true, false},
	{14, "back_spin", "back_spin_rpm", "Back spin", unit.Rotation, -6000, 18000, false, false},
	{15, "side_spin", "side_spin_rpm", "Side spin", unit.Rotation, -12000, 12000, true, false},
	{16, "carry", "carry_m", "Carry", unit.Length, 0, 400, false, true},
	{17, "total", "total_m", "Total", unit.Length, 0, 500, false, true},
	{18, "offline", "offline_m", "Offline", unit.Length, -200, 200, true, true},
	{19, "total_offline", "total_offline_m", "Total offline", unit.Length, -250, 250, true, true},
	{20, "apex", "apex_m", "Apex", unit.Length, 0, 100, false, true},
	{21, "landing_angle", "landing_angle_deg", "Landing angle", unit.Angle, 0, 90, false, false},
	{22, "landing_speed", "landing_speed_mps", "Landing speed", unit.Speed, 0, 80, false, false},
	{23, "hang_time", "hang_time_s", "Hang time", unit.Time, 0, 15, false, false},
	{24, "strike_x", "strike_x_m", "Strike, toe", unit.Length, -0.08, 0.08, false, false},
	{25, "strike_y", "strike_y_m", "Strike, up", unit.Length, -0.06, 0.06, false, false},
	{26, "dynamic_lie", "dynamic_lie_deg", "Dynamic lie", unit.Angle, -30, 30, false, false},
	{27, "closure_rate", "closure_rate_rpm", "Closure rate", unit.Rotation, -2000, 2000, false, false},
	{28, "swing_direction", "swing_direction_deg", "Swing direction", unit.Angle, -60, 60, true, false},
	{29, "swing_plane", "swing_plane_deg", "Swing plane", unit.Angle, 0, 90, false, false},
	{30, "low_point", "low_point_m", "Low point", unit.Length, -0.5, 0.5, false, false},
	{31, "backswing_time", "backswing_time_s", "Backswing time", unit.Time, 0.05, 5, false, false},
	{32, "downswing_time", "downswing_time_s", "Downswing time", unit.Time, 0.02, 3, false, false},
	{33, "tempo", "tempo", "Tempo", unit.Ratio, 0.2, 20, false, false},
	{40, "skid_distance", "skid_distance_m", "Skid", unit.Length, 0, 10, false, false},
	{41, "forward_roll", "forward_roll_rpm", "Forward roll", unit.Rotation, -2000, 2000, false, false},
	{42, "roll_speed", "roll_speed_mps", "Roll speed", unit.Speed, 0, 15, false, false},
	{43, "putt_distance", "putt_distance_m", "Putt distance", unit.Length, 0, 60, false, false},
	{44, "stroke_length", "stroke_length_m", "Stroke length", unit.Length, 0, 2, false, false},
	{45, "stroke_rotation", "stroke_rotation_deg", "Stroke rotation", unit.Angle, -90, 90, false, false},
	{46, "stroke_arc", "stroke_arc_deg", "Stroke arc", unit.Angle, -45, 45, false, false},
	{60, "air_temperature", "air_temperature_degc", "Air temperature", unit.Temperature, -40, 60, false, false},
	{61, "air_pressure", "air_pressure_pa", "Air pressure", unit.Pressure, 5e4, 1.1e5, false, false},
	{62, "air_humidity", "air_humidity", "Humidity", unit.Ratio, 0, 1, false, false},
}

var (
	fieldByName   = map[string]*FieldInfo{}
	fieldByNumber = map[Field]*FieldInfo{}
)

func init() {
	for i := range fieldInfos {
		fieldByName[fieldInfos[i].Name] = &fieldInfos[i]
		fieldByNumber[fieldInfos[i].Field] = &fieldInfos[i]
	}
}

// Fields returns every measured quantity in the order of the contract.
func Fields() []FieldInfo { return slices.Clone(fieldInfos) }

// Info describes a field; ok is false for a number this contract does not know.
func (f Field) Info() (info FieldInfo, ok bool) {
	p, ok := fieldByNumber[f]
	if !ok {
		return FieldInfo{Field: f, Name: fmt.Sprintf("field_%d", int32(f))}, false
	}
	return *p, true
}

// FieldNamed finds a field by its name in field maps.
func FieldNamed(name string) (FieldInfo, bool) {
	p, ok := fieldByName[name]
	if !ok {
		return FieldInfo{}, false
	}
	return *p, true
}

// Get returns the value of a field in an entry, as the device gave it.
func (e *Entry) Get(f Field) (float64, bool) {
	if m := e.Measure(f); m != nil {
		return m.Value, true
	}
	return 0, false
}

// Measure returns the measure of a field, nil when the device gave none.
func (e *Entry) Measure(f Field) *Measure {
	for _, m := range e.GetMeasures() {
		if m.Field == f {
			return m
		}
	}
	return nil
}

// Valid says whether the entry is a shot: a line without faults.
func (e *Entry) Valid() bool { return len(e.GetFaults()) == 0 }
