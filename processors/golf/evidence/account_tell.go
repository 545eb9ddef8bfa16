package evidence

import (
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit/table"
)

// Tell tells of a comparison and of what to hit next.
func Tell(r Report, plan Plan) Account {
	out := Account{
		Category: string(r.Category), Alpha: r.Alpha, OrderKnown: r.Order.Known, Confounded: r.Order.Confounded, Done: plan.Done,
		Strokes:  r.Strokes,
		Outcomes: []accountOutcome{}, LeftOut: []accountLeft{}, Doubts: append([]string{}, r.Doubts...), Next: []accountBlock{},
		Buys: []accountBuy{}, Rejected: []table.Left{},
	}
	for _, o := range r.Outcomes {
		out.Outcomes = append(out.Outcomes, tellOutcome(o))
	}
	if s := r.Spread; s != nil {
		out.DeltaSpread, out.DeltaVar, out.F, out.P = &s.Delta, &s.Variance, &s.F, &s.P
	}
	if t := r.Trade; t != nil {
		out.Trade = &accountTrade{t.Statement, t.CarryChange, t.ProbLonger, t.WidthBaseline, t.WidthChange, t.ProbWider}
	}
	for _, l := range r.Order.Left {
		out.LeftOut = append(out.LeftOut, accountLeft(l))
	}
	for _, b := range plan.Blocks {
		out.Next = append(out.Next, accountBlock(b))
	}
	for _, b := range plan.Buys {
		out.Buys = append(out.Buys, accountBuy{b.Build, string(b.Outcome), b.Prob})
	}
	return out
}

func tellOutcome(o Statement) accountOutcome {
	out := accountOutcome{
		Name: string(o.Name), Unit: o.Unit, NBaseline: o.NBaseline, NCandidate: o.NCandidate, Better: string(o.Goal.Way), Assumed: o.Goal.Assumed,
		Margin: o.Margin, Prior: accountPrior{Mean: o.Prior.Mean, SD: o.Prior.SD, Source: o.Prior.Source, Doubt: o.Prior.Doubt,
			Large: o.Prior.Large, LargeSD: o.Prior.LargeSD},
		Verdict: string(o.Verdict), More: o.More, Why: o.Why,
	}
	if o.Goal.Way == glossary.Toward {
		out.Target = &o.Goal.Target
	}
	if o.NotYet {
		return out
	}
	if a := o.Against; a.Asked {
		out.Prior.Held, out.Prior.Surprise, out.Prior.Disagrees = &a.Held, &a.Surprise, a.Disagrees
	}
	out.Baseline, out.Candidate, out.Estimate = &o.Baseline, &o.Candidate, &o.Estimate
	out.Change, out.Low, out.High = &o.Change, &o.Low, &o.High
	out.ProbBetter, out.ProbSame, out.EValue = &o.ProbBetter, &o.ProbSame, &o.EValue
	count := func(n int) *int {
		if n < 0 {
			return nil
		}
		return &n
	}
	out.ShotsNeeded = &accountNeeded{count(o.Needed.P50), count(o.Needed.P90)}
	return out
}
