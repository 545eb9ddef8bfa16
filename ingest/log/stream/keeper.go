package stream

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/nats-io/nkeys"
)

// A keeper makes the streams when the broker starts. Its key lives in this
// process's memory and until the streams are there: no key that is kept
// anywhere may change or take away a stream.
type keeper struct {
	grant Grant
	pair  nkeys.KeyPair
}

func newKeeper() (*keeper, error) {
	pair, err := nkeys.CreateUser()
	if err != nil {
		return nil, err
	}
	key, err := pair.PublicKey()
	if err != nil {
		return nil, err
	}
	return &keeper{Grant{Name: "keeper", Key: key, Role: RoleHub}, pair}, nil
}

// declare makes the streams over a connection that never leaves the process.
func (k *keeper) declare(s *server.Server, l Layout) error {
	nc, err := nats.Connect("", nats.InProcessServer(s), nats.Name("keeper"), nats.Timeout(10*time.Second),
		nats.Nkey(k.grant.Key, k.pair.Sign))
	if err != nil {
		return fmt.Errorf("make streams: %w", err)
	}
	defer nc.Close()
	js, err := jetstream.New(nc)
	if err != nil {
		return fmt.Errorf("make streams: %w", err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	return Declare(ctx, js, l)
}

// refuse takes the calls that could empty or take away a stream out of the
// log's interface, for every account and for what the log itself sends: a
// request that gets there by any way is answered with 'no responders'.
func (b *Broker) refuse() error {
	system := b.server.SystemAccount()
	for _, call := range append([]string{api("STREAM.UPDATE.*")}, forbidden...) {
		if err := system.AddMapping(call, refusedAs(call)); err != nil {
			return fmt.Errorf("close %s: %w", call, err)
		}
	}
	return nil
}

// adopt moves the streams of a broker of before there were accounts into the
// hub's account: one renaming, done whole or not at all.
func adopt(dir string) error {
	kept := filepath.Join(dir, server.JetStreamStoreDir)
	from, to := filepath.Join(kept, server.DEFAULT_GLOBAL_ACCOUNT), filepath.Join(kept, HubAccount)
	if _, err := os.Stat(from); errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if _, err := os.Stat(to); err == nil {
		return nil
	}
	if err := os.Rename(from, to); err != nil {
		return fmt.Errorf("move the streams into their account: %w", err)
	}
	folder, err := os.Open(kept)
	if err != nil {
		return err
	}
	defer folder.Close()
	return folder.Sync()
}
