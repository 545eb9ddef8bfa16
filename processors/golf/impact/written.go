package impact

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
)

// PlainHead is the category of a head as the published equations have it.
const PlainHead = "plain"

// WrittenHead is a head as a person writes it down: its category, and what differs.
type WrittenHead struct {
	Category                   string // plain, or one of Categories
	Mass, Inertia, Restitution *unit.Value
}

// NewWrittenHead is a plain head.
func NewWrittenHead() WrittenHead {
	return WrittenHead{
		Category: PlainHead, Mass: unit.NewValue(unit.Mass, 0.2),
		Inertia: unit.NewValue(unit.Inertia, 5e-4), Restitution: unit.NewValue(unit.Ratio, 0),
	}
}

// Head is the category's head with what was written beside it.
func (o WrittenHead) Head() (Head, error) {
	var h Head
	if o.Category == PlainHead {
		h = PennerHead(o.Mass.V)
		h.InertiaVertical, h.InertiaHeelToe = o.Inertia.V, 3e-4
	} else {
		var err error
		if h, err = DefaultHead(o.Category); err != nil {
			return h, fmt.Errorf("--category %s: use %s, %s", o.Category, PlainHead, strings.Join(glossary.CategoryNames(), ", "))
		}
	}
	if o.Mass.Given {
		h.Mass = o.Mass.V
	}
	if o.Inertia.Given {
		h.InertiaVertical = o.Inertia.V
	}
	if o.Restitution.Given {
		if o.Restitution.V <= 0 {
			return h, fmt.Errorf("--e %g: give a coefficient of restitution above 0, such as 0.83", o.Restitution.V)
		}
		h.Restitution = o.Restitution.V
	}
	return h, h.Check()
}

// Earlier is d with the values of FLAG=VALUE pairs: how a delivery was before.
func (d Delivery) Earlier(pairs string) (Delivery, error) {
	fields := map[string]struct {
		quantity unit.Quantity
		to       *float64
	}{
		"head-speed": {unit.Speed, &d.HeadSpeed}, "attack": {unit.Angle, &d.Attack}, "dynamic-loft": {unit.Angle, &d.DynamicLoft},
		"path": {unit.Angle, &d.Path}, "face": {unit.Angle, &d.Face},
		"strike-x": {unit.Length, &d.StrikeX}, "strike-y": {unit.Length, &d.StrikeY},
	}
	for _, pair := range strings.Split(pairs, ",") {
		name, value, ok := strings.Cut(strings.TrimSpace(pair), "=")
		f, known := fields[name]
		if !ok || !known {
			return d, fmt.Errorf("--before %q: write FLAG=VALUE with head-speed, attack, dynamic-loft, path, face, strike-x or strike-y", pair)
		}
		v, err := unit.Parse(f.quantity, value)
		if err != nil {
			return d, fmt.Errorf("--before %s: %w", name, err)
		}
		*f.to = v
	}
	return d, nil
}
