package visit

import (
	"fmt"
	"maps"
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/gauge"
)

// BayCheck is a check of a bay, with the id and time of its event.
type BayCheck struct {
	Event string
	At    int64
	Bay   string
	Given *event.BayChecked
}

// ReferencePlayer is whose session a check of a bay is: nobody's.
const ReferencePlayer = "p-reference"

// A check holds what its shots said when it was judged, so that later checks are
// held against it, and what of it is the bay's own bias, for whoever compares bays.
// It is of the session in which the reference club was hit, and of no player.
var _ = kind(Kind{
	Name: "bay_checked", Bears: OnPages, Keeps: []string{"judgement", "fields", "device", "club_id", "ball"},
	check: func(c *event.Check, ev *event.VisitEvent) {
		b := ev.GetBayChecked()
		needSession(c, ev)
		c.ID("trial", b.GetTrial(), false)
		c.Choice("judgement", int32(b.GetJudgement()), event.CheckJudgement_name)
		c.Text("device", b.GetDevice(), event.LongestLabel)
		c.ID("club_id", b.GetClubId(), true)
		c.Text("ball", b.GetBall(), event.LongestLabel)
		if n := len(b.GetFields()); n == 0 || n > 40 {
			c.Add("fields", n, "not 1 to 40 figures", "hit ten balls with the reference club first")
		}
		for i, f := range b.GetFields() {
			at := fmt.Sprintf("fields[%d].", i)
			if !slices.Contains(gauge.Figures(), f.GetField()) {
				c.Add(at+"field", f.GetField(), "is no figure that bays are checked by", "update this program")
			}
			c.Number(at+"shots", float64(f.GetShots()), 1, 1000, "shots")
			c.Number(at+"mean", f.GetMean(), -huge, huge, "")
			c.Number(at+"sd", f.GetSd(), 0, huge, "")
			c.Number(at+"bias", f.GetBias(), -huge, huge, "")
			c.Number(at+"bias_sd", f.GetBiasSd(), 0, huge, "")
			c.Choice(at+"judgement", int32(f.GetJudgement()), event.CheckJudgement_name)
		}
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		f.t.Checked = append(f.t.Checked, BayCheck{ev.Id, ev.EffectiveUnixNs, ev.Bay, ev.GetBayChecked()})
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		return "bay checked: " + CheckWord(ev.GetBayChecked().GetJudgement())
	},
})

// CheckWord is what is to be done about a bay, for people.
func CheckWord(j event.CheckJudgement) string {
	switch j {
	case event.CheckJudgement_CHECK_GO:
		return "go"
	case event.CheckJudgement_CHECK_LOOK:
		return "look"
	case event.CheckJudgement_CHECK_STOP:
		return "stop"
	}
	return "its past begins"
}

// JudgeBay makes the check of a bay from what was read now, and the checks of all
// bays of before, of the same club and ball. Checks of the last half day are
// today's.
func JudgeBay(bay string, at int64, now *event.BayChecked, read gauge.Check, all []BayCheck) *event.BayChecked {
	const today = int64(12 * 3600e9)
	var past []gauge.Check
	others := map[string]*gauge.Bay{}
	slices.SortStableFunc(all, func(a, b BayCheck) int { return int(min(max(a.At-b.At, -1), 1)) })
	for _, c := range all {
		if c.Given.GetClubId() != now.GetClubId() || c.Given.GetBall() != now.GetBall() || c.At > at ||
			c.Bay == bay && c.Given.GetTrial() == now.GetTrial() {
			continue
		}
		if c.Bay == bay {
			if c.Given.GetDevice() == now.GetDevice() {
				past = append(past, readingOf(c.Given))
			}
			continue
		}
		if others[c.Bay] == nil {
			others[c.Bay] = &gauge.Bay{}
		}
		if o := others[c.Bay]; at-c.At < today {
			o.Today = readingOf(c.Given)
		} else {
			o.Past = append(o.Past, readingOf(c.Given))
		}
	}
	var list []gauge.Bay
	for _, name := range slices.Sorted(maps.Keys(others)) {
		list = append(list, *others[name])
	}
	findings := gauge.Judge(read, past, list)
	now.Judgement, now.Fields = event.CheckJudgement(gauge.Worst(findings)), nil
	for _, f := range findings {
		now.Fields = append(now.Fields, &event.CheckedField{Field: f.Figure, Shots: uint32(f.N), Mean: f.Mean, Sd: f.SD, Bias: f.Bias,
			BiasSd: f.BiasSD, Judgement: event.CheckJudgement(f.Word)})
	}
	return now
}

func readingOf(b *event.BayChecked) gauge.Check {
	out := gauge.Check{}
	for _, f := range b.GetFields() {
		out[f.GetField()] = gauge.Reading{N: int(f.GetShots()), Mean: f.GetMean(), SD: f.GetSd()}
	}
	return out
}
