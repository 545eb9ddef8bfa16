package dispersion

import "fairlead/ingest/contract/glossary"

// Brief is Summarise without what takes long: no odds of misses and targets,
// no worst tenth, no robust estimate and no suspects (all zero). A live page
// shows it at once and fills in the rest when the shots leave time for it.
func Brief(category glossary.Category, shots []Shot, aim Aim) (Summary, error) {
	if _, err := glossary.ParseCategory(string(category)); err != nil {
		return Summary{}, err
	}
	if !finite(aim.Carry) || !finite(aim.Offline) || aim.Carry < 0 {
		return Summary{}, ErrNotFinite
	}
	for i, s := range shots {
		if err := s.Check(i); err != nil {
			return Summary{}, err
		}
	}
	set := settings{p: 0.95, level: 0.95}
	out := Summary{Category: category, N: len(shots), Primary: category.Judged(), P: set.p, Level: set.level, Aim: aim}
	var err error
	if out.Metres, err = NewScatter(Metres(shots)); err != nil {
		return Summary{}, err
	}
	if out.Relative, err = NewScatter(Relative(shots)); err != nil {
		return Summary{}, err
	}
	out.spreads(set)
	if out.Aim.Carry == 0 {
		out.Aim.Carry = out.Metres.Mean[0]
		out.CarryFromAim = without(out.N, "no distance was aimed at")
	} else {
		out.CarryFromAim = shifted(out.Carry.Mean, aim.Carry)
	}
	out.RightOfAim = shifted(out.Offline.Mean, aim.Offline)
	return out, nil
}
