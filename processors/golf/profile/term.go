package profile

// Term is one quantity of a swing.
type Term string

// The terms of a profile. Names are stable: models and stored profiles use them.
const (
	Speed         Term = "speed"          // m/s, clubhead
	Attack        Term = "attack"         // deg, up positive
	Path          Term = "path"           // deg, handed, positive in-to-out
	Face          Term = "face"           // deg, handed, positive open to the target
	FaceToPath    Term = "face_to_path"   // deg, handed, positive open to the path
	DynamicLoft   Term = "dynamic_loft"   // deg
	StrikeX       Term = "strike_x"       // m, toe positive
	StrikeY       Term = "strike_y"       // m, up positive
	StrikeScatter Term = "strike_scatter" // m, root mean square of the two axes' standard deviations
	Tempo         Term = "tempo"          // ratio, backswing to downswing time
)

// Terms lists all terms in the order they are shown and modelled.
func Terms() []Term {
	return []Term{Speed, Attack, Path, Face, FaceToPath, DynamicLoft, StrikeX, StrikeY, StrikeScatter, Tempo}
}

// Unit is the term's stored unit, "" for a ratio.
func (t Term) Unit() string { return facts[t].unit }

// fact is what is known of a term before any shot.
type fact struct {
	unit string
	// low and high are what a swing can do at all.
	low, high float64
	// resolution is the step that devices report in: the variance of rounding,
	// resolution²/12, is the least a shot has, so that shots that all read
	// alike do not claim certainty.
	resolution float64
	// visit is the standard deviation, from visit to visit, of a player's mean
	// when nothing was changed (for scatter: of its logarithm). Working values,
	// replaced by what players who came back say (LearnNoise).
	visit float64
	// margin is the change that would matter to a build (scatter: logarithm).
	margin float64
}

var facts = map[Term]fact{
	Speed:         {"m/s", 5, 75, 0.1, 0.6, 0.7},
	Attack:        {"deg", -25, 25, 0.1, 0.7, 0.7},
	Path:          {"deg", -40, 40, 0.1, 1.0, 1.0},
	Face:          {"deg", -40, 40, 0.1, 0.7, 0.7},
	FaceToPath:    {"deg", -40, 40, 0.1, 0.8, 0.7},
	DynamicLoft:   {"deg", -10, 80, 0.1, 0.8, 0.8},
	StrikeX:       {"m", -0.08, 0.08, 0.001, 0.0025, 0.003},
	StrikeY:       {"m", -0.06, 0.06, 0.001, 0.002, 0.003},
	StrikeScatter: {"m", 0, 0.08, 0.001, 0.15, 0.2},
	Tempo:         {"", 0.5, 12, 0.05, 0.12, 0.15},
}
