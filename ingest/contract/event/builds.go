package event

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"slices"

	"fairlead/ingest/contract/unit"
)

// BuildFieldInfo describes a part of a build.
type BuildFieldInfo struct {
	Field    BuildField
	Name     string        // on the command line and in forms: shaft_weight
	Column   string        // in the store, with its unit; equal to Name for texts
	Label    string        // for people
	Text     bool          // a text, not a number
	Quantity unit.Quantity // of a number
	Min, Max float64       // plausible range in the stored unit
}

var buildFieldInfos = []BuildFieldInfo{
	{1, "head_model", "head_model", "Head", true, "", 0, 0},
	{2, "stated_loft", "stated_loft_deg", "Stated loft", false, unit.Angle, 0, 80},
	{3, "loft", "loft_deg", "Loft", false, unit.Angle, -5, 80},
	{4, "lie", "lie_deg", "Lie", false, unit.Angle, 45, 85},
	{5, "face_angle", "face_angle_deg", "Face angle", false, unit.Angle, -10, 10},
	{6, "bounce", "bounce_deg", "Bounce", false, unit.Angle, -10, 30},
	{7, "sole", "sole", "Sole", true, "", 0, 0},
	{8, "head_weight", "head_weight_kg", "Head weight", false, unit.Mass, 0.1, 0.6},
	{9, "movable_weights", "movable_weights", "Movable weights", true, "", 0, 0},
	{10, "hosel_setting", "hosel_setting", "Hosel setting", true, "", 0, 0},
	{20, "shaft_model", "shaft_model", "Shaft", true, "", 0, 0},
	{21, "shaft_material", "shaft_material", "Shaft material", true, "", 0, 0},
	{22, "shaft_weight", "shaft_weight_kg", "Shaft weight", false, unit.Mass, 0.02, 0.2},
	{23, "flex", "flex", "Flex", true, "", 0, 0},
	{24, "torque", "torque_deg", "Torque", false, unit.Angle, 0.5, 15},
	{25, "balance_point", "balance_point_m", "Balance point", false, unit.Length, 0.1, 1.3},
	{26, "frequency", "frequency_cpm", "Frequency", false, unit.Frequency, 100, 500},
	{27, "tip_trim", "tip_trim_m", "Tip trim", false, unit.Length, 0, 0.3},
	{28, "butt_trim", "butt_trim_m", "Butt trim", false, unit.Length, 0, 0.5},
	{30, "length", "length_m", "Length", false, unit.Length, 0.5, 1.4},
	{31, "length_method", "length_method", "Length measured", true, "", 0, 0},
	{40, "grip_model", "grip_model", "Grip", true, "", 0, 0},
	{41, "grip_size", "grip_size_m", "Grip size", false, unit.Length, 0.005, 0.06},
	{42, "grip_weight", "grip_weight_kg", "Grip weight", false, unit.Mass, 0.01, 0.25},
	{43, "grip_wraps", "grip_wraps", "Grip wraps", false, unit.Ratio, 0, 20},
	{50, "swing_weight", "swing_weight_kgm", "Swing weight", false, unit.Moment, 0.05, 0.35},
	{51, "total_weight", "total_weight_kg", "Total weight", false, unit.Mass, 0.15, 1.2},
	{52, "finish", "finish", "Finish", true, "", 0, 0},
	{53, "face_wear", "face_wear", "Face wear", true, "", 0, 0},
	{60, "toe_hang", "toe_hang_deg", "Toe hang", false, unit.Angle, -10, 100},
	{61, "putter_hosel", "putter_hosel", "Putter hosel", true, "", 0, 0},
	{62, "alignment", "alignment", "Alignment", true, "", 0, 0},
	{63, "grip_form", "grip_form", "Grip form", true, "", 0, 0},
}

var (
	buildByName   = map[string]*BuildFieldInfo{}
	buildByNumber = map[BuildField]*BuildFieldInfo{}
)

func init() {
	for i := range buildFieldInfos {
		buildByName[buildFieldInfos[i].Name] = &buildFieldInfos[i]
		buildByNumber[buildFieldInfos[i].Field] = &buildFieldInfos[i]
	}
}

// BuildFields returns every part of a build in the order of the contract.
func BuildFields() []BuildFieldInfo { return slices.Clone(buildFieldInfos) }

// Info describes a part of a build; ok is false for an unknown number.
func (f BuildField) Info() (info BuildFieldInfo, ok bool) {
	p, ok := buildByNumber[f]
	if !ok {
		return BuildFieldInfo{Field: f, Name: fmt.Sprintf("build_field_%d", int32(f))}, false
	}
	return *p, true
}

// BuildFieldNamed finds a part of a build by its name.
func BuildFieldNamed(name string) (BuildFieldInfo, bool) {
	p, ok := buildByName[name]
	if !ok {
		return BuildFieldInfo{}, false
	}
	return *p, true
}

// Spec returns the known part f of a build, nil when it is unknown.
func (b *Build) Spec(f BuildField) *Spec {
	for _, s := range b.GetSpecs() {
		if s.Field == f {
			return s
		}
	}
	return nil
}

// Number returns the known number f of a build in its stored unit.
func (b *Build) Number(f BuildField) (float64, bool) {
	if s := b.Spec(f); s != nil {
		return s.Number, true
	}
	return 0, false
}

// BuildKey names a build by its contents: 16 hex digits, the same for the same
// known parts and the same physical club however they are ordered. The name
// and whether it is the player's own club do not enter.
func BuildKey(b *Build) string {
	specs := slices.Clone(b.GetSpecs())
	slices.SortFunc(specs, func(x, y *Spec) int { return cmp.Compare(x.Field, y.Field) })
	h := sha256.New()
	write := func(s string) {
		binary.Write(h, binary.LittleEndian, uint32(len(s)))
		h.Write([]byte(s))
	}
	write(b.GetClubId())
	for _, s := range specs {
		binary.Write(h, binary.LittleEndian, int32(s.Field))
		binary.Write(h, binary.LittleEndian, int32(s.Knowledge))
		binary.Write(h, binary.LittleEndian, math.Float64bits(s.Number))
		write(s.Text)
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}
