package sim

import (
	"math/rand/v2"
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/impact"
)

// Club is a physical club as it truly is, beside what the fitter knows of it.
type Club struct {
	ID       string // of the physical club; unique within a simulation
	Category string
	Gamer    bool
	True     Attributes  // as it is
	Head     impact.Head // what meets the ball; its mass follows True
	Build    *event.Build
	Change   string // what differs from the player's own club, in words
	headName string
	shaft    shaft
	grip     float64 // kg
}

// Key names the club's build as the store does.
func (c *Club) Key() string { return event.BuildKey(c.Build) }

// standard is an ordinary club of a category: length in m, loft and lie in
// deg, shaft weight in kg, flex index, torque in deg, head weight in kg.
var standard = map[string]struct {
	length, loft, lie, shaft, torque, head float64
	bag                                    string // name in impact.Bag
}{
	"driver": {1.143, 10.5, 58, 0.060, 4.5, 0.200, "driver"},
	"wood":   {1.092, 15.5, 57.5, 0.066, 4.2, 0.215, "3-wood"},
	"hybrid": {1.022, 21, 60, 0.075, 3.6, 0.240, "4-hybrid"},
	"iron":   {0.940, 32, 62.5, 0.098, 2.4, 0.270, "7-iron"},
	"wedge":  {0.902, 50, 64, 0.112, 2.1, 0.300, "gap wedge"},
	"putter": {0.864, 3, 70, 0.120, 1.5, 0.350, ""},
}

// newGamer makes the player's own club: its true values wander about the
// standard, and of most of them nobody knows.
func newGamer(r *rand.Rand, p *Player, category string) *Club {
	s := standard[category]
	sh := pick(r, shafts)
	c := &Club{ID: p.ID + "-own-" + category, Category: category, Gamer: true, headName: pick(r, heads[category]), shaft: sh,
		grip: within(r, 0.050, 0.004, 0.040, 0.064)}
	c.True[Length] = s.length + round(normal(r, 0, 0.008), 3)
	c.True[Loft] = s.loft + round(normal(r, 0, 1), 1)
	c.True[Lie] = s.lie + round(normal(r, 0, 1), 1)
	c.True[ShaftWeight] = s.shaft * sh.weight / 0.060
	c.True[Flex] = sh.flex
	c.True[Torque] = s.torque * sh.torque / 4.5
	c.True[HeadWeight] = s.head + round(normal(r, 0, 0.003), 3)
	c.finish()
	c.Build = &event.Build{Name: "own " + category, ClubId: c.ID, Gamer: true}
	c.say(event.BuildField_BUILD_HEAD_MODEL, event.Knowledge_KNOWLEDGE_STATED, c.headName)
	if chance(r, 0.6) {
		c.tell(event.BuildField_BUILD_STATED_LOFT, event.Knowledge_KNOWLEDGE_STATED, round(c.True[Loft]*2, 0)/2)
	}
	if chance(r, 0.5) {
		c.say(event.BuildField_BUILD_FLEX, event.Knowledge_KNOWLEDGE_STATED, flexLetter(c.True[Flex]))
	}
	if chance(r, 0.4) {
		c.tell(event.BuildField_BUILD_LENGTH, event.Knowledge_KNOWLEDGE_MEASURED, round(c.True[Length], 3))
	}
	return c
}

