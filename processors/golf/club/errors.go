package club

import (
	"fmt"
	"math"
)

// InputError says which input cannot be used, why, and what to try instead.
type InputError struct {
	Field  string // the quantity, as a person would name it: "head mass"
	Value  string // what was given, with its unit
	Reason string // why it cannot be right
	Try    string // what to do about it
}

func (e *InputError) Error() string {
	return fmt.Sprintf("%s %s: %s; %s", e.Field, e.Value, e.Reason, e.Try)
}

// WrongUse says that another command line mends it.
func (e *InputError) WrongUse() {}

// within refuses a value that is not finite or lies outside [low, high].
func within(field string, v, low, high float64, unit, try string) error {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return &InputError{Field: field, Value: fmt.Sprintf("%g", v), Reason: "is no number", Try: try}
	}
	if v < low || v > high {
		return &InputError{Field: field, Value: fmt.Sprintf("%.4g %s", v, unit),
			Reason: fmt.Sprintf("is outside %.4g to %.4g %s", low, high, unit), Try: try}
	}
	return nil
}

// firstError returns the first error that is not nil.
func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
