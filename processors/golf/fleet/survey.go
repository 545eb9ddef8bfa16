package fleet

import (
	"fmt"
	"math"
	"strings"
)

// Survey looks at all trials once, before they become rows: which attributes
// and traits are known, where the middle of each is, and how noisy shots are.
// Give it each player's trials in one run, as Stream wants them; it keeps sums
// only, so it takes no more room for millions.
type Survey struct {
	trials    float64
	attribute [AttributeCount]running
	current   string
	sum, n    [TraitCount]float64 // of the player at hand
	players   float64
	trait     [TraitCount]running
	errors    [TraitCount]running // variance of a trait's error
	mine      [TraitCount]float64 // of the player at hand
	ends      [TraitCount]ends
	origin    [TraitCount]float64 // first value seen: sums are taken from it
	pair      [TraitCount][TraitCount]struct{ n, x, y, xy float64 }
	direction tails
	carry     tails
	peaks     [2]peaks   // of directions and carries
	carrySS   [2]float64 // sum of squares, degrees of freedom
	windowSS  [2]float64
	shared    sharing
	heard     heard
}

// running is a mean and a sum of squares about it.
type running struct{ n, mean, ss float64 }

func (r *running) add(x float64) {
	r.n++
	d := x - r.mean
	r.mean += d / r.n
	r.ss += d * (x - r.mean)
}

// Add takes the next trial.
func (s *Survey) Add(t *Trial) {
	if s.trials > 0 && t.Player != s.current {
		s.closePlayer()
	}
	s.current = t.Player
	s.trials++
	s.shared.add(t)
	s.heard.add(t)
	for a, x := range t.Attributes {
		if finite(x) {
			s.attribute[a].add(x)
		}
	}
	s.mine = t.TraitErrors
	for i := range t.Traits {
		if x := t.handed(i); finite(x) {
			s.sum[i] += x
			s.n[i]++
		}
	}
	h := &t.Shots
	s.direction.add(h.Directed, h.DirectionSS, h.DirectionS4)
	s.carry.add(h.N, h.CarrySS, h.CarryS4)
	s.peaks[0].add(h.Directed, h.DirectionSS, h.DirectionS4)
	s.peaks[1].add(h.N, h.CarrySS, h.CarryS4)
	if h.N > 1 && finite(h.CarrySS) {
		s.carrySS[0] += h.CarrySS
		s.carrySS[1] += float64(h.N - 1)
	}
	if h.WindowN > 1 && finite(h.WindowSS) {
		s.windowSS[0] += h.WindowSS
		s.windowSS[1] += float64(h.WindowN - 1)
	}
}

// close ends the last player.
func (s *Survey) close() {
	if s.trials > 0 && s.current != "" {
		s.closePlayer()
		s.current = ""
	}
}

// closePlayer counts a player's profile: the mean over the player's trials.
func (s *Survey) closePlayer() {
	s.players++
	s.shared.closePlayer()
	s.heard.closePlayer()
	var z [TraitCount]float64
	for i := range z {
		z[i] = math.NaN()
		if s.n[i] > 0 {
			z[i] = s.sum[i] / s.n[i]
			if s.trait[i].n == 0 {
				s.origin[i] = z[i]
			}
			s.trait[i].add(z[i])
			s.errors[i].add(s.mine[i])
			s.ends[i].add(z[i])
		}
	}
	for i := range z {
		for k := range z {
			if x, y := z[i]-s.origin[i], z[k]-s.origin[k]; finite(x) && finite(y) {
				p := &s.pair[i][k]
				p.n, p.x, p.y, p.xy = p.n+1, p.x+x, p.y+y, p.xy+x*y
			}
		}
	}
	s.sum, s.n = [TraitCount]float64{}, [TraitCount]float64{}
}

// Noise is what the shots of the surveyed trials are like, and the devices that
// measured them. No trial may be added afterwards.
func (s *Survey) Noise(q Question) Noise {
	s.close()
	k := Noise{DirectionKurtosis: s.direction.kurtosis(), CarryKurtosis: s.carry.kurtosis()}
	if !q.AsMeasured {
		if k.DirectionKurtosis > mishitKurtosis {
			k.DirectionMishits = s.peaks[0].mishits()
		}
		if k.CarryKurtosis > mishitKurtosis {
			k.CarryMishits = s.peaks[1].mishits()
		}
		k.Devices = s.heard.quiet([2]float64{k.DirectionKurtosis, k.CarryKurtosis})
	}
	if s.carrySS[1] > 0 {
		k.CarryVariance = s.carrySS[0] / s.carrySS[1]
	}
	if s.windowSS[1] > 0 {
		k.WindowVariance = s.windowSS[0] / s.windowSS[1]
	}
	return k
}

