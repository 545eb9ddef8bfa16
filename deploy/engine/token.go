package engine

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"fairlead/ingest/log/durable"
)

// EnsureToken reads the token in the file, or makes one that nobody can guess, readable by this user only.
func EnsureToken(path string) (string, error) {
	b, err := os.ReadFile(path)
	if err == nil {
		if err := closedToOthers(path); err != nil {
			return "", fmt.Errorf("token file: %w", err)
		}
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
	// Never half a token: a power cut in the middle would lock every client out.
	if err := durable.WriteFile(path, []byte(token+"\n"), 0o600); err != nil {
		return "", fmt.Errorf("token file: %w", err)
	}
	return token, nil
}
