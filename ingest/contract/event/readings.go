package event

import (
	"math/bits"
)

// Readings are the measures of an entry in dense form: what is computed with,
// in a sixth of the memory and without a pointer a value. They are for
// reading: several may share the memory of their values.
type Readings struct {
	// Values of the fields in Has, in the order of their numbers, in the stored
	// unit of the field, as the device gave them.
	Values []float64
	// Sets of fields, bit 1<<number: given at all, measured by the device,
	// computed by the device, already turned to standard air, as flown, counted
	// by the player's hand.
	Has, Measured, Computed, AirAdjusted, AirAsFlown, Handed uint64
	// NotFinite: a measure was no finite number, or beyond Absurd. It is left out,
	// as are fields that this contract does not know.
	NotFinite bool
}

// Absurd is a size that no measure has in any stored unit; sums of squares of
// what lies below stay finite.
const Absurd = 1e9

// Sane says whether a number may be one that was measured or entered.
func Sane(v float64) bool { return v >= -Absurd && v <= Absurd }

// fields as sets: those that the contract knows, and those that mirror.
var known, mirroring = func() (known, mirroring uint64) {
	for _, f := range fieldInfos {
		known |= 1 << f.Field
		if f.Mirrors {
			mirroring |= 1 << f.Field
		}
	}
	return known, mirroring
}()

// Mirroring is the set of fields that change sign when left-handed values are
// mirrored.
func Mirroring() uint64 { return mirroring }

// ReadingsOf takes an entry's measures. Of a field that stands twice, which
// valid entries have not, the last value holds.
func ReadingsOf(e *Entry) Readings {
	var r Readings
	var values [64]float64
	for _, m := range e.GetMeasures() {
		r.note(&values, m.GetField(), m.GetValue(), m.GetProvenance(), m.GetAirAdjusted(), m.GetHanded())
	}
	r.gather(&values, make([]float64, bits.OnesCount64(r.Has)))
	return r
}

// note takes one measure in; its value waits in values, by number.
func (r *Readings) note(values *[64]float64, f Field, value float64, p Provenance, air AirAdjusted, handed bool) {
	if !Sane(value) {
		r.NotFinite = true
		return
	}
	if f < 0 || int(f) >= len(values) || known>>f&1 == 0 {
		return
	}
	values[f] = value
	bit := uint64(1) << f
	r.Has |= bit
	r.Handed &^= bit
	switch p {
	case Provenance_PROVENANCE_MEASURED:
		r.Measured |= bit
	case Provenance_PROVENANCE_DEVICE:
		r.Computed |= bit
	}
	switch air {
	case AirAdjusted_AIR_ADJUSTED:
		r.AirAdjusted |= bit
	case AirAdjusted_AIR_AS_FLOWN:
		r.AirAsFlown |= bit
	}
	if handed {
		r.Handed |= bit
	}
}

// gather puts the values of the fields in Has into room, which has as many places.
func (r *Readings) gather(values *[64]float64, room []float64) {
	if len(room) > 0 {
		r.Values = room
	}
	for i, has := 0, r.Has; has != 0; i, has = i+1, has&(has-1) {
		room[i] = values[bits.TrailingZeros64(has)]
	}
}

// Filled are the readings with those of another device's view of the same hit
// where they lack a field. Neither is changed.
func (r Readings) Filled(other Readings) Readings {
	lacking := other.Has &^ r.Has
	r.NotFinite = r.NotFinite || other.NotFinite
	if lacking == 0 {
		return r
	}
	var values [64]float64
	spread := func(from Readings, which uint64) {
		for i, has := 0, from.Has; has != 0; i, has = i+1, has&(has-1) {
			if f := bits.TrailingZeros64(has); which>>f&1 != 0 {
				values[f] = from.Values[i]
			}
		}
	}
	spread(r, r.Has)
	spread(other, lacking)
	out := Readings{
		Has: r.Has | lacking, Measured: r.Measured | other.Measured&lacking, Computed: r.Computed | other.Computed&lacking,
		AirAdjusted: r.AirAdjusted | other.AirAdjusted&lacking, AirAsFlown: r.AirAsFlown | other.AirAsFlown&lacking,
		Handed: r.Handed | other.Handed&lacking, NotFinite: r.NotFinite,
	}
	out.gather(&values, make([]float64, bits.OnesCount64(out.Has)))
	return out
}