// Design says how the surveyed trials become rows for a question, with notes on
// what was left out because too few trials know it. No trial may be added
// afterwards.
func (s *Survey) Design(q Question) (*Design, []Warning, error) {
	s.close()
	d := &Design{Order: !q.NoOrder, Traits: []string{}}
	var notes []Warning
	note := func(code, text string, args ...any) { notes = append(notes, Warning{code, fmt.Sprintf(text, args...)}) }
	if !q.NoShared {
		d.Shared = s.shared.factors(q.Also)
	}
	for a := range s.attribute {
		d.Reference[a] = s.attribute[a].mean
	}
	if d.Attributes = q.Attributes; d.Attributes == nil {
		for _, a := range AllAttributes() {
			if n := s.attribute[a].n; n >= knownEnough*s.trials {
				d.Attributes = append(d.Attributes, a)
			} else {
				note("attribute_unknown", "%s is left out: %.0f of %.0f trials know it", a.Name(), n, s.trials)
			}
		}
	}
	if len(d.Attributes) == 0 {
		return nil, notes, &ModelError{Kind: NotEnough, Terms: []string{"not enough to say"},
			Reason: "no attribute of the builds is known in enough trials", Try: "record builds on their sheets"}
	}
	for _, a := range d.Attributes {
		if a < 0 || a >= AttributeCount {
			return nil, notes, &ModelError{Terms: []string{fmt.Sprint(int(a))}, Reason: "there is no such attribute", Try: "use AllAttributes"}
		}
		if attributeFacts[a].curved && !q.NoCurvature {
			d.Curved = append(d.Curved, a)
		}
	}
	names := q.Traits
	if names == nil {
		names = StandardTraits
	}
	for _, name := range names {
		i := traitIndex(name)
		if i < 0 {
			return nil, notes, &ModelError{Terms: []string{name}, Reason: "there is no such trait",
				Try: "use one of " + strings.Join(TraitNames[:], ", ")}
		}
		t := s.trait[i]
		switch {
		case q.Traits == nil && t.n < knownEnough*s.players:
			note("trait_unknown", "%s is left out: it is known of %.0f of %.0f players", name, t.n, s.players)
		case t.n < 2 || t.ss <= 0:
			note("trait_idle", "%s is left out: it does not vary between players", name)
		default:
			d.Traits = append(d.Traits, name)
			d.Center = append(d.Center, t.mean)
			d.Spread = append(d.Spread, math.Sqrt(t.ss/(t.n-1)))
			d.Ends = append(d.Ends, [2]float64{s.ends[i].at(0.1), s.ends[i].at(0.9)})
		}
	}
	d.TraitCov = square(len(d.Traits))
	for i, a := range d.Traits {
		for k, b := range d.Traits {
			p := s.pair[traitIndex(a)][traitIndex(b)]
			if p.n > 1 {
				d.TraitCov[i][k] = (p.xy - p.x*p.y/p.n) / (p.n - 1) / (d.Spread[i] * d.Spread[k])
			}
		}
	}
	var errors []float64
	for _, name := range d.Traits {
		errors = append(errors, s.errors[traitIndex(name)].mean)
	}
	if !q.NoErrors {
		d.calibrate(errors)
	}
	return d, notes, nil
}

// MeasureNoise is the noise of trials in memory, in any order.
func MeasureNoise(trials []Trial) Noise {
	var s Survey
	for i := range trials {
		s.Add(&trials[i])
	}
	return s.Noise(Question{})
}

// playerTraits averages each player's handed traits over their trials.
func playerTraits(trials []Trial) map[string][TraitCount]float64 {
	sum, n := map[string][TraitCount]float64{}, map[string][TraitCount]float64{}
	for i := 0; i < len(trials); {
		// Mostly a player's trials stand together.
		p := trials[i].Player
		s, c := sum[p], n[p]
		for ; i < len(trials) && trials[i].Player == p; i++ {
			for k := range s {
				if x := trials[i].handed(k); finite(x) {
					s[k] += x
					c[k]++
				}
			}
		}
		sum[p], n[p] = s, c
	}
	for p, s := range sum {
		c := n[p]
		for k := range s {
			if c[k] > 0 {
				s[k] /= c[k]
			} else {
				s[k] = math.NaN()
			}
		}
		sum[p] = s
	}
	return sum
}
