package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/draw"
	pages "fairlead/dashboards/fleet"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
)

// fleetAsk is what the questions to the stored fleet have in common.
type fleetAsk struct {
	dsn, svg            string
	q                   answers.Question
	bands               []string
	level               float64 // of the intervals; 0: the usual
	fresh, again, quiet bool
	asCSV               bool
}

// from adds the flags that say which store, and how the answer is told.
func (a *fleetAsk) from(c *cobra.Command) {
	frame.WithStoreAt(c, &a.dsn)
	f := c.Flags()
	f.BoolVar(&a.fresh, "fresh", false, "look for trials that came since, and ask of them too, rather than the answer that stands")
	f.Bool("as-of-last-snapshot", false, "")
	_ = f.MarkDeprecated("as-of-last-snapshot", "it is what is done unless --fresh is given") // the flag is there
	f.BoolVar(&a.quiet, "quiet", false, "no progress on standard error")
	f.Bool("json", false, "print JSON")
	f.BoolVar(&a.asCSV, "csv", false, "print CSV")
}

// where adds the flags that say which trials.
func (a *fleetAsk) where(c *cobra.Command) {
	a.from(c)
	f := c.Flags()
	f.StringVar(&a.q.Filter.Category, "category", "driver", strings.Join(glossary.AirborneNames(), ", "))
	f.StringSliceVar(&a.q.Filter.Studios, "studio", nil, "only these studios")
	f.StringVar(&a.q.Filter.From, "from", "", "first `day` of the trials, as 2026-01-31")
	f.StringVar(&a.q.Filter.To, "to", "", "last `day` of the trials")
	f.StringArrayVar(&a.bands, "band", nil, "only players with this profile, as speed_mps=40..45 or attack_deg=..0")
	f.StringSliceVar(&a.q.Filter.Builds, "build", nil, "only sessions that hit one of these builds (keys)")
}

// model adds the flags that say what is asked, and under which model.
func (a *fleetAsk) model(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&a.q.Outcome, "outcome", "direction", strings.Join(answers.OutcomeNames(), ", "))
	f.StringSliceVar(&a.q.Attributes, "attributes", nil, "only these attributes (default: all that can be told apart)")
	f.StringSliceVar(&a.q.Traits, "traits", nil, "these traits of the swing (default: the six of the standard model)")
	f.BoolVar(&a.q.NoTraits, "no-traits", false, "leave the swing out")
	f.BoolVar(&a.q.NoCurvature, "no-curvature", false, "length, loft and lie have no optimum")
	f.BoolVar(&a.q.AsMeasured, "as-measured", false, "leave mishits, devices' noise and what devices read off as they are")
	f.BoolVar(&a.q.NoOrder, "no-order", false, "leave warm-up, fatigue and swaps out")
	f.BoolVar(&a.q.NoSlopes, "no-slopes", false, "players do not differ beyond their profile")
	f.BoolVar(&a.q.FullCovariance, "correlated-slopes", false, "players' own slopes may be correlated")
	f.BoolVar(&a.q.Normal, "normal", false, "normal intervals instead of t")
	f.Float64Var(&a.level, "level", usualLevel, "level of the intervals")
	f.BoolVar(&a.again, "again", false, "compute anew what is kept already")
}

// check completes the question and judges it, before a store is opened.
func (a *fleetAsk) check(c *cobra.Command) error {
	a.q.Filter.Bands = nil
	for _, text := range a.bands {
		b, err := answers.ParseBand(text)
		if err != nil {
			return frame.Use(err)
		}
		a.q.Filter.Bands = append(a.q.Filter.Bands, b)
	}
	if a.level != 0 && a.level != usualLevel {
		a.q.Level = a.level
	}
	if err := a.q.Check(); err != nil {
		return frame.Use(err)
	}
	if frame.WantsJSON(c) && a.asCSV {
		return frame.Use(errors.New("--json and --csv exclude each other"))
	}
	return nil
}

// usualLevel of intervals is not part of a question, so that it is the same one.
const usualLevel = 0.95

func (a *fleetAsk) asking(c *cobra.Command) answers.Asking {
	how := answers.Asking{Again: a.again, Standing: !a.fresh && !a.again}
	if !a.quiet && !frame.WantsJSON(c) && !a.asCSV {
		how.Progress = func(step string) { fmt.Fprintln(c.ErrOrStderr(), step) }
	}
	return how
}

// asks lets a command ask the store's fleet, once the question and what else was
// given are right.
func (a *fleetAsk) asks(c *cobra.Command, right func(args []string) error,
	do func(ctx context.Context, f *answers.Fleet, args []string) error) *cobra.Command {
	c.RunE = func(c *cobra.Command, args []string) error {
		if err := a.check(c); err != nil {
			return err
		}
		if right != nil {
			if err := right(args); err != nil {
				return frame.Use(err)
			}
		}
		s, err := frame.StoreAt(c, a.dsn)
		if err != nil {
			return err
		}
		defer s.Close()
		if err := s.Migrate(c.Context()); err != nil {
			return err
		}
		return do(c.Context(), answers.New(s, answers.Options{}), args)
	}
	return c
}

// drawTo writes a picture, where there is one, to the file that --svg names.
func (a *fleetAsk) drawTo(p *draw.Picture) error {
	if p == nil {
		return nil
	}
	return frame.Picture(a.svg, func() *draw.Picture { return p })
}

// tell writes an answer in the form that was asked for.
func (a *fleetAsk) tell(c *cobra.Command, t pages.Told) error {
	if a.asCSV {
		return t.WriteCSV(c.OutOrStdout())
	}
	return frame.Tell(c, t, t)
}
