package copies

import (
	"context"
	"time"

	"fairlead/deploy/backup"
)

// againAfter is how long a failed attempt rests.
const againAfter = 10 * time.Minute

// Run takes a copy whenever one is due, and tries one whenever that is due,
// until ctx ends.
func (k Keeper) Run(ctx context.Context) error {
	k.begin()
	for {
		wait := k.due(ctx)
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(min(wait, time.Minute)): // the clock may be set, and a copy taken by hand
		}
	}
}

// begin notes since when copies are asked for.
func (k Keeper) begin() {
	s, err := backup.ReadState(k.Config.BackupStateFile())
	if err != nil || s.Began.IsZero() {
		s.Began = k.Now().UTC()
		if err := s.Write(k.Config.BackupStateFile()); err != nil {
			k.Log.Warn("the state of backups can't be written", "error", err)
		}
	}
}

// due does what is due and says how long to wait.
func (k Keeper) due(ctx context.Context) time.Duration {
	s, _ := backup.ReadState(k.Config.BackupStateFile()) // one that can't be read says that nothing was taken
	now := k.Now()
	if rest := s.Failed.Add(againAfter).Sub(now); !s.Failed.IsZero() && rest > 0 && rest <= againAfter {
		return rest
	}
	if err := k.Keys(ctx); err != nil {
		k.note(err, nil)
		k.Log.Error("the keys of people could not be brought to the backups: until they are, what was erased can be read with the old ones",
			"error", err, "after", againAfter)
		return 0
	}
	if backup.Due(s.Taken, time.Duration(k.Config.Backup.Every), now) {
		if m, err := k.Take(ctx); err != nil {
			k.Log.Error("the backup failed and is tried again", "error", err, "after", againAfter)
		} else {
			k.Log.Info("backup taken", "copy", m.Name, "bytes", m.Bytes, "sent", m.New)
		}
		return 0
	}
	every := time.Duration(k.Config.Backup.Try)
	if every > 0 && backup.Due(s.Tried, every, now) && s.Began.Add(min(every, 24*time.Hour)).Before(now) {
		if found, err := k.Try(ctx, ""); err != nil {
			k.Log.Error("a backup was restored for a try, and is not whole", "error", err)
		} else {
			k.Log.Info("a backup was restored for a try and is whole", "copy", found.Copy)
		}
		return 0
	}
	return s.Taken.Add(time.Duration(k.Config.Backup.Every)).Sub(now)
}
