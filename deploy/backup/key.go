package backup

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"filippo.io/age"

	"fairlead/ingest/log/durable"
)

// Key opens the backups and makes them.
type Key struct{ identity *age.X25519Identity }

// MakeKey makes a new key.
func MakeKey() (Key, error) {
	i, err := age.GenerateX25519Identity()
	return Key{i}, err
}

// EnsureKey reads the key of a file, or makes it there; fresh says so, for then
// somebody has to keep a copy elsewhere.
func EnsureKey(file string) (k Key, fresh bool, err error) {
	k, err = ReadKey(file)
	if !errors.Is(err, fs.ErrNotExist) {
		return k, false, err
	}
	if k, err = MakeKey(); err != nil {
		return k, false, err
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return k, false, err
	}
	text := fmt.Sprintf("# Opens this studio's backups (age). Keep a copy away from this machine.\n# public key: %s\n%s\n",
		k.identity.Recipient(), k.identity)
	return k, true, durable.WriteFile(file, []byte(text), 0o600)
}

// ReadKey reads the key of a file as age-keygen writes it.
func ReadKey(file string) (Key, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return Key{}, fmt.Errorf("key of the backups: %w", err)
	}
	all, err := age.ParseIdentities(bytes.NewReader(text))
	if err != nil {
		return Key{}, fmt.Errorf("key of the backups %s: %w", file, err)
	}
	if own, ok := all[0].(*age.X25519Identity); ok && len(all) == 1 {
		return Key{own}, nil
	}
	return Key{}, fmt.Errorf("key of the backups %s: it holds no single X25519 key: use the file backup.key of the studio's keys", file)
}

// Public is what encrypts for the key; it is no secret.
func (k Key) Public() string { return k.identity.Recipient().String() }
