package fleet

import (
	"fairlead/ingest/contract/unit"
	"math"
)

// Attribute is a property of a build that a fleet question may ask about.
type Attribute int

// The eight attributes of the standard model. Values are those of the whole
// club as measured; NaN where unknown.
const (
	Length         Attribute = iota // m
	Loft                            // deg
	Lie                             // deg, upright positive
	ShaftWeight                     // kg
	Flex                            // index, see FlexIndex
	Torque                          // deg
	HeadWeight                      // kg
	SwingWeight                     // kg·m about the trade's 14 inch fulcrum
	AttributeCount                  // how many there are
)

// attributeFact is what one step of an attribute is, for models and people: a
// change that a shop would make. A coefficient is the change for one step.
type attributeFact struct {
	name, unit string
	step       float64
	stepText   string
	curved     bool // has an optimum, so the model gets its square too
}

var attributeFacts = [AttributeCount]attributeFact{
	Length:      {"length", "m", 0.0127, "½ in longer", true},
	Loft:        {"loft", "deg", 1, "1° more loft", true},
	Lie:         {"lie", "deg", 1, "1° more upright", true},
	ShaftWeight: {"shaft_weight", "kg", 0.010, "10 g heavier shaft", false},
	Flex:        {"flex", "index", 1, "one flex stiffer", false},
	Torque:      {"torque", "deg", 1, "1° more torque", false},
	HeadWeight:  {"head_weight", "kg", 0.005, "5 g heavier head", false},
	// One point is 1.75 in·oz.
	SwingWeight: {"swing_weight", "kg·m", 1.75 * unit.Inch * unit.Ounce, "one swing weight heavier", false},
}

// Name is the attribute's name in terms, JSON and flags.
func (a Attribute) Name() string { return attributeFacts[a].name }

// Unit is the stored unit.
func (a Attribute) Unit() string { return attributeFacts[a].unit }

// Step is one step of the attribute in its unit.
func (a Attribute) Step() float64 { return attributeFacts[a].step }

// StepText says one step in words.
func (a Attribute) StepText() string { return attributeFacts[a].stepText }

// AllAttributes lists them in the order of Trial.Attributes.
func AllAttributes() []Attribute {
	out := make([]Attribute, AttributeCount)
	for i := range out {
		out[i] = Attribute(i)
	}
	return out
}

// ParseAttribute finds an attribute by name.
func ParseAttribute(name string) (Attribute, bool) {
	for a, f := range attributeFacts {
		if f.name == name {
			return Attribute(a), true
		}
	}
	return 0, false
}

// FlexIndex turns the trade's letters into a number: L 0, A (or M) 1, R 2, S 3,
// X 4, with + and − as a third of a step. It reports false for anything else.
func FlexIndex(letter string) (float64, bool) {
	if letter == "" {
		return 0, false
	}
	shift := 0.0
	switch letter[len(letter)-1] {
	case '+':
		shift, letter = 1.0/3, letter[:len(letter)-1]
	case '-':
		shift, letter = -1.0/3, letter[:len(letter)-1]
	}
	base, ok := map[string]float64{"L": 0, "l": 0, "A": 1, "a": 1, "M": 1, "m": 1, "R": 2, "r": 2, "S": 3, "s": 3, "X": 4, "x": 4}[letter]
	return base + shift, ok
}

// TraitCount is how many traits of the swing a trial may carry.
const TraitCount = 9

// TraitNames are the traits in the order of Trial.Traits, with their units in
// the names: those of a swing profile, handed.
var TraitNames = [TraitCount]string{
	"speed_mps", "attack_deg", "path_deg", "face_to_path_deg", "dynamic_loft_deg",
	"strike_x_m", "strike_y_m", "strike_scatter_ln", "tempo_ratio",
}

// StandardTraits are the six traits of the standard model. Tempo and the mean
// strike are left out because many devices do not report them and a trial
// without a trait is a trial left out.
var StandardTraits = []string{
	"speed_mps", "attack_deg", "path_deg", "face_to_path_deg", "dynamic_loft_deg", "strike_scatter_ln",
}

