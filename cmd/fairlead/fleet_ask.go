package main

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
	"fairlead/processors/hub/store"
)

// fleetAsk is what the questions to the stored fleet have in common.
type fleetAsk struct {
	dsn                            string
	outcome                        string
	filter                         answers.Filter
	bands                          []string
	attributes, traits             []string
	noTraits, noCurvature, noOrder bool
	noSlopes, full, normal         bool
	level                          float64
	stale, again, quiet            bool
	asJSON, asCSV, imperial        bool
	svg                            string
}

// where adds the flags that say which store and which trials.
func (a *fleetAsk) where(c *cobra.Command) {
	withConfig(c)
	f := c.Flags()
	f.StringVar(&a.dsn, "clickhouse", os.Getenv("FAIRLEAD_CLICKHOUSE"), "`address` of the store instead of the configuration's (default: $FAIRLEAD_CLICKHOUSE)")
	f.StringVar(&a.filter.Category, "category", "driver", strings.Join(glossary.AirborneNames(), ", "))
	f.StringSliceVar(&a.filter.Studios, "studio", nil, "only these studios")
	f.StringVar(&a.filter.From, "from", "", "first `day` of the trials, as 2026-01-31")
	f.StringVar(&a.filter.To, "to", "", "last `day` of the trials")
	f.StringArrayVar(&a.bands, "band", nil, "only players with this profile, as speed_mps=40..45 or attack_deg=..0")
	f.StringSliceVar(&a.filter.Builds, "build", nil, "only sessions that hit one of these builds (keys)")
	f.BoolVar(&a.stale, "as-of-last-snapshot", false, "do not look for trials that came since the last snapshot")
	f.BoolVar(&a.quiet, "quiet", false, "no progress on standard error")
	f.BoolVar(&a.asJSON, "json", false, "print JSON")
	f.BoolVar(&a.asCSV, "csv", false, "print CSV")
}

// model adds the flags that say what is asked, and under which model.
func (a *fleetAsk) model(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&a.outcome, "outcome", "direction", strings.Join(answers.OutcomeNames(), ", "))
	f.StringSliceVar(&a.attributes, "attributes", nil, "only these attributes (default: all that can be told apart)")
	f.StringSliceVar(&a.traits, "traits", nil, "these traits of the swing (default: the six of the standard model)")
	f.BoolVar(&a.noTraits, "no-traits", false, "leave the swing out")
	f.BoolVar(&a.noCurvature, "no-curvature", false, "length, loft and lie have no optimum")
	f.BoolVar(&a.noOrder, "no-order", false, "leave warm-up, fatigue and swaps out")
	f.BoolVar(&a.noSlopes, "no-slopes", false, "players do not differ beyond their profile")
	f.BoolVar(&a.full, "correlated-slopes", false, "players' own slopes may be correlated")
	f.BoolVar(&a.normal, "normal", false, "normal intervals instead of t")
	f.Float64Var(&a.level, "level", 0.95, "level of the intervals")
	f.BoolVar(&a.again, "again", false, "compute anew what is kept already")
}

func (a *fleetAsk) question() (answers.Question, error) {
	a.filter.Bands = nil
	for _, text := range a.bands {
		b, err := answers.ParseBand(text)
		if err != nil {
			return answers.Question{}, &usageError{err}
		}
		a.filter.Bands = append(a.filter.Bands, b)
	}
	q := answers.Question{
		Outcome: a.outcome, Filter: a.filter, Attributes: a.attributes, Traits: a.traits, NoTraits: a.noTraits, NoCurvature: a.noCurvature,
		NoOrder: a.noOrder, NoSlopes: a.noSlopes, FullCovariance: a.full, Normal: a.normal,
	}
	if a.level != 0.95 {
		q.Level = a.level
	}
	if err := q.Check(); err != nil {
		return q, &usageError{err}
	}
	if a.asJSON && a.asCSV {
		return q, &usageError{errors.New("--json and --csv exclude each other")}
	}
	return q, nil
}

// open connects to the fleet's store.
func (a *fleetAsk) open(c *cobra.Command) (*answers.Fleet, func() error, error) {
	var s *store.Store
	var err error
	if a.dsn != "" {
		if s, err = store.Open(a.dsn); err != nil {
			return nil, nil, &usageError{err}
		}
	} else {
		config, err := loadConfig(c)
		if err != nil {
			return nil, nil, err
		}
		if s, err = config.OpenStore(); err != nil {
			return nil, nil, err
		}
	}
	if err := studio.Answering(c.Context(), s); err != nil {
		return nil, nil, errors.Join(err, s.Close())
	}
	if err := s.Migrate(c.Context()); err != nil {
		return nil, nil, errors.Join(err, s.Close())
	}
	return answers.New(s, answers.Options{}), s.Close, nil
}

func (a *fleetAsk) asking(c *cobra.Command) answers.Asking {
	how := answers.Asking{Again: a.again, Stale: a.stale}
	if !a.quiet && !a.asJSON && !a.asCSV {
		how.Progress = func(step string) { fmt.Fprintln(c.ErrOrStderr(), step) }
	}
	return how
}

// with runs a question against the store and turns wrong questions into wrong use.
func (a *fleetAsk) with(c *cobra.Command, do func(ctx context.Context, f *answers.Fleet) error) (err error) {
	f, end, err := a.open(c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, end()) }()
	err = do(c.Context(), f)
	var filter *answers.FilterError
	var build *answers.UnknownBuildError
	if errors.As(err, &filter) || errors.As(err, &build) {
		return &usageError{err}
	}
	return err
}

// drawTo writes a picture to the file that --svg names.
func (a *fleetAsk) drawTo(draw func(io.Writer) error) error {
	if a.svg == "" {
		return nil
	}
	f, err := os.Create(a.svg)
	if err != nil {
		return fmt.Errorf("picture: %w", err)
	}
	return errors.Join(draw(f), f.Close())
}

// number writes a number for CSV; nil is an empty cell.
func number(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'g', -1, 64)
}

// writeCSV writes rows under a header.
func writeCSV(w io.Writer, head []string, rows [][]string) error {
	out := csv.NewWriter(w)
	if err := out.Write(head); err != nil {
		return err
	}
	if err := out.WriteAll(rows); err != nil {
		return err
	}
	return out.Error()
}
