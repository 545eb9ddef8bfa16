package stream

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// Layout says how the streams are kept.
type Layout struct {
	// Replicas of every stream and bucket; 1 for one broker, 3 for a cluster.
	Replicas int
	// ShotsFor is how long the SHOTS stream keeps entries; no shorter than the
	// journals' retention, so that both can refill the store.
	ShotsFor time.Duration
	// SyncShots syncs each entry to disk before the broker acknowledges it.
	// Without it the broker writes behind: after a power cut it may have lost
	// the last entries, and the gap watch fetches them from the journals.
	// Measured on two cores: about twenty times fewer publishes a second.
	SyncShots bool
	// ShotsBytes bounds the SHOTS stream, and ShotsPerBay the entries that it
	// keeps of one bay, so that a bay that floods the log does not fill the disk
	// or push out the others. The oldest go first; the journals behind them keep
	// theirs, and the store has what was tagged. -1: no bound.
	ShotsBytes, ShotsPerBay int64
	// VisitsBytes bounds the VISITS stream. Nothing of it ever goes to make room, for
	// it is kept for ever: beyond the bound the log refuses what is new, which waits in
	// the journal of whoever entered it until the bound is raised. -1: no bound.
	VisitsBytes int64
}

// DefaultLayout is one broker, 120 days of shots, written behind, ten million a
// bay: 30,000 a day for nearly a year; and what some thirty million taps take.
func DefaultLayout() Layout {
	return Layout{Replicas: 1, ShotsFor: 120 * 24 * time.Hour, ShotsBytes: 64 << 30, ShotsPerBay: 10_000_000,
		VisitsBytes: 16 << 30}
}

// Declare creates or updates every stream and bucket; it may run at each start
// and by several processes at once.
func Declare(ctx context.Context, js jetstream.JetStream, l Layout) error {
	persist := jetstream.AsyncPersistMode
	if l.SyncShots || l.Replicas > 1 {
		persist = jetstream.DefaultPersistMode // replicas stand in for the disk, and the mode needs R1
	}
	for _, config := range []jetstream.StreamConfig{
		{
			Name: Shots, Subjects: []string{"shots.*.*"}, Description: "entries of the bays' journals",
			MaxAge: l.ShotsFor, Storage: jetstream.FileStorage, Replicas: l.Replicas, PersistMode: persist,
			Duplicates: 2 * time.Minute, MaxMsgSize: 256 << 10, DenyDelete: true, DenyPurge: true,
			MaxMsgsPerSubject: l.ShotsPerBay, MaxBytes: l.ShotsBytes, Discard: jetstream.DiscardOld,
		},
		{
			Name: Visits, Subjects: []string{"visits.*.*"}, Description: "what the fitter did and decided",
			Storage: jetstream.FileStorage, Replicas: l.Replicas, Duplicates: 2 * time.Minute, MaxMsgSize: 1 << 20,
			DenyDelete: true, DenyPurge: true, AllowDirect: true, MaxBytes: l.VisitsBytes, Discard: jetstream.DiscardNew,
		},
	} {
		if err := declare(ctx, js, config); err != nil {
			return fmt.Errorf("declare stream %s: %w", config.Name, err)
		}
	}
	for _, config := range []jetstream.KeyValueConfig{
		{Bucket: Leases, Description: "who tags which bay", TTL: leaseTTL, Storage: jetstream.MemoryStorage, Replicas: l.Replicas},
		{Bucket: People, Description: "cache of names", Storage: jetstream.MemoryStorage, Replicas: l.Replicas},
	} {
		if _, err := js.CreateKeyValue(ctx, config); errors.Is(err, jetstream.ErrBucketExists) {
			_, err = js.UpdateKeyValue(ctx, config)
			if err != nil && !errors.Is(err, nats.ErrNoResponders) {
				return fmt.Errorf("declare bucket %s: %w", config.Bucket, err)
			}
		} else if err != nil {
			return fmt.Errorf("declare bucket %s: %w", config.Bucket, err)
		}
	}
	return nil
}

// declare makes a stream, or brings it up to date. An embedded broker lets
// nobody do the latter: it did so itself when it started.
func declare(ctx context.Context, js jetstream.JetStream, config jetstream.StreamConfig) error {
	_, err := js.CreateStream(ctx, config)
	if !errors.Is(err, jetstream.ErrStreamNameAlreadyInUse) {
		return err
	}
	if _, err = js.UpdateStream(ctx, config); errors.Is(err, nats.ErrNoResponders) {
		return nil
	}
	return err
}
