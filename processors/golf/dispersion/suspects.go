package dispersion

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"
)

// Suspect is a shot that does not look like the others, with the reason in
// words. It is a question to the fitter (a mishit, a misread, a wrong club?);
// nothing is left out because of it.
type Suspect struct {
	Index  int
	Chance float64 // of a shot this odd among n normal ones (Bonferroni)
	Reason string
}

// suspectChance is how unlikely a shot must be among n to be asked about.
const suspectChance = 0.05

// suspects returns the shots of a trial that do not look like the others, in
// order; none below MinSuspects shots. Shots that are none are no suspects
// either: check them first. It looks at each shot against the scatter of all
// others: the distance
// d² of a point from n−1 others has d²·(n−1)(n−3)/[n·2(n−2)] ~ F(2, n−3).
// Several mishits hide each other from that; from MinRobust shots on, those
// that the robust estimate calls mishits are added.
func suspects(points [][2]float64, robust Robust) []Suspect {
	n := len(points)
	if n < MinSuspects {
		return nil
	}
	mishit := make(map[int]bool, len(robust.Mishits))
	for _, i := range robust.Mishits {
		mishit[i] = true
	}
	var out []Suspect
	others := make([][2]float64, 0, n-1)
	for i, p := range points {
		others = append(append(others[:0], points[:i]...), points[i+1:]...)
		s, err := NewScatter(others)
		if err != nil || s.Singular() {
			continue // the others agree to the digit; there is no scale to judge by
		}
		m := float64(n)
		f := distance2(p, s.Mean, s.Cov()) * (m - 1) * (m - 3) / (m * 2 * (m - 2))
		// The survival of F(2, d) has a closed form.
		chance := min(m*math.Pow(1+2*f/(m-3), -(m-3)/2), 1)
		switch {
		case chance < suspectChance:
			out = append(out, Suspect{i, chance, oddness(p, s.Mean, s.Cov(), s.N) + " against the other shots"})
		case mishit[i]:
			d := distance2(p, robust.Centre, robust.Cov)
			out = append(out, Suspect{i, min(m*distuv.ChiSquared{K: 2}.Survival(d), 1),
				oddness(p, robust.Centre, robust.Cov, n) + " against the shots that agree"})
		}
	}
	return out
}

// oddness says in which way a shot departs, leading with the axis on which it
// departs most.
func oddness(p, mean [2]float64, cov [3]float64, n int) string {
	d0, d1 := p[0]-mean[0], p[1]-mean[1]
	z0, z1 := math.Abs(d0)/math.Sqrt(cov[0]), math.Abs(d1)/math.Sqrt(cov[2])
	along := fmt.Sprintf("%.1f m %s (%.1f sd)", math.Abs(d0), word(d0, "long", "short"), z0)
	across := fmt.Sprintf("%.1f m %s (%.1f sd)", math.Abs(d1), word(d1, "right", "left"), z1)
	var parts []string
	switch {
	case z0 >= z1 && z1 >= 2:
		parts = []string{along, across}
	case z0 >= z1:
		parts = []string{along}
	case z0 >= 2:
		parts = []string{across, along}
	default:
		parts = []string{across}
	}
	if max(z0, z1) < 2 {
		// Neither axis is odd by itself: the pair is.
		return fmt.Sprintf("carry and direction do not go together as in the %d others: %s with %s", n, along, across)
	}
	return strings.Join(parts, " and ")
}

func word(d float64, positive, negative string) string {
	if d < 0 {
		return negative
	}
	return positive
}
