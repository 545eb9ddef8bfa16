package rolling

import (
	"testing"

	"fairlead/deploy/proof"
)

func sessions() uint64 {
	if proof.Wanted() {
		return 5000
	}
	return 400
}

// A session without a forgotten swap must hardly ever be asked about, at any
// look, with clubs that differ much, little or not, and with mishits.
func TestFewFalseSuspicions(t *testing.T) {
	for name, c := range map[string]struct {
		clubs  []clubMeans
		mishit float64
	}{
		"different clubs":              {[]clubMeans{own, weaker, own, weaker}, 0},
		"alike clubs":                  {[]clubMeans{own, same, own, same}, 0},
		"different clubs with mishits": {[]clubMeans{own, weaker, own, weaker}, 0.08},
		"alike clubs with mishits":     {[]clubMeans{own, same, own, same}, 0.08},
	} {
		asked := 0
		for seed := range sessions() {
			w := newWorld(seed, "iron")
			w.mishit = c.mishit
			wrong := false
			for _, k := range c.clubs {
				name := "own"
				if k != own {
					name = "other"
				}
				w.enter(name, k == own)
				for range 9 {
					w.hit(k)
					wrong = wrong || w.suspicion() != nil
				}
			}
			if wrong {
				asked++
			}
		}
		share := float64(asked) / float64(sessions())
		t.Logf("%s: %.2f %% of sessions are asked about in 36 looks", name, 100*share)
		if share > 0.03 {
			t.Errorf("%s: %d of %d sessions are asked about without reason", name, asked, sessions())
		}
	}
}

// A forgotten swap to a club that was hit before must be found in most sessions
// while it lasts, the better the more the clubs differ, and the move that is
// offered must be the right one.
func TestForgottenSwapsAreFound(t *testing.T) {
	for name, c := range map[string]struct {
		other        clubMeans
		least, right float64
	}{"much": {far, 0.85, 0.9}, "little": {weaker, 0.4, 0.7}} {
		found, right := 0, 0
		for seed := range sessions() {
			w := newWorld(seed, "iron")
			w.mishit = 0.05
			first := w.enter("own", true)
			for range 9 {
				w.hit(own)
			}
			second := w.enter("other", false)
			for range 9 {
				w.hit(c.other)
			}
			// Back to the own club, and not entered.
			for k := range 8 {
				w.hit(own)
				if s := w.suspicion(); s != nil {
					found++
					if s.From == second && s.To == first && s.Kind == "forgotten" && len(s.Shots) <= k+2 {
						right++
					}
					break
				}
			}
		}
		t.Logf("differ %s: found in %.0f %% of sessions within eight shots, right in %.0f %% of those", name,
			100*float64(found)/float64(sessions()), 100*float64(right)/float64(max(found, 1)))
		if float64(found) < c.least*float64(sessions()) || float64(right) < c.right*float64(found) {
			t.Errorf("differ %s: found %d of %d, right %d", name, found, sessions(), right)
		}
	}
}

// A swap that was entered some shots late is offered to be mended once the new
// build has shots of its own.
func TestLateEntryIsFound(t *testing.T) {
	found, right := 0, 0
	for seed := range sessions() {
		w := newWorld(seed, "iron")
		first := w.enter("own", true)
		for range 9 {
			w.hit(own)
		}
		for range 4 {
			w.hit(far) // swapped, not entered yet
		}
		second := w.enter("far", false)
		for range 8 {
			w.hit(far)
			if s := w.suspicion(); s != nil {
				found++
				if s.Kind == "late" && s.From == first && s.To == second && len(s.Shots) >= 3 && len(s.Shots) <= 5 {
					right++
				}
				break
			}
		}
	}
	t.Logf("found in %.0f %% of sessions, right in %.0f %% of those", 100*float64(found)/float64(sessions()),
		100*float64(right)/float64(max(found, 1)))
	if float64(found) < 0.4*float64(sessions()) || float64(right) < 0.85*float64(found) {
		t.Errorf("found %d of %d, right %d", found, sessions(), right)
	}
}
