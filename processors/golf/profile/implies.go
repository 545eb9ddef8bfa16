package profile

import (
	"fairlead/ingest/contract/glossary"
	"fmt"
)

// Implication is what a change in the swing means for the build. It is a
// reason to hit something, never to build something: Try names the trial.
type Implication struct {
	Terms []Term
	Text  string
	Try   string
}

// Imply reads changes for what they mean for the club. Only terms that changed
// by more than noise and setting speak; a change that the setting could explain
// asks for a test on the old setting. built is the build that was made for the
// earlier swing, as far as known.
func Imply(c glossary.Category, changes []Change, built Build) []Implication {
	moved := map[Term]float64{}
	var unsure []Term
	for _, ch := range changes {
		switch ch.Verdict {
		case Changed:
			moved[ch.Term] = ch.Diff
		case Confounded:
			unsure = append(unsure, ch.Term)
		}
	}
	var out []Implication
	add := func(text, try string, terms ...Term) { out = append(out, Implication{terms, text, try}) }
	for _, r := range rules(c, built) {
		if d := moved[r.term] * r.sign; d > 0 {
			add(r.text, r.try, r.term)
		}
	}
	if len(unsure) > 0 {
		add("These changed by more than noise, but a new ball, surface or device could account for it.",
			"Hit the old club again on the old setting, or the two devices side by side, before changing the build.", unsure...)
	}
	if len(out) == 0 {
		add("Nothing in the swing changed by more than noise: the build has no new reason to change.",
			"Check lofts, lies and grips for wear, and keep the clubs.")
	}
	return out
}

type rule struct {
	term      Term
	sign      float64 // of the change
	text, try string
}

// rules is what fitters reason from. Each starts from impact mechanics: launch
// follows dynamic loft and attack, spin follows spin loft (dynamic loft less
// attack), start and curve follow face and path.
func rules(c glossary.Category, built Build) []rule {
	weak := ""
	if ref := Reference(c); built.Loft.Known && ref.Loft.Known && built.Loft.V > ref.Loft.V {
		weak = fmt.Sprintf(" This one was built %.1f° weak of usual.", built.Loft.V-ref.Loft.V)
	}
	wood := c == glossary.Driver || c == glossary.Wood
	up := rule{Attack, 1, "The blow has become shallower. Less sole meets the ground: bounce chosen for digging may now skip, and a club " +
		"made weak for a steep blow launches higher with less spin." + weak,
		"Usual loft and less bounce against the present club, from the turf that is played on."}
	down := rule{Attack, -1, "The blow has become steeper. The leading edge digs sooner, and the same dynamic loft spins more.",
		"More bounce or a wider sole, and one loft step, against the present club."}
	if wood {
		up = rule{Attack, 1, "The club now rises more through the ball: the same loft launches higher. A club made weak for a steep blow no " +
			"longer fits a rising one." + weak, "One and two degrees less loft, and tee height, against the present club."}
		down = rule{Attack, -1, "The club now comes down more: the same dynamic loft launches lower and spins more.",
			"Tee height first, then one step of loft either way, against the present club."}
	}
	return []rule{
		{Speed, 1, "The player is faster: the best loft falls and distances stretch.",
			"One step less loft and the next heavier or stiffer shaft; map the gaps of the bag again."},
		{Speed, -1, "The player is slower: the best loft rises and distances close up.",
			"One step more loft and the next lighter shaft; map the gaps of the bag again."},
		up, down,
		{DynamicLoft, 1, "More loft reaches the ball: higher launch and more spin." + weak,
			"One step less loft against the present club, at the same length."},
		{DynamicLoft, -1, "Less loft reaches the ball: lower launch and less spin.",
			"One step more loft against the present club, at the same length."},
		{Path, 1, "The path runs more in-to-out. That is swing, not club; a lie or face set up for the old path now starts the ball elsewhere.",
			"Check lie and face angle against the new path."},
		{Path, -1, "The path runs more out-to-in. That is swing, not club; a lie or face set up for the old path now starts the ball elsewhere.",
			"Check lie and face angle against the new path."},
		{FaceToPath, 1, "The face is more open to the path: more curve away.",
			"A lie one degree more upright, a lighter-toed head or a larger-closing face angle, one at a time; look at the grip's size."},
		{FaceToPath, -1, "The face is more closed to the path: more curve toward the player.",
			"A lie one degree flatter or a more open face angle, one at a time; look at the grip's size."},
		{StrikeX, 1, "Strikes moved toward the toe.", "Half an inch longer or standing nearer (set-up, not club); look at lie and swing weight."},
		{StrikeX, -1, "Strikes moved toward the heel.",
			"Half an inch shorter or standing farther (set-up, not club); look at lie and swing weight."},
		{StrikeY, 1, "Strikes moved up the face: higher launch, less spin.", "Tee height or ball position before the club; then length."},
		{StrikeY, -1, "Strikes moved down the face: lower launch, more spin.", "Tee height or ball position before the club; then length."},
		{StrikeScatter, 1, "Strikes scatter wider than they did.", "A shorter or more forgiving club against the present one."},
		{StrikeScatter, -1, "Strikes sit tighter than they did: length may be had again.",
			"Half an inch longer against the present club, watching the strike."},
		{Tempo, 1, "The tempo has become slower.", "A lighter or softer shaft by feel, with the present one hit again at the end."},
		{Tempo, -1, "The tempo has become quicker.", "A heavier or stiffer shaft by feel, with the present one hit again at the end."},
	}
}
