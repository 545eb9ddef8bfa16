package sheets

import "fairlead/processors/golf/profile"

// implied is what a change of the swing makes worth hitting again: which way it
// went, up or down, and which figures of a club were chosen for the old swing.
var implied = map[profile.Term][2]string{
	profile.Speed: {"The head is faster than when the clubs were chosen: hit shaft weight and " +
		"flex again, and check the gaps, which grow with speed.",
		"The head is slower than when the clubs were chosen: hit shaft weight and " +
			"lofts again, and check that the longest iron still holds a green."},
	profile.Attack: {"The head comes up more: check the tee and the loft of the driver before anything else is changed.",
		"The head comes down steeper: check loft and bounce of irons and wedges, and the tee of the driver."},
	profile.FaceToPath: {"The face is more open to the way the head moves: check lie and grip size first; a club mends little of it.",
		"The face is more closed to the way the head moves: check lie and grip size first; a club mends little of it."},
	profile.DynamicLoft: {"More loft comes to the ball: launch and spin were chosen for less; hit lofts again.",
		"Less loft comes to the ball: launch and spin were chosen for more; hit lofts again."},
	profile.StrikeX: {"Strikes moved toward the toe: gauge the lie, and hit length again.",
		"Strikes moved toward the heel: gauge the lie, and hit length again."},
	profile.StrikeY: {"Strikes moved up the face: check the tee, or length and lie of irons.",
		"Strikes moved down the face: check the tee, or length and lie of irons."},
	profile.StrikeScatter: {"Strikes spread more over the face: hit length and total weight again.",
		"Strikes spread less over the face: a club that was chosen to forgive may now be hit beside a smaller one."},
}

// Implies says of what changed by more than one day differs from another which
// clubs are worth hitting again. It is a reason to hit, never one to buy.
func (e *Earlier) Implies() (out []string) {
	for _, c := range e.Changes {
		if words, ok := implied[profile.Term(c.Term)]; ok && c.Verdict == string(profile.Changed) {
			if c.After > c.Before {
				out = append(out, words[0])
			} else if c.After < c.Before {
				out = append(out, words[1])
			}
		}
	}
	return out
}
