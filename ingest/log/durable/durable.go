// Package durable writes small files that must be whole or not there: keys,
// names. What is appended to lives in journals instead.
package durable

import (
	"errors"
	"os"
	"path/filepath"
)

// WriteFile puts data in the place of a file, on the disk when it returns. A
// power cut at any moment leaves the old contents or the new ones. The folder
// has to be there.
func WriteFile(path string, data []byte, mode os.FileMode) error {
	dir := filepath.Dir(path)
	f, err := os.CreateTemp(dir, "."+filepath.Base(path)+"-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(data)
	if err = errors.Join(err, f.Chmod(mode), f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	syncDir(dir)
	return nil
}

// syncDir makes what was renamed in a folder stay so. Some systems can't; the rename
// is then as safe as they make it.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		d.Sync()
		d.Close()
	}
}

// Clear removes what writings of a file that were cut short left beside it.
func Clear(path string) error {
	dir, base := filepath.Split(path)
	left, err := filepath.Glob(dir + "." + base + "-*")
	for _, file := range left {
		err = errors.Join(err, os.Remove(file))
	}
	return err
}
