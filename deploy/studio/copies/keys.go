package copies

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"

	"fairlead/deploy/backup"
	"fairlead/ingest/log/durable"
	"fairlead/ingest/log/vault"
)

// The keys of what people wrote are in no copy: beside the copies stands one file
// of them, which each change replaces. So an erasure destroys them for the copies
// taken before it too, and a copy that is restored gets the keys of today.

const keysName = "people.keys"

// isKeys says whether a name below the data folder is the file of keys, or what a
// broken write of it left.
func isKeys(name string) bool {
	return name == keysName || strings.HasPrefix(name, "."+keysName+"-")
}

// Keys brings the keys to the place of the copies where they changed since.
func (k Keeper) Keys(ctx context.Context) error {
	data, sum, err := k.keys()
	if err != nil || data == nil {
		return err
	}
	s, err := backup.ReadState(k.Config.BackupStateFile())
	if err == nil && s.Keys == sum {
		return nil
	}
	r, err := k.Repository(ctx)
	if err != nil {
		return err
	}
	return k.putKeys(ctx, r, data, sum)
}

func (k Keeper) keys() (data []byte, sum string, err error) {
	data, err = os.ReadFile(vault.Beside(k.Config.PeopleFile()))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, "", nil
	}
	of := sha256.Sum256(data)
	return data, hex.EncodeToString(of[:]), err
}

func (k Keeper) putKeys(ctx context.Context, r *backup.Repository, data []byte, sum string) error {
	dir := k.Config.DataPath(work)
	err := os.MkdirAll(dir, 0o700)
	if err == nil {
		err = r.PutAside(ctx, keysName, data, dir)
	}
	if err != nil {
		return fmt.Errorf("keys of people for the backup: %w", err)
	}
	s, err := backup.ReadState(k.Config.BackupStateFile())
	if err != nil {
		return err
	}
	s.Keys = sum
	return s.Write(k.Config.BackupStateFile())
}

// restoreKeys gives a restored hub the keys that stand beside the copies.
func restoreKeys(ctx context.Context, r *backup.Repository, dir string, log *slog.Logger) error {
	data, err := r.Aside(ctx, keysName)
	if errors.Is(err, backup.ErrMissing) {
		if log != nil {
			log.Warn("no keys of people stand beside the copies: what people wrote under keys can't be read")
		}
		return nil
	}
	if err != nil {
		return err
	}
	return durable.WriteFile(filepath.Join(dir, keysName), data, 0o600)
}