// signed traits change sign when a left-hander is looked at in a mirror.
var signedTraits = map[string]bool{"path_deg": true, "face_to_path_deg": true}

// Source says which shots a trial's traits were computed from.
type Source int

const (
	// OtherShots: an earlier visit, or the other half of the shots.
	OtherShots Source = iota
	// SameShots: the very shots whose outcome is asked about. Their error is
	// then on both sides, and a spurious effect appears (science calls it
	// mathematical coupling; Oldham, J. Chron. Dis. 15:969, 1962).
	SameShots
)

// Trial is one row of a fleet question: a run of shots with one build, one
// hitter and one instruction. A stored row of the table trials is one: build is
// its build key, Ball its ball model, FirstShot its first_shot_order, Number its
// order_session (parts of one trial share it and keep their order by FirstShot),
// and the sums of Shots are its scatter_… and …_ss, …_s4 columns; Traits come
// from the player's profile, made of other shots. Only rows of players who
// consented belong here.
type Trial struct {
	Player, Session                string
	Studio, Bay, Device, Fitter    string
	Category, Build, Ball, Surface string
	Head, Shaft, Grip              string // models; empty: not known
	Gamer                          bool   // hit with the player's own club, the incumbent
	Why                            string // it was hit: advised, fitter, player, drawn by lot; empty: nobody said
	Month                          string // 2026-01; empty: not known
	Level                          int    // comparable trials of a session share it, from 1
	Number                         int    // order of the trial in the session, from 1
	FirstShot                      int    // order of its first shot in the session, from 1
	Instruction                    string
	LeftHanded                     bool
	// Mirrored says that directions and traits are handed already.
	Mirrored   bool
	Attributes [AttributeCount]float64 // NaN: unknown
	Traits     [TraitCount]float64     // NaN: unknown
	// TraitErrors are the variances of the traits' errors; 0: known exactly.
	TraitErrors [TraitCount]float64
	TraitsFrom  Source
	Shots       Summary
	// Impact is how the club met the ball in this very trial.
	Impact Impact
}

// Impact sums up what a build may change on its way to an outcome: where the face was
// struck, how fast the club was, how it was delivered. Sums of squares are about the
// trial's mean; a count of 0 is what the device does not measure.
type Impact struct {
	StrikeN  int
	StrikeSS float64 // m², of both axes together
	SpeedN   int
	Speed    float64 // mean clubhead speed, m/s
	SpeedSS  float64 // m²/s²
	FaceN    int
	FaceSS   float64 // deg², of face to path
	PathN    int
	PathSS   float64 // deg², of club path
}

// Summary is what a trial's shots amount to. Sums of powers are about the mean.
type Summary struct {
	N, Excluded  int
	Carry        float64 // mean, m
	CarrySS      float64 // m²
	CarryS4      float64 // m⁴
	CarryOffline float64 // Σ(c−c̄)(o−ō), m²
	OfflineSS    float64 // m²
	Directed     int     // shots with a direction
	Direction    float64 // mean, deg, right positive
	DirectionSS  float64 // deg²
	DirectionS4  float64 // deg⁴
	Window       float64 // mean distance to the launch window, in its units; NaN unknown
	WindowSS     float64
	WindowN      int
}

// NoAttributes and NoTraits are all unknown.
func NoAttributes() (a [AttributeCount]float64) {
	for i := range a {
		a[i] = math.NaN()
	}
	return a
}

// NoTraits is a set of traits of which nothing is known.
func NoTraits() (a [TraitCount]float64) {
	for i := range a {
		a[i] = math.NaN()
	}
	return a
}

func traitIndex(name string) int {
	for i, n := range TraitNames {
		if n == name {
			return i
		}
	}
	return -1
}

// handed returns a trait as a right-hander's.
func (t *Trial) handed(i int) float64 {
	if t.LeftHanded && !t.Mirrored && signedTraits[TraitNames[i]] {
		return -t.Traits[i]
	}
	return t.Traits[i]
}
