package fleet

import (
	"context"
	"fmt"
	"math"
)

// Test says how certain the intervals and p-values are taken to be.
type Test int

const (
	// Normal uses the normal distribution, as if the variances were known.
	Normal Test = iota
	// KnappHartung uses t and the scale max(1, rᵀV⁻¹r/(k−p)), so that it is
	// never narrower than Normal (Knapp & Hartung, Stat. Med. 22:2693, 2003;
	// truncated as in Röver, Knapp & Friede, BMC Med. Res. Methodol. 15:99,
	// 2015). The degrees of freedom are k−p, or players−p when slopes vary by
	// player, because a new row of the same player brings no new slope.
	KnappHartung
)

// Options steer a fit; the zero value is a good choice.
type Options struct {
	Test Test
	// Level of the intervals; 0 means 0.95.
	Level float64
	// Workers; 0 means all cores.
	Workers int
	// Progress, if set, hears what the fit is doing. It is called from the
	// goroutine that called Fit.
	Progress func(stage string)
	// NoSubsample fits all rows from the first iteration on.
	NoSubsample bool
}

// Estimate is one fixed coefficient. PILow and PIHigh are the interval for the
// next player's own coefficient, present only where it varies by player.
type Estimate struct {
	Name      string   `json:"name"`
	Value     float64  `json:"estimate"`
	SE        float64  `json:"se"`
	CILow     float64  `json:"ci_low"`
	CIHigh    float64  `json:"ci_high"`
	PILow     *float64 `json:"pi_low"`
	PIHigh    *float64 `json:"pi_high"`
	P         float64  `json:"p"`
	DF        float64  `json:"df,omitempty"` // of this coefficient, where few levels of a crossing carry it
	Clustered float64  `json:"se_clustered"` // standard error with errors clustered by player
}

// RandomSD is the spread of one slope between players.
type RandomSD struct {
	Name string  `json:"name"`
	SD   float64 `json:"sd"`
}

// CrossedSD is the spread of a crossing's effects between its levels.
type CrossedSD struct {
	Name   string  `json:"name"`
	Levels int     `json:"levels"`
	SD     float64 `json:"sd"`
}

// Fit is the answer of the estimator. All values are in the units of the data.
type Fit struct {
	Terms     []Estimate  `json:"terms"`
	Tau2      float64     `json:"tau2"`
	Random    []RandomSD  `json:"random"`
	RandomCor [][]float64 `json:"random_cor"`
	Crossed   []CrossedSD `json:"crossed,omitempty"`
	// LogLik is the restricted log likelihood with the term ½ln|XᵀX| over all
	// columns, session levels included, as metafor reports it.
	LogLik float64 `json:"loglik"`
	// REML is −2 × the restricted log likelihood without that term, as lme4
	// reports it.
	REML       float64   `json:"reml"`
	K          int       `json:"k"`
	Players    int       `json:"players"`
	Sessions   int       `json:"sessions"`
	DF         float64   `json:"df,omitempty"` // degrees of freedom; 0 for Normal
	Scale      float64   `json:"scale"`        // what KnappHartung multiplied variances with
	Iterations int       `json:"iterations"`
	Warnings   []Warning `json:"warnings"`

	// Cov is the covariance of the coefficients, in the order of Terms, with
	// Scale in it. G is the covariance of the random slopes, in the order of
	// Model.Random.
	Cov [][]float64 `json:"-"`
	G   [][]float64 `json:"-"`

	work  *work
	final *solution
}

// Release lets go of the rows, as a stored fit has none: Own is no longer known.
func (f *Fit) Release() { f.work, f.final = nil, nil }

// Warning is something a reader must know beside the answer. Code is stable;
// Text is for people.
type Warning struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// MarshalText lets a warning stand as one string in JSON.
func (w Warning) MarshalText() ([]byte, error) { return []byte(w.Text), nil }

// UnmarshalText reads it back; the code is not part of the text.
func (w *Warning) UnmarshalText(b []byte) error {
	w.Text = string(b)
	return nil
}

// subsampleRows is up to how many rows a fit is iterated to the last digit and
// all sums are taken over all rows; firstRows are those a larger fit starts from.
const subsampleRows, firstRows = 150_000, 10_000

