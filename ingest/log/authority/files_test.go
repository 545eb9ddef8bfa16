package authority

import (
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// write puts what a leaf shows into two files.
func write(t *testing.T, l *Leaf, cert, key string) {
	t.Helper()
	if err := WritePair(l, cert, key); err != nil {
		t.Fatal(err)
	}
}

func TestFilesAreTakenUpWhenTheyChange(t *testing.T) {
	a, now := fresh(t), began
	clock := func() time.Time { return now }
	cert, key := filepath.Join(t.TempDir(), "own.pem"), filepath.Join(t.TempDir(), "own.key")
	if _, err := OpenFiles(cert, key, clock, slog.New(slog.DiscardHandler)); err == nil || !strings.Contains(err.Error(), "tls.cert") {
		t.Errorf("files that are not there: %v", err)
	}
	write(t, leaf(t, a, clock), cert, key)
	f, err := OpenFiles(cert, key, clock, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	first := f.Ends()
	now = now.Add(40 * 24 * time.Hour)
	write(t, leaf(t, a, clock), cert, key)
	if got := f.Ends(); !got.After(first) {
		t.Errorf("the new file is not shown: %v", got)
	}
	second := f.Ends()
	now = now.Add(time.Minute)
	if err := os.WriteFile(cert, []byte("half a fi"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got := f.Ends(); !got.Equal(second) {
		t.Errorf("a broken file took the old one away: %v", got)
	}
}
