package enquiry

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"fairlead/processors/golf/fleet"
)

// through asks on which way each step works: how much of what it does to a spread goes
// through the strike, the speed and the delivery, and how much is left.
func through(ctx context.Context, d *desk, t *Table) error {
	trials, err := d.trials(ctx, t, false)
	if err != nil {
		return err
	}
	p, err := fleet.ThroughWays(ctx, trials, d.question(trials))
	if err != nil {
		return err
	}
	s := d.shown()
	t.Trials = p.Trials
	t.Columns = []Column{{"step", "one step", "", Text}, {"way", "goes through", "", Text}, {"change", "change", s.unit, Change},
		{"ci_low", "95 % from", s.unit, Change}, {"ci_high", "to", s.unit, Change}, {"share", "share of the whole", "", Share},
		{"share_low", "95 % from", "", Share}, {"share_high", "to", "", Share}, {"players", "players", "", Count}}
	t.Plot = &Plot{Group: "step", Label: "way", Value: "change", Low: "ci_low", High: "ci_high", Unit: s.unit, Better: s.o.Better,
		Margin: s.margin()}
	told := slices.Clone(p.Through)
	slices.SortStableFunc(told, func(a, b fleet.Through) int {
		return cmp.Or(surely(b.Whole)-surely(a.Whole), cmp.Compare(math.Abs(b.Whole.Change), math.Abs(a.Whole.Change)))
	})
	for _, x := range told {
		add := func(way string, part fleet.Part) {
			t.Add(T(x.Step), T(way), N(s.of(part.Change)), N(s.of(part.Low)), N(s.of(part.High)), known(part.Share), known(part.ShareLow),
				known(part.ShareHigh), C(x.Players))
		}
		add("the whole", x.Whole)
		for _, way := range p.Known {
			add(way, x.Ways[way])
		}
		add("left", x.Left)
		if surely(x.Whole) == 0 {
			continue
		}
		var shares []string
		for _, way := range p.Known {
			shares = append(shares, fmt.Sprintf("%s of that goes through the %s", shareOf(x.Ways[way]), way))
		}
		t.say("%s is %s on average (%s): %s; %s is left.", upper(x.Step), s.does(x.Whole.Change), s.interval(x.Whole.Low, x.Whole.High),
			strings.Join(shares, ", "), shareOf(x.Left))
	}
	if len(t.Said) == 0 {
		t.say("No step surely does anything to %s in the trials that measure what lies on the way: there is nothing to take apart.",
			strings.ToLower(s.o.Title))
	}
	t.say("That a way is to blame is an assumption: no lot was cast over where the ball is struck. Whoever has a bad minute strikes worse " +
		"and aims worse, and then the strike gets the blame for both; a share that decides about money wants a trial of its own.")
	for _, n := range p.Notes {
		t.note("%s", n)
	}
	t.note("a step is the mean one of those that were tried, up and down; ways that go against each other have shares below 0 or above 100 %%")
	return nil
}

// surely is 1 where a change is none by chance, else 0.
func surely(p fleet.Part) int {
	if p.Low > 0 || p.High < 0 {
		return 1
	}
	return 0
}

func known(x *float64) Cell {
	if x == nil {
		return N(math.NaN())
	}
	return N(*x)
}

// shareOf says a share with its interval: 70 % (41 to 96 %).
func shareOf(p fleet.Part) string {
	if p.Share == nil {
		return "an unknown share"
	}
	return strings.ReplaceAll(fmt.Sprintf("%.0f %% (%.0f to %.0f %%)", 100**p.Share, 100**p.ShareLow, 100**p.ShareHigh), "-", "−")
}
