package studio

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"time"

	"fairlead/processors/hub/store"
)

// OpenStore connects to the store that the configuration names.
func (c *Config) OpenStore() (*store.Store, error) {
	dsn, err := c.StoreDSN()
	if err != nil {
		return nil, err
	}
	return store.Open(dsn)
}

// OpenForPages connects as the console, which may read and keep answers.
func (c *Config) OpenForPages() (*store.Store, error) {
	dsn, err := c.PagesDSN()
	if err != nil {
		return nil, err
	}
	return store.Open(dsn)
}

// Answering says whether a store answers, and what to try when it does not.
func Answering(ctx context.Context, s *store.Store) error {
	err := s.Ping(ctx)
	if errors.Is(err, store.ErrBusy) {
		return err
	}
	if err != nil {
		return fmt.Errorf("%w: is `fairlead up` (or the ClickHouse server) running?", err)
	}
	return nil
}

// OpenAt is OpenAnswering for the store at an address, unless that is empty.
func (c *Config) OpenAt(ctx context.Context, dsn string) (*store.Store, error) {
	if dsn == "" {
		return c.OpenAnswering(ctx)
	}
	s, err := store.Open(dsn)
	if err != nil {
		return nil, err
	}
	if err := Answering(ctx, s); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// OpenAnswering connects to the configuration's store, which has to answer.
func (c *Config) OpenAnswering(ctx context.Context) (*store.Store, error) {
	s, err := c.OpenStore()
	if err != nil {
		return nil, err
	}
	if err := Answering(ctx, s); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// ApplySchema brings the configuration's store up to date, and says so.
func (c *Config) ApplySchema(ctx context.Context, out io.Writer) error {
	s, err := c.OpenStore()
	if err != nil {
		return err
	}
	defer s.Close()
	if err := s.Migrate(ctx); err != nil {
		return err
	}
	_, err = fmt.Fprintln(out, "the schema is up to date")
	return err
}

// PlanSchema says what bringing the configuration's store up to date would do.
func (c *Config) PlanSchema(ctx context.Context, out io.Writer) error {
	s, err := c.OpenAnswering(ctx)
	if err != nil {
		return err
	}
	defer s.Close()
	at, pending, err := s.Plan(ctx)
	if err != nil {
		return err
	}
	if len(pending) == 0 {
		_, err = fmt.Fprintf(out, "the schema is at step %d, and so is this program: nothing is to be done\n", at)
		return err
	}
	fmt.Fprintf(out, "-- the schema is at step %d; `fairlead process` of this program takes these steps at its start.\n"+
		"-- `fairlead backup try` of this program tries them on a copy, and audits it.\n", at)
	for _, step := range pending {
		fmt.Fprintf(out, "\n-- %s\n", step.Name)
		for _, statement := range step.Statements {
			if _, err := fmt.Fprintf(out, "%s;\n", statement); err != nil {
				return err
			}
		}
	}
	return nil
}

// AwaitStore opens the store once its address is known: the token of the
// embedded engine appears with its first start.
func (c *Config) AwaitStore(ctx context.Context, log *slog.Logger) (*store.Store, error) {
	for said := false; ; said = true {
		s, err := c.OpenStore()
		if err == nil || !errors.Is(err, os.ErrNotExist) {
			return s, err
		}
		if !said {
			log.Info("waiting for the engine's first start", "error", err)
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(200 * time.Millisecond):
		}
	}
}
