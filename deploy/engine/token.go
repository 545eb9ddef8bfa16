package engine

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// EnsureToken reads the token in the file, or makes one that nobody can guess, readable by this user only.
func EnsureToken(path string) (string, error) {
	b, err := os.ReadFile(path)
	if err == nil {
		token := strings.TrimSpace(string(b))
		if token == "" {
			return "", fmt.Errorf("token file %s is empty: delete it, and a new one is made", path)
		}
		return token, nil
	}
	if !errors.Is(err, os.ErrNotExist) {
		return "", fmt.Errorf("token file: %w", err)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return "", fmt.Errorf("token file: %w", err)
	}
	var secret [24]byte
	_, _ = rand.Read(secret[:])
	token := hex.EncodeToString(secret[:])
	if err := writeToken(path, token); err != nil {
		return "", fmt.Errorf("token file: %w", err)
	}
	return token, nil
}

// writeToken never leaves half a token: a power cut in the middle would lock every client out.
func writeToken(path, token string) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".token-*") // made for this user only
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.WriteString(token + "\n")
	if serr := f.Sync(); err == nil {
		err = serr
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
