package fleet

import (
	"fmt"
	"math"
)

// levelKey names a level among all players.
type levelKey struct {
	player, session string
	level           int
}

func levelOf(t *Trial) levelKey { return levelKey{t.Player, t.Session, t.Level} }

// unrepeated: levels in which the incumbent was hit only before all others, so
// that everything that drifts in a session looks like the new build's doing.
func unrepeated(trials []Trial) Diagnostic {
	type span struct{ firstOther, lastGamer, others, gamers int }
	m := map[levelKey]*span{}
	var s *span
	for i := range trials {
		t := &trials[i]
		if k := levelOf(t); i == 0 || k != levelOf(&trials[i-1]) { // mostly a level's trials stand together
			if s = m[k]; s == nil {
				s = &span{firstOther: math.MaxInt}
				m[k] = s
			}
		}
		if t.Gamer {
			s.gamers++
			s.lastGamer = max(s.lastGamer, t.Number)
		} else {
			s.others++
			s.firstOther = min(s.firstOther, t.Number)
		}
	}
	n, bad := 0.0, 0.0
	for _, s := range m {
		if s.gamers == 0 || s.others == 0 {
			continue
		}
		n++
		if s.lastGamer < s.firstOther {
			bad++
		}
	}
	share := bad / math.Max(n, 1)
	return Diagnostic{"incumbent_once", "levels that hit the incumbent only at their start", share, maxUnrepeated, share > maxUnrepeated,
		fmt.Sprintf("in %.0f of %.0f levels the incumbent was not hit again after the first new build: warm-up and fatigue then rest on the "+
			"model alone; advise hitting it again at the end", bad, n)}
}

// selection: is a change of build only ever chosen for one kind of player? The
// share of the variance of a trait between players that the mean change of an
// attribute explains (R² of one on the other), at its largest.
func selection(d *Design, trials []Trial, traits map[string][TraitCount]float64) Diagnostic {
	out := Diagnostic{Code: "selection", Title: "share of a trait that the choice of build explains", Threshold: maxTraitShare}
	type agg struct{ gamer, others, ng, no [AttributeCount]float64 }
	byPlayer := map[string]*agg{}
	var g *agg
	for i := range trials {
		t := &trials[i]
		if i == 0 || t.Player != trials[i-1].Player {
			if g = byPlayer[t.Player]; g == nil {
				g = &agg{}
				byPlayer[t.Player] = g
			}
		}
		for a, x := range t.Attributes {
			if !finite(x) {
				continue
			}
			if t.Gamer {
				g.gamer[a] += x
				g.ng[a]++
			} else {
				g.others[a] += x
				g.no[a]++
			}
		}
	}
	// In a fixed order, so that sums come out the same each time.
	ids := sortedKeys(byPlayer)
	changes, profiles := make([]*agg, len(ids)), make([][TraitCount]float64, len(ids))
	for i, id := range ids {
		changes[i], profiles[i] = byPlayer[id], traits[id]
	}
	best := ""
	var x, y []float64
	for _, a := range d.Attributes {
		for _, name := range d.Traits {
			x, y = x[:0], y[:0]
			k := traitIndex(name)
			for i, g := range changes {
				tr := profiles[i][k]
				if g.ng[a] == 0 || g.no[a] == 0 || !finite(tr) {
					continue
				}
				x = append(x, g.others[a]/g.no[a]-g.gamer[a]/g.ng[a])
				y = append(y, tr)
			}
			if r := correlation(x, y); len(x) >= 10 && r*r > out.Value {
				out.Value, best = r*r, a.Name()+" by "+name
			}
		}
	}
	out.Fired = out.Value > out.Threshold
	out.Text = "builds were tried across all kinds of players"
	if best != "" {
		out.Text = fmt.Sprintf("the largest is %s: where builds are only ever chosen for one kind of player, what the build does and whom it "+
			"was given to cannot be told apart outside that kind", best)
	}
	return out
}

func correlation(x, y []float64) float64 {
	n := float64(len(x))
	if n < 3 {
		return 0
	}
	var mx, my, xx, yy, xy float64
	for i := range x {
		mx += x[i] / n
		my += y[i] / n
	}
	for i := range x {
		xx += (x[i] - mx) * (x[i] - mx)
		yy += (y[i] - my) * (y[i] - my)
		xy += (x[i] - mx) * (y[i] - my)
	}
	if xx <= 0 || yy <= 0 {
		return 0
	}
	return xy / math.Sqrt(xx*yy)
}

// exclusion: are shots left out more often with one kind of build?
func exclusion(trials []Trial) Diagnostic {
	var out, all [2]float64
	for i := range trials {
		s := &trials[i].Shots
		k := 0
		if trials[i].Gamer {
			k = 1
		}
		out[k] += float64(s.Excluded)
		all[k] += float64(s.Excluded + s.N)
	}
	d := Diagnostic{Code: "exclusion", Title: "exclusions with new builds less those with the incumbent", Threshold: maxExclusionGap,
		Text: "too few shots for a comparison"}
	if all[0] == 0 || all[1] == 0 {
		return d
	}
	r0, r1 := out[0]/all[0], out[1]/all[1]
	pooled := (out[0] + out[1]) / (all[0] + all[1])
	d.Value = r0 - r1
	se := math.Sqrt(pooled * (1 - pooled) * (1/all[0] + 1/all[1]))
	d.Fired = se > 0 && math.Abs(d.Value) > d.Threshold && math.Abs(d.Value) > 3*se
	d.Text = fmt.Sprintf("%.1f %% of shots were left out with new builds, %.1f %% with the incumbent: leaving out more of one side's bad "+
		"shots makes it look tighter; compare the answer with and without exclusions", 100*r0, 100*r1)
	return d
}

// adrift: trials after an instruction that the incumbent was not hit again for.
func adrift(trials []Trial) Diagnostic {
	gamer := map[levelKey]bool{}
	for i := range trials {
		if t := &trials[i]; t.Instruction != "" {
			gamer[levelOf(t)] = false
		}
	}
	for i := range trials {
		if t := &trials[i]; t.Gamer && len(gamer) > 0 {
			if _, asked := gamer[levelOf(t)]; asked {
				gamer[levelOf(t)] = true
			}
		}
	}
	n, bad := 0.0, 0.0
	for i := range trials {
		t := &trials[i]
		if t.Instruction == "" {
			continue
		}
		n++
		if !gamer[levelOf(t)] {
			bad++
		}
	}
	share := bad / math.Max(n, 1)
	return Diagnostic{"instruction", "trials under an instruction without the incumbent", share, maxAdriftShare,
		n > 0 && share > maxAdriftShare,
		fmt.Sprintf("%.0f of %.0f trials under an instruction have no incumbent beside them: club and swing changed together, and only what "+
			"was hit under the same instruction is compared", bad, n)}
}
