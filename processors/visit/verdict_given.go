package visit

import (
	"fmt"

	"fairlead/ingest/contract/event"
)

var _ = kind(Kind{
	Name: "verdict_given", Bears: OnRows, Keeps: []string{"kind"}, needs: needsLatest,
	Acts: []Act{{
		Name: "verdict", Short: "Say what was decided", Example: "verdict --bay north build --trial t-0f3a --baseline t-0a11",
		Fields: []Field{
			{Name: "verdict", Arg: 1, Choices: words("VERDICT_", event.VerdictKind_name)[1:], Help: "what was decided"},
			{Name: "trial", Help: "the chosen trial; what is to be expected of its build now is kept with the verdict"},
			{Name: "baseline", Help: "the trial it was compared with (default: the incumbent's)"},
			{Name: "words", Help: "in words; needed for setup and refer"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			v := &event.VerdictGiven{Kind: event.VerdictKind(r.choice("verdict", "VERDICT_", event.VerdictKind_value, -1)),
				Trial: r.Text("trial"), Baseline: r.Text("baseline"), Words: r.Text("words")}
			v.Build = r.buildOf("trial", v.Trial)
			ev.Body = &event.VisitEvent_VerdictGiven{VerdictGiven: v}
		},
	}},
	check: checkVerdict,
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		if s := f.sessionOf(ev); s != nil {
			s.Verdicts = append(s.Verdicts, Verdict{ev.Id, ev.EffectiveUnixNs, ev.Who, ev.GetVerdictGiven()})
		}
	},
	trial: func(ev *event.VisitEvent) string { return ev.GetVerdictGiven().GetTrial() },
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		if base := ev.GetVerdictGiven().GetBaseline(); base != "" && p.Timeline.Trial(base) == nil {
			return event.NewFault("baseline", base, "nobody started a trial of this id in bay "+p.Bay, "name a trial of the bay's page")
		}
		return nil
	},
	says: func(t *Teller, ev *event.VisitEvent) string {
		v := ev.GetVerdictGiven()
		text := "verdict: " + VerdictWord(v.GetKind())
		if known := t.Timeline.Trial(v.GetTrial()); known != nil {
			text += fmt.Sprintf(", trial %d", known.Number)
			if name := nonEmpty(v.GetBuild().GetName(), known.Build.GetName()); name != "" {
				text += " (" + name + ")"
			}
		}
		return text
	},
})

// VerdictWord is what was decided, for people.
func VerdictWord(k event.VerdictKind) string {
	switch k {
	case event.VerdictKind_VERDICT_BUILD:
		return "make this build"
	case event.VerdictKind_VERDICT_SETUP:
		return "set-up or swing, not the club"
	case event.VerdictKind_VERDICT_ADD_CLUB:
		return "add a club"
	case event.VerdictKind_VERDICT_DROP_CLUB:
		return "drop a club"
	case event.VerdictKind_VERDICT_KEEP_GAMER:
		return "keep the gamer"
	case event.VerdictKind_VERDICT_BALL:
		return "play this trial’s ball"
	case event.VerdictKind_VERDICT_REFER:
		return "refer to a qualified person"
	}
	return spaced(k.String(), "VERDICT_")
}

func checkVerdict(c *event.Check, ev *event.VisitEvent) {
	v := ev.GetVerdictGiven()
	needSession(c, ev)
	c.Choice("verdict", int32(v.GetKind()), event.VerdictKind_name)
	switch v.GetKind() {
	case event.VerdictKind_VERDICT_NONE:
		c.Add("verdict", "", "missing", "say what was decided")
	case event.VerdictKind_VERDICT_BUILD:
		if v.GetTrial() == "" && v.GetBuild() == nil {
			c.Add("build", "", "missing", "name the chosen trial, or give the build to make")
		}
	case event.VerdictKind_VERDICT_BALL:
		if v.GetTrial() == "" {
			c.Add("trial", "", "missing", "name the trial that was hit with the ball")
		}
	case event.VerdictKind_VERDICT_REFER, event.VerdictKind_VERDICT_SETUP:
		if v.GetWords() == "" {
			c.Add("words", "", "missing", "say what was advised, or to whom the player was sent")
		}
	}
	c.ID("trial", v.GetTrial(), true)
	c.ID("baseline", v.GetBaseline(), true)
	if v.GetTrial() != "" && v.GetTrial() == v.GetBaseline() {
		c.Add("baseline", v.GetBaseline(), "the chosen trial itself", "name the trial that it was compared with")
	}
	c.Text("words", v.GetWords(), event.LongestText)
	c.Build("build", v.GetBuild())
	for i, p := range v.GetPromises() {
		checkPromise(c, fmt.Sprintf("promises[%d].", i), p)
	}
}

func checkPromise(c *event.Check, at string, p *event.Promise) {
	c.ID(at+"outcome", p.GetOutcome(), false)
	before := len(c.Faults)
	c.Number(at+"change", p.GetChange(), -huge, huge, "")
	c.Number(at+"low", p.GetLow(), -huge, huge, "")
	c.Number(at+"high", p.GetHigh(), -huge, huge, "")
	c.Number(at+"probability_better", p.GetProbabilityBetter(), 0, 1, "")
	if before == len(c.Faults) && p.GetLow() > p.GetHigh() {
		c.Add(at+"low", p.GetLow(), fmt.Sprintf("above the upper end of %g", p.GetHigh()), "exchange the two")
	}
	if p.GetPrior() != nil {
		checkPrior(c, at+"prior.", p.GetPrior())
		c.Number(at+"prior_held", p.GetPriorHeld(), 0, 1, "")
	}
}
