package answers

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/processors/hub/group"
	"fairlead/processors/hub/store"
)

// FetchOptions say how a studio gets its head office's answers.
type FetchOptions struct {
	Studio string
	Store  *store.Store // the studio's own
	Conn   *nats.Conn   // to the head office's broker
	// Signed names the authority that signed a text; an error: none that is trusted did.
	// nil: the way to the head office is in clear, and whoever answers is believed.
	Signed func(text, sign []byte) (string, error)
	Now    func() time.Time // the clock; nil: time.Now
	Every  time.Duration    // how often it is asked; 0: each ten minutes
	Logger *slog.Logger
}

// askOffice is how long the head office may take to answer.
const askOffice = 20 * time.Second

// Fetch keeps the studio's copy of its head office's answers until ctx ends. What it
// has is used on while the head office can't be reached.
func Fetch(ctx context.Context, o FetchOptions) {
	f := New(o.Store, Options{Logger: o.Logger, Now: o.Now})
	if o.Every == 0 {
		o.Every = 10 * time.Minute
	}
	said := ""
	for {
		a, err := f.asked(ctx)
		if err == nil {
			a = f.fetch(ctx, o, a)
			if ctx.Err() == nil {
				err = f.keepAsked(ctx, a)
			}
		}
		if ctx.Err() != nil {
			return
		}
		if err != nil {
			a.Trouble = err.Error()
		}
		if text := fmt.Sprint(a.Trouble, a.Refused); text != said && (a.Trouble != "" || len(a.Refused) > 0) {
			f.log.Warn("not all answers of the head office are had; what is here is used", "trouble", a.Trouble, "refused", a.Refused)
			said = text
		}
		wait := o.Every
		if a.Trouble != "" {
			wait = min(wait, time.Minute)
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(wait):
		}
	}
}

// fetch asks once, and takes what is not here yet.
func (f *Fleet) fetch(ctx context.Context, o FetchOptions, before OfficeAsked) OfficeAsked {
	a := OfficeAsked{At: f.now().UTC(), Heard: before.Heard, Refused: before.Refused}
	have, err := f.havePriors(ctx)
	if err != nil {
		a.Trouble = err.Error()
		return a
	}
	offers, err := askOfficeFor[[]Offer](ctx, o, group.AskPriors, "")
	if err != nil {
		a.Trouble = err.Error()
		return a
	}
	a.Heard, a.Refused = f.now().UTC(), nil
	for _, offer := range offers {
		if have[offer.ID] {
			continue
		}
		sealed, err := askOfficeFor[Sealed](ctx, o, group.AskPrior, offer.ID)
		if err != nil {
			a.Trouble = err.Error()
			return a
		}
		err = f.take(ctx, o, offer, sealed)
		var unfit *UnfitError
		switch {
		case errors.As(err, &unfit):
			if !slices.Contains(a.Refused, unfit.Error()) {
				a.Refused = append(a.Refused, unfit.Error())
			}
		case err != nil:
			a.Trouble = err.Error()
			return a
		}
	}
	return a
}

func askOfficeFor[T any](ctx context.Context, o FetchOptions, what, name string) (T, error) {
	ctx, cancel := context.WithTimeout(ctx, askOffice)
	defer cancel()
	return group.AskFor[T](ctx, o.Conn, o.Studio, what, name)
}

// take keeps an answer, or refuses it with an *UnfitError.
func (f *Fleet) take(ctx context.Context, o FetchOptions, offer Offer, sealed Sealed) error {
	signed := ""
	if o.Signed != nil {
		var err error
		if signed, err = o.Signed(sealed.Text, sealed.Sign); err != nil {
			return &UnfitError{fmt.Sprintf("an answer in the head office's name is not believed (%v)", err),
				"if the head office has a new authority, bring the key's file over from it anew"}
		}
	}
	s, err := readSent(sealed.Text)
	if err != nil {
		return err
	}
	if s.Answer.ID != offer.ID {
		return &UnfitError{fmt.Sprintf("the head office gave answer %s for %s", s.Answer.ID, offer.ID), sameProgram}
	}
	return f.keepPrior(ctx, s, signed)
}
