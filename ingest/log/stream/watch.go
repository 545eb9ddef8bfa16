package stream

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/nats-io/nats-server/v2/server"
)

// keysEvery is how often the keyring is read. A key that was removed is cut off
// within a second, however busy the machine is.
const keysEvery = 250 * time.Millisecond

// WatchKeys applies changes of the keyring until ctx ends: a new key may
// connect, a removed one is cut off. What can't be read grants nothing.
func (b *Broker) WatchKeys(ctx context.Context) {
	if b.keyring == nil {
		return
	}
	tick := time.NewTicker(keysEvery)
	defer tick.Stop()
	said, again := "", time.Time{}
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		now := time.Now()
		b.measure(now)
		if now.Before(again) {
			continue
		}
		changed, err := b.applyKeys(now)
		var unapplied *notApplied
		if errors.As(err, &unapplied) {
			again = now.Add(5 * time.Second)
		}
		if text := fmt.Sprint(err); err != nil && text != said {
			b.log.Error("the keyring has keys that are cut off", "error", err)
			said = text
		} else if err == nil {
			said = ""
		}
		if changed {
			b.log.Info("keyring applied")
		}
	}
}

// measure looks at what bays have said, and says which are cut off for it.
func (b *Broker) measure(now time.Time) {
	places := map[string]Place{}
	for _, g := range b.granted {
		if g.metered() {
			places[g.account()] = g.place()
		}
	}
	stats, err := b.server.AccountStatz(nil)
	if err != nil {
		return // it never is
	}
	have := map[string]said{}
	for _, a := range stats.Accounts {
		have[a.Account] = said{a.Received.Msgs, a.Received.Bytes, a.Conns}
	}
	for _, f := range b.meter.look(now, have, places) {
		b.log.Error("a bay says too much and is cut off for a while; its journal keeps what it has", "bay", f.Place, "until", f.Until,
			"times", f.Times)
	}
}

// notApplied says that the server did not take new accounts.
type notApplied struct{ error }

// applyKeys brings the server's accounts to what the keyring says at a time.
func (b *Broker) applyKeys(now time.Time) (changed bool, err error) {
	grants, problem := b.keyring.Grants(now)
	b.granted = slices.Clone(grants)
	grants = b.meter.without(grants, now)
	b.known.set(grants)
	text := accounts(grants, "")
	if text == b.applied {
		return false, problem
	}
	// Twice: the server opens the doors of an account only when it knew the
	// account before the reload.
	for range 2 {
		next := b.options.Clone()
		if err := b.take(next, text); err != nil {
			return false, errors.Join(problem, &notApplied{err})
		}
		if err := b.server.ReloadOptions(next); err != nil {
			return false, errors.Join(problem, &notApplied{fmt.Errorf("keyring not applied: %w", err)})
		}
		b.options = next
	}
	b.applied = text
	return true, errors.Join(problem, b.refuse())
}

// accounts are those of the keyring now, and of grants that are in no file.
func (b *Broker) accounts(more ...Grant) (string, error) {
	grants, problem := b.keyring.Grants(time.Now())
	if len(grants) == 0 && problem == nil {
		problem = fmt.Errorf("no keys in %s: nobody can connect until `fairlead up` or `fairlead broker` makes them", b.keyring.Dir)
	}
	return accounts(append(grants, more...), ""), problem
}

// take has the server's options say what accounts there are.
func (b *Broker) take(o *server.Options, text string) error {
	read := &server.Options{}
	if err := read.ProcessConfigString(text); err != nil {
		return fmt.Errorf("accounts of the keyring: %w", err)
	}
	o.Accounts, o.Nkeys = read.Accounts, read.Nkeys
	return nil
}
