package console

import (
	"fmt"
	"math"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/visit"
)

// limits are the least and the most that pass at the bench, lengths in
// sixteenths of an inch where the studio reads inches; empty where a finished
// club is not measured by it.
func (s *server) limits(info event.BuildFieldInfo, v float64) string {
	same := &event.Build{Specs: []*event.Spec{{Field: info.Field, Number: v}}}
	list := visit.Finishes(same, same)
	if len(list) == 0 {
		return ""
	}
	tol := list[0].Tolerance
	switch info.Quantity {
	case unit.Moment:
		w := club.SwingWeightOf(v)
		return fmt.Sprintf("%s to %s", w-club.SwingWeight(tol), w+club.SwingWeight(tol))
	case unit.Length:
		if s.units.Imperial {
			return sixteenths(math.Ceil((v-tol)/club.Inch*16-1e-6)) + " to " + sixteenths(math.Floor((v+tol)/club.Inch*16+1e-6))
		}
		return fmt.Sprintf("%.0f to %.0f mm", math.Ceil((v-tol)*1000-1e-6), math.Floor((v+tol)*1000+1e-6))
	case unit.Mass:
		return fmt.Sprintf("%.1f to %.1f g", (v-tol)*1000, (v+tol)*1000)
	case unit.Angle:
		return fmt.Sprintf("%.1f° to %.1f°", math.Ceil((v-tol)*10-1e-6)/10, math.Floor((v+tol)*10+1e-6)/10)
	}
	return fmt.Sprintf("%.0f to %.0f", v-tol, v+tol)
}

// sixteenths writes a length in sixteenths of an inch as rulers do: 37 3/16 in.
func sixteenths(n float64) string {
	whole, part := int(n)/16, int(n)%16
	if part == 0 {
		return fmt.Sprintf("%d in", whole)
	}
	den := 16
	for part%2 == 0 {
		part, den = part/2, den/2
	}
	return fmt.Sprintf("%d %d/%d in", whole, part, den)
}

func glossaryOf(name string) glossary.Category {
	c, _ := glossary.ParseCategory(name)
	return c
}
