package durable

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "north.seed")
	for _, text := range []string{"first", "second, longer"} {
		if err := WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(path)
		if err != nil || string(got) != text {
			t.Errorf("%q, %v", got, err)
		}
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	if err := WriteFile(filepath.Join(dir, "away", "x"), nil, 0o600); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("into no folder: %v", err)
	}
	// What can't take the file's place leaves it, and nothing beside it.
	if err := os.MkdirAll(filepath.Join(dir, "full", "of"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := WriteFile(filepath.Join(dir, "full"), []byte("x"), 0o600); err == nil {
		t.Error("a folder was written over")
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 2 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

func TestWhatAWritingLeftIsCleared(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"north.seed", ".north.seed-123", ".north.seed-9", ".south.seed-1"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := Clear(filepath.Join(dir, "north.seed")); err != nil {
		t.Fatal(err)
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 2 || left[0].Name() != ".south.seed-1" || left[1].Name() != "north.seed" {
		t.Errorf("left: %v, %v", left, err)
	}
}

func TestJSONIsThereWholeOrNotAtAll(t *testing.T) {
	file := filepath.Join(t.TempDir(), "state.json")
	type state struct{ A, B int }
	if s, err := ReadJSON[state](file); err != nil || s != (state{}) {
		t.Errorf("none yet: %+v, %v", s, err)
	}
	if err := WriteJSON(file, state{1, 2}); err != nil {
		t.Fatal(err)
	}
	if s, err := ReadJSON[state](file); err != nil || s != (state{1, 2}) {
		t.Errorf("read again: %+v, %v", s, err)
	}
	if err := os.WriteFile(file, []byte(`{"A": 1, "B": "two"}`), 0o600); err != nil {
		t.Fatal(err)
	}
	if s, err := ReadJSON[state](file); err == nil || s != (state{}) {
		t.Errorf("spoiled: %+v, %v", s, err)
	}
}
