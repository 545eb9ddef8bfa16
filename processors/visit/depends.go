package visit

import (
	"slices"

	"fairlead/ingest/contract/event"
)

// Short names for the parts that depend on one another.
const (
	headModel, headWeight, movable, hosel = event.BuildField_BUILD_HEAD_MODEL, event.BuildField_BUILD_HEAD_WEIGHT,
		event.BuildField_BUILD_MOVABLE_WEIGHTS, event.BuildField_BUILD_HOSEL_SETTING
	loft, lie, face, bounce = event.BuildField_BUILD_LOFT, event.BuildField_BUILD_LIE, event.BuildField_BUILD_FACE_ANGLE,
		event.BuildField_BUILD_BOUNCE
	shaftModel, shaftWeight         = event.BuildField_BUILD_SHAFT_MODEL, event.BuildField_BUILD_SHAFT_WEIGHT
	tip, butt, length               = event.BuildField_BUILD_TIP_TRIM, event.BuildField_BUILD_BUTT_TRIM, event.BuildField_BUILD_LENGTH
	gripModel, gripSize, gripWeight = event.BuildField_BUILD_GRIP_MODEL, event.BuildField_BUILD_GRIP_SIZE, event.BuildField_BUILD_GRIP_WEIGHT
	gripWraps                       = event.BuildField_BUILD_GRIP_WRAPS
)

// results are what the parts of a club come to. They are measured on the whole
// club, and nobody changes them but by changing a part.
var results = []event.BuildField{event.BuildField_BUILD_SWING_WEIGHT, event.BuildField_BUILD_TOTAL_WEIGHT, event.BuildField_BUILD_FREQUENCY,
	event.BuildField_BUILD_BALANCE_POINT}

func isResult(f event.BuildField) bool { return slices.Contains(results, f) }

// dependents are the parts that are no longer known, stated or measured, when
// one part is another than it was: what belonged to the old head, shaft or
// grip, and what the club came to with it.
var dependents = map[event.BuildField][]event.BuildField{
	headModel: with(results, event.BuildField_BUILD_STATED_LOFT, loft, lie, face, bounce, event.BuildField_BUILD_SOLE, headWeight, movable,
		hosel,
		event.BuildField_BUILD_FINISH, event.BuildField_BUILD_FACE_WEAR, event.BuildField_BUILD_TOE_HANG, event.BuildField_BUILD_PUTTER_HOSEL,
		event.BuildField_BUILD_ALIGNMENT),
	headWeight: results, movable: with(results, headWeight),
	hosel: {loft, lie, face}, loft: {bounce, face},
	event.BuildField_BUILD_PUTTER_HOSEL: with(results, event.BuildField_BUILD_TOE_HANG, lie),
	shaftModel: with(results, event.BuildField_BUILD_SHAFT_MATERIAL, shaftWeight, event.BuildField_BUILD_FLEX,
		event.BuildField_BUILD_TORQUE, tip, butt),
	shaftWeight: results, event.BuildField_BUILD_FLEX: results, event.BuildField_BUILD_SHAFT_MATERIAL: results,
	tip: results, butt: with(results, length), length: results,
	gripModel:  with(results, gripSize, gripWeight, gripWraps, event.BuildField_BUILD_GRIP_FORM),
	gripWeight: results, gripSize: with(results, gripWeight), gripWraps: with(results, gripSize, gripWeight),
}

func with(some []event.BuildField, more ...event.BuildField) []event.BuildField {
	return append(slices.Clone(some), more...)
}

// dropDependents takes out of a build what its changed parts make untrue, but
// for what was entered beside them.
func dropDependents(b *event.Build, changed []event.BuildField, given []partGiven) {
	gone := map[event.BuildField]bool{}
	for _, f := range changed {
		for _, d := range dependents[f] {
			gone[d] = true
		}
	}
	for _, p := range given {
		delete(gone, p.info.Field)
	}
	b.Specs = slices.DeleteFunc(b.Specs, func(s *event.Spec) bool { return gone[s.Field] })
}

// anotherClub makes of what was measured on one physical club what is expected
// of another of the same build: stated, with the club it was measured on. What
// its parts come to has to be measured again.
func anotherClub(b *event.Build) {
	b.Specs = slices.DeleteFunc(b.Specs, func(s *event.Spec) bool { return isResult(s.Field) })
	for _, s := range b.Specs {
		if s.Knowledge == event.Knowledge_KNOWLEDGE_MEASURED {
			s.Knowledge = event.Knowledge_KNOWLEDGE_STATED
			if s.MeasuredOn == "" {
				s.MeasuredOn = b.ClubId
			}
		}
	}
}
