package fleet

import "math"

// Repeats are the runs that one player hit with one and the same club in one session
// under the same circumstances, of one quantity: how many runs of how many shots, the
// sum of squares of the runs' means about their common mean, each mean counted as often
// as it has shots, and the shots' own variance within their runs.
type Repeats struct {
	Player string
	Runs   int
	Shots  float64
	// SquaredRuns is the sum of the squares of the runs' numbers of shots.
	SquaredRuns float64
	Between     float64
	Within      float64 // variance of a shot
	Degrees     float64 // of freedom of Within
}

// Wander is how far a player's level moves by itself from one run of shots to the next
// with the same club, as a share of the spread from shot to shot.
type Wander struct {
	Share   float64
	SE      float64 // of Share², before what is believed of it is added
	Players int
}

const (
	// leastWanderers is how many players must have hit a club in two runs or more.
	leastWanderers = 10
	// leastWithin is of how many degrees of freedom a shot's variance must be, for the
	// mean of its inverse to exist and be known.
	leastWithin = 6
	// mostApart bounds what one club of one player says: a run against two runs' chance.
	mostApart = 40
)

// LearnWander estimates the wander from players who came back to a club in one session,
// believed beforehand to be as declared, squares to within themselves. With k runs of n_i
// shots, N in all, Between/σ² is expected to be (k−1) + ω²(N − Σn_i²/N) (the expected mean
// squares of a random effect; Searle, Casella & McCulloch, Variance Components, 1992,
// §3.6), and 1/s² of f degrees is f/(f−2) as large as 1/σ². Clubs weigh by what they say
// of ω² near the declared value; players are the units of its standard error. False where
// too few players came back.
func LearnWander(of []Repeats, declared float64) (Wander, bool) {
	type sums struct{ top, bottom float64 }
	at, players := map[string]int{}, []sums(nil) // in the order met, so that sums round alike
	prior := declared * declared
	for _, r := range of {
		if r.Runs < 2 || !(r.Shots > 0) || r.Degrees < leastWithin || !(r.Within > 0) || !finite(r.Between) || !finite(r.SquaredRuns) {
			continue
		}
		free := float64(r.Runs - 1)
		apart := min(r.Between/r.Within*(r.Degrees-2)/r.Degrees, mostApart*free)
		more := r.Shots - r.SquaredRuns/r.Shots
		one := 1 + prior*more/free
		weight := more / (one * one * free)
		i, met := at[r.Player]
		if !met {
			i = len(players)
			at[r.Player], players = i, append(players, sums{})
		}
		players[i].top += weight * (apart - free)
		players[i].bottom += weight * more
	}
	var top, bottom float64
	for _, s := range players {
		top, bottom = top+s.top, bottom+s.bottom
	}
	if len(players) < leastWanderers || !(bottom > 0) {
		return Wander{Players: len(players)}, false
	}
	square := top / bottom
	variance := 0.0
	for _, s := range players {
		d := (s.top - square*s.bottom) / bottom
		variance += d * d
	}
	variance *= float64(len(players)) / float64(len(players)-1)
	w := Wander{SE: math.Sqrt(variance), Players: len(players)}
	held := prior * prior // the variance of what is believed
	w.Share = math.Sqrt(max((square*held+prior*variance)/(held+variance), 0))
	return w, finite(w.Share)
}