// Fit estimates the model. It returns a *ModelError when the data cannot
// answer what the model asks.
func (d *Data) Fit(ctx context.Context, o Options) (*Fit, error) {
	if o.Level == 0 {
		o.Level = 0.95
	}
	if !(o.Level > 0 && o.Level < 1) {
		return nil, fmt.Errorf("level %v: must lie between 0 and 1", o.Level)
	}
	say := o.Progress
	if say == nil {
		say = func(string) {}
	}
	if d.Rows() == 0 {
		return nil, &ModelError{Kind: NotEnough, Reason: "there are no rows", Try: "widen the filters"}
	}
	if len(d.Random) > 0 && d.Players() < 2 {
		return nil, &ModelError{Kind: NotEnough, Terms: d.randomNames(),
			Reason: fmt.Sprintf("slopes that vary by player need at least two players; the data hold one player, %s", d.ids[0]),
			Try:    "leave the random slopes out, or bring more players"}
	}
	say("reading columns")
	w, logDetX, err := d.prepare(ctx, o.Workers)
	if err != nil {
		return nil, err
	}
	q := len(d.Random)
	start := point{tau: math.Sqrt(max(1-d.meanVariance()/(w.sc.y*w.sc.y), 0.2) * 0.7), lower: make([]float64, q*q)}
	for i := 0; i < q; i++ {
		start.lower[i*q+i] = math.Sqrt(0.3 / float64(q))
	}
	tol, large := 1e-12, d.Rows() > subsampleRows
	if large {
		// A few thousandths of a standard error; of ever more rows the standard
		// error shrinks and the same digits do.
		tol = 2e-5 * max(1, float64(d.Rows())/1e6)
		w.share = d.Rows() / subsampleRows
	}
	// Few rows find the way, eight times as many the neighbourhood, and so on:
	// all rows are then looked at twice.
	first := 1
	for d.Rows()/(8*first) >= firstRows {
		first *= 8
	}
	for n := first; large && n > 1 && !o.NoSubsample; n /= 8 {
		if d.Players()/n <= 20*len(d.Terms) {
			continue
		}
		say(fmt.Sprintf("starting from one player in %d", n))
		sub := *w
		sub.oneIn, sub.share = n, max(w.share/n, 1)
		if s, err := sub.search(ctx, start, 1e-4, false); err == nil {
			start = s.at
		} else if ctx.Err() != nil {
			return nil, err
		}
	}
	total := 0
	if !large && d.Rows() > firstRows && !o.NoSubsample && w.independent() {
		// Nothing is gained from a share of these rows, but newton begins near.
		s, err := w.natural(ctx, start, 1e-4, false)
		if err != nil {
			return nil, err
		}
		start, total = s.at, s.iterations
	}
	var s *search
	for round := 0; round < 3; round++ {
		say("maximising the likelihood")
		if s, err = w.search(ctx, start, tol, large); err != nil {
			return nil, err
		}
		total += s.iterations
		resume, err := w.boundary(ctx, s, tol)
		if err != nil {
			return nil, err
		}
		if resume == nil {
			break
		}
		start = *resume
	}
	if s.at.tau == 0 && d.Variance == Estimated {
		return nil, &ModelError{Terms: []string{"y"}, Reason: "the residual has zero variance", Try: "leave out a random slope"}
	}
	say("standard errors")
	if !large || s.slope.meat == nil {
		// Of many rows the last gradient was taken so close to the end that it
		// serves; a pass over few costs nothing.
		if s.slope, err = w.gradient(ctx, s.solution, true); err != nil {
			return nil, err
		}
	}
	f := w.report(s, o, logDetX)
	f.Iterations = total
	if !f.finite() {
		return nil, errRange
	}
	return f, nil
}

// finite reports whether every number of the answer is one.
func (f *Fit) finite() bool {
	ok := finite(f.Tau2) && finite(f.LogLik) && finite(f.REML) && finite(f.Scale)
	for _, e := range f.Terms {
		ok = ok && finite(e.Value) && finite(e.SE) && e.SE > 0 && finite(e.CILow) && finite(e.CIHigh) && finite(e.P) && finite(e.Clustered)
		ok = ok && (e.PILow == nil || finite(*e.PILow) && finite(*e.PIHigh))
	}
	for i, r := range f.Random {
		ok = ok && finite(r.SD)
		for _, g := range f.G[i] {
			ok = ok && finite(g)
		}
	}
	return ok
}

func (d *Data) randomNames() []string {
	var n []string
	for _, c := range d.Random {
		n = append(n, d.Columns[c])
	}
	return n
}