// candidate makes a test club like the gamer but for one thing. The fitter has
// measured it, so its build is known.
func candidate(r *rand.Rand, from *Club, id string) *Club {
	c := &Club{ID: id, Category: from.Category, True: from.True, headName: from.headName, shaft: from.shaft, grip: from.grip}
	side := float64(1 - 2*r.IntN(2))
	changes := []func(){
		func() {
			c.True[Length] += side * 0.0127
			c.Change = club.Figure{Name: "length", Quantity: unit.Length}.Change(side * 0.0127)
		},
		func() { c.True[Loft] += side; c.Change = club.Figure{Name: "loft", Quantity: unit.Angle}.Change(side) },
		func() {
			c.True[Lie] += 2 * side
			c.Change = club.Figure{Name: "lie", Quantity: unit.Angle}.Change(2 * side)
		},
		func() {
			c.True[HeadWeight] += side * 0.006
			c.Change = club.Figure{Name: "head_weight", Quantity: unit.Mass}.Change(side * 0.006)
		},
		func() {
			s := pick(r, shafts)
			for s == c.shaft {
				s = pick(r, shafts)
			}
			ref := standard[c.Category]
			c.shaft = s
			c.True[ShaftWeight], c.True[Flex], c.True[Torque] = ref.shaft*s.weight/0.060, s.flex, ref.torque*s.torque/4.5
			c.Change = "shaft " + s.model + " " + flexLetter(s.flex)
		},
		func() {
			next := pick(r, heads[c.Category])
			for next == c.headName {
				next = pick(r, heads[c.Category])
			}
			c.headName, c.Change = next, "head "+next
		},
	}
	if c.Category == "putter" {
		changes = []func(){changes[0], changes[2], changes[5]}
	}
	pick(r, changes)()
	c.finish()
	c.Build = &event.Build{Name: c.Change, ClubId: c.ID}
	c.say(event.BuildField_BUILD_HEAD_MODEL, event.Knowledge_KNOWLEDGE_STATED, c.headName)
	c.say(event.BuildField_BUILD_SHAFT_MODEL, event.Knowledge_KNOWLEDGE_STATED, c.shaft.model)
	c.say(event.BuildField_BUILD_FLEX, event.Knowledge_KNOWLEDGE_STATED, flexLetter(c.True[Flex]))
	for a, decimals := range map[Attribute]int{Length: 3, Loft: 1, Lie: 1, ShaftWeight: 4, Torque: 1, HeadWeight: 3, SwingWeight: 4} {
		c.tell(a.Info().Field, event.Knowledge_KNOWLEDGE_MEASURED, round(c.True[a], decimals))
	}
	c.sortSpecs()
	return c
}

// delivered makes the club that the shop built after a candidate: a little off
// in length, loft and lie, as hands work.
func delivered(r *rand.Rand, from *Club, id string) *Club {
	c := *from
	c.ID, c.Change = id, "as delivered: "+from.Change
	c.True[Length] += round(normal(r, 0, 0.0015), 4)
	c.True[Loft] += round(normal(r, 0, 0.3), 1)
	c.True[Lie] += round(normal(r, 0, 0.3), 1)
	c.finish()
	c.Build = &event.Build{Name: "delivered", ClubId: id}
	for _, s := range from.Build.Specs {
		known := &event.Spec{Field: s.Field, Knowledge: s.Knowledge, Number: s.Number, Text: s.Text}
		c.Build.Specs = append(c.Build.Specs, known)
	}
	for a, decimals := range map[Attribute]int{Length: 3, Loft: 1, Lie: 1} {
		c.tell(a.Info().Field, event.Knowledge_KNOWLEDGE_MEASURED, round(c.True[a], decimals))
	}
	return &c
}

// finish sets what follows from the parts.
func (c *Club) finish() {
	c.True[SwingWeight] = heft(c.True[Length], c.True[HeadWeight], c.True[ShaftWeight], c.grip)
	c.Head, _ = impact.DefaultHead(c.Category) // every category of this package has one
	c.Head.Mass = c.True[HeadWeight]
	// Heads differ a little in how much they resist twisting; by name, so that
	// two clubs with one head agree.
	n := 0
	for _, b := range c.headName {
		n += int(b)
	}
	share := 0.92 + 0.16*float64(n%17)/16
	c.Head.InertiaVertical *= share
	c.Head.InertiaHeelToe *= share
}

func (c *Club) say(f event.BuildField, k event.Knowledge, text string) {
	c.put(&event.Spec{Field: f, Knowledge: k, Text: text})
}

func (c *Club) tell(f event.BuildField, k event.Knowledge, number float64) {
	if f == event.BuildField_BUILD_FLEX {
		return // a letter, not a number
	}
	c.put(&event.Spec{Field: f, Knowledge: k, Number: number})
}

func (c *Club) put(s *event.Spec) {
	for i, have := range c.Build.Specs {
		if have.Field == s.Field {
			c.Build.Specs[i] = s
			return
		}
	}
	c.Build.Specs = append(c.Build.Specs, s)
}

// sortSpecs puts the parts into the contract's order: maps have none.
func (c *Club) sortSpecs() {
	slices.SortFunc(c.Build.Specs, func(a, b *event.Spec) int { return int(a.Field) - int(b.Field) })
}
