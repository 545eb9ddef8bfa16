package event

import (
	"fmt"
	"slices"

	"fairlead/ingest/contract/unit"
)

// ValidateBuild returns what is wrong with a build, one fault for each refused
// part: unknown parts, parts given twice, numbers that are not finite or not
// plausible, texts for numbers, weights and lengths that can't go together. It
// does not change the build. No build at all is good: nothing is known.
func ValidateBuild(b *Build) []*Fault {
	c := &Check{}
	c.Build("", b)
	return c.Faults
}

// Build checks a build that stands in the named field of an event.
func (c *Check) Build(in string, b *Build) {
	if b == nil {
		return
	}
	at := func(name string) string {
		if in == "" {
			return name
		}
		return in + "." + name
	}
	c.Text(at("name"), b.Name, LongestLabel)
	c.ID(at("club_id"), b.ClubId, true)
	seen := map[BuildField]bool{}
	for _, s := range b.Specs {
		info, ok := s.GetField().Info()
		name := at(info.Name)
		switch {
		case s == nil:
			c.Add(at("specs"), "", "an empty part", "leave it out")
			continue
		case !ok:
			c.Add(name, s.Number, "unknown part", "update this program")
			continue
		case seen[s.Field]:
			c.Add(name, "", "given twice", "give it once")
		}
		seen[s.Field] = true
		c.Choice(name+".knowledge", int32(s.Knowledge), Knowledge_name)
		switch {
		case info.Text && s.Number != 0: // true for NaN too
			c.Add(name, s.Number, "a number where words belong", "give it as text")
		case info.Text && s.Text == "":
			c.Add(name, "", "empty", "leave the part out when it is unknown")
		case info.Text:
			c.Text(name, s.Text, LongestLabel)
		case s.Text != "":
			c.Add(name, s.Text, "words where a number belongs", "give it as a number")
		default:
			c.Number(name, s.Number, info.Min, info.Max, unit.Stored(info.Quantity))
		}
	}
	if !slices.Contains(b.Specs, nil) {
		c.impossibleBuild(at, b)
	}
}

// The difference by which parts that were each stated or weighed to the gram
// may outweigh the club that they make.
const weighing = 0.005 // kg

// impossibleBuild finds parts that are plausible alone and not together.
func (c *Check) impossibleBuild(at func(string) string, b *Build) {
	if total, ok := b.Number(BuildField_BUILD_TOTAL_WEIGHT); ok {
		sum := 0.0
		for _, f := range []BuildField{BuildField_BUILD_HEAD_WEIGHT, BuildField_BUILD_SHAFT_WEIGHT, BuildField_BUILD_GRIP_WEIGHT} {
			part, _ := b.Number(f)
			sum += part
		}
		if sum > total+weighing {
			c.Add(at("total_weight"), total, fmt.Sprintf("less than its parts, which weigh %.4g kg", sum),
				"check the units; a shaft's weight is meant cut")
		}
	}
	if length, ok := b.Number(BuildField_BUILD_LENGTH); ok {
		if p, ok := b.Number(BuildField_BUILD_BALANCE_POINT); ok && p > length {
			c.Add(at("balance_point"), p, fmt.Sprintf("beyond the club's length of %g m", length), "measure it from the butt")
		}
	}
	loft, ok1 := b.Number(BuildField_BUILD_LOFT)
	stated, ok2 := b.Number(BuildField_BUILD_STATED_LOFT)
	if ok1 && ok2 && (loft-stated > 15 || stated-loft > 15) {
		c.Add(at("loft"), loft, fmt.Sprintf("more than 15 deg off the stated loft of %g deg", stated), "measure it again, against the shaft axis")
	}
}
