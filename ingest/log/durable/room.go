package durable

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteJSONInRoom is WriteJSON for what has to be said when the disk is full, too:
// the next contents are written over a file that has its room already, room bytes
// filled up with blanks, which then takes the other's place. So the disk is asked
// for nothing new; file systems that never write in place (btrfs, zfs) may refuse
// all the same. What is longer than its room is written as WriteJSON does. A power
// cut leaves the old contents or the new ones. Writers take turns; who reads has to
// be done before the second write after.
func WriteJSONInRoom(path string, v any, room int) error {
	text, err := lines(v)
	if err != nil {
		return err
	}
	if len(text) > room {
		return WriteFile(path, text, 0o600)
	}
	dir, base := filepath.Split(path)
	next, was := dir+"."+base+"-room", dir+"."+base+"-was"
	if err := settle(path, next, was); err != nil {
		return err
	}
	if err := overwrite(next, text, room); err != nil {
		return err
	}
	// The old one keeps a name, and with it its blocks, until it is the room for the next.
	kept := os.Link(path, was)
	if err := os.Rename(next, path); err != nil {
		return err
	}
	if kept == nil {
		if err := os.Rename(was, next); err != nil {
			return err
		}
	}
	syncDir(filepath.Dir(path))
	return nil
}

// settle ends what a power cut left between two steps of WriteJSONInRoom.
func settle(path, next, was string) error {
	old, err := os.Lstat(was)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	now, err := os.Lstat(path)
	_, none := os.Lstat(next)
	if err == nil && errors.Is(none, fs.ErrNotExist) && !os.SameFile(old, now) {
		return os.Rename(was, next)
	}
	return os.Remove(was)
}

// overwrite puts text at a file's beginning and blanks behind it, up to room bytes.
func overwrite(path string, text []byte, room int) error {
	before, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	filled := len(bytes.TrimRight(before, " "))
	if len(before) < room {
		filled = room
	}
	blank := bytes.Repeat([]byte(" "), max(0, filled-len(text)))
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(append(text, blank...))
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return nil
}
