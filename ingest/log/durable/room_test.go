package durable

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairlead/deploy/powercut"
)

// What has its room is written on a disk without a byte left; what has none is not.
func TestAFullDiskIsWrittenTo(t *testing.T) {
	disk := powercut.New(t, 64<<20)
	file, other := filepath.Join(disk.Dir(), "state.json"), filepath.Join(disk.Dir(), "other.json")
	const room = 64 << 10
	type state struct {
		N    int
		Text string
	}
	write := func(n, long int) error {
		return WriteJSONInRoom(file, state{n, strings.Repeat("x", long)}, room)
	}
	for n := range 2 {
		if err := write(n, 9000); err != nil {
			t.Fatal(err)
		}
	}
	release := disk.Fill(0)
	if err := WriteJSON(other, state{1, strings.Repeat("x", 9000)}); err == nil {
		t.Fatal("the disk is not full")
	}
	for n, long := range []int{40000, 10, 60000, 0, 9000} {
		if err := write(n, long); err != nil {
			t.Fatalf("%d on a full disk: %v", n, err)
		}
		if s, err := ReadJSON[state](file); err != nil || s.N != n || len(s.Text) != long {
			t.Fatalf("%d: read %d, %d letters, %v", n, s.N, len(s.Text), err)
		}
	}
	if err := write(9, room); err == nil {
		t.Error("more than its room went onto a full disk")
	}
	if s, err := ReadJSON[state](file); err != nil || s.N != 4 {
		t.Errorf("after a refusal: %+v, %v", s, err)
	}
	release()
	if err := write(10, room); err != nil {
		t.Error(err)
	}
	if err := write(11, 5); err != nil {
		t.Error(err)
	}
}

// Wherever the power went between two steps, the next write goes on.
func TestHalfASwapIsEnded(t *testing.T) {
	for _, left := range []string{"both names of the old", "the old without its place"} {
		dir := t.TempDir()
		file := filepath.Join(dir, "state.json")
		next, was := filepath.Join(dir, ".state.json-room"), filepath.Join(dir, ".state.json-was")
		for n := range 2 {
			if err := WriteJSONInRoom(file, n, 100); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.Link(file, was); err != nil {
			t.Fatal(err)
		}
		if left == "the old without its place" {
			if err := os.Rename(next, file); err != nil {
				t.Fatal(err)
			}
		}
		for n := 5; n < 8; n++ {
			if err := WriteJSONInRoom(file, n, 100); err != nil {
				t.Fatalf("%s: %v", left, err)
			}
			if got, err := ReadJSON[int](file); err != nil || got != n {
				t.Errorf("%s: %d, %v", left, got, err)
			}
		}
		if names, _ := os.ReadDir(dir); len(names) != 2 {
			t.Errorf("%s: %d files", left, len(names))
		}
	}
}
