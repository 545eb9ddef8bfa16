package sim

// Summary counts what a run wrote and did. Every shot id counts once in Shots.
type Summary struct {
	Bays      int `json:"bays"`
	Visits    int `json:"visits"`
	Sessions  int `json:"sessions"` // closed
	Trials    int `json:"trials"`
	Hits      int `json:"hits"`      // swings that a device saw
	Lines     int `json:"lines"`     // written, headers not counted
	Shots     int `json:"shots"`     // different shot ids of valid lines, withdrawn ones included
	Rejected  int `json:"rejected"`  // lines that are no valid shot: rejects to expect
	Repeats   int `json:"repeats"`   // lines written twice
	Revisions int `json:"revisions"` // later versions of a shot
	Withdrawn int `json:"withdrawn"` // shots taken back by the device
	Misread   int `json:"misread"`   // lines with a value far off
	Dropped   int `json:"dropped"`   // values missing

	Events     int `json:"events"`  // kept by the console
	Refused    int `json:"refused"` // events that the console did not take
	Swaps      int `json:"swaps"`   // changes of the club in hand
	Forgotten  int `json:"forgotten_swaps"`
	Mended     int `json:"mended_swaps"`
	MovedShots int `json:"moved_shots"`

	// Hits that stand (not withdrawn, not lost in a damaged line, not a
	// rehearsal) and what the visit events say of them: under a build that was
	// not swung, or the player's although somebody else hit, or nobody's
	// although the player hit. Before: as entered at the time; after: with
	// everything that was moved or excluded later.
	Standing         int `json:"standing"`
	MislabelledFirst int `json:"mislabelled_before"`
	MislabelledLast  int `json:"mislabelled_after"`
}

func (s *Summary) add(o Summary) {
	s.Bays += o.Bays
	s.Visits += o.Visits
	s.Sessions += o.Sessions
	s.Trials += o.Trials
	s.Hits += o.Hits
	s.Lines += o.Lines
	s.Shots += o.Shots
	s.Rejected += o.Rejected
	s.Repeats += o.Repeats
	s.Revisions += o.Revisions
	s.Withdrawn += o.Withdrawn
	s.Misread += o.Misread
	s.Dropped += o.Dropped
	s.Events += o.Events
	s.Refused += o.Refused
	s.Swaps += o.Swaps
	s.Forgotten += o.Forgotten
	s.Mended += o.Mended
	s.MovedShots += o.MovedShots
	s.Standing += o.Standing
	s.MislabelledFirst += o.MislabelledFirst
	s.MislabelledLast += o.MislabelledLast
}
