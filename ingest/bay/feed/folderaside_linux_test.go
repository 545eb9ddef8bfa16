package feed

import (
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairlead/deploy/proof"
)

// A file that can't be read stops itself only: the others are read, the state says
// which and why, and with the file the state goes.
func TestAnUnreadableFileStopsItselfOnly(t *testing.T) {
	dir := t.TempDir()
	// Reading a process's memory at its very start fails, for root too.
	if err := os.Symlink("/proc/self/mem", filepath.Join(dir, "a.csv")); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(dir, "b.csv"), plainHeader+rows(0, 2))
	s, err := NewFolder(FolderConfig{Map: parsed(t, plainMap), Dir: dir, Links: true,
		Stable: 20 * time.Millisecond, Poll: 10 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	k := newKeeper()
	defer running(t, s, k)()
	wantRaws(t, k.until(t, 2), rows(0, 2))
	proof.Until(t, "the state says which file can't be read", func() bool {
		state := s.State()
		return state.State == StateAway && strings.Contains(state.Detail, "a.csv can't be read")
	})
	if err := os.Remove(filepath.Join(dir, "a.csv")); err != nil {
		t.Fatal(err)
	}
	proof.Until(t, "the state is good again", func() bool { return s.State().State == StateOK })
}

// A link is followed where the configuration says so, else passed over.
func TestLinksArePassedOver(t *testing.T) {
	dir, other := t.TempDir(), t.TempDir()
	write(t, filepath.Join(other, "secret.csv"), "ball,carry\n10,20\n")
	write(t, filepath.Join(dir, "b.csv"), "ball,carry\n60,200\n")
	if err := os.Symlink(filepath.Join(other, "secret.csv"), filepath.Join(dir, "a.csv")); err != nil {
		t.Fatal(err)
	}
	for _, follow := range []bool{false, true} {
		files, err := list(dir, func(string) bool { return true }, (&links{follow: follow, log: slog.New(slog.DiscardHandler)}).allow)
		if err != nil {
			t.Fatal(err)
		}
		if want := map[bool]int{false: 1, true: 2}[follow]; len(files) != want {
			t.Errorf("links followed: %v: %d files, want %d", follow, len(files), want)
		}
	}
}
