//go:build !linux

package powercut

import "testing"

// Disk is a mounted file system; there is none on this system.
type Disk struct{}

// New fails: Possible is false here.
func New(t testing.TB, bytes int64) *Disk { return none(t) }

// NewMemory fails: Possible is false here.
func NewMemory(t testing.TB, bytes int64) *Disk { return none(t) }

func none(t testing.TB) *Disk {
	t.Helper()
	t.Fatal("file systems are mounted on Linux only: ask powercut.Possible first")
	return nil
}

// Dir is the folder of the disk.
func (d *Disk) Dir() string { return "" }

// Cut takes the power away.
func (d *Disk) Cut() {}

// Restore gives the power back.
func (d *Disk) Restore() {}

// Free is the room left for files, in bytes.
func (d *Disk) Free() int64 { return 0 }

// Fill takes all room but keep bytes.
func (d *Disk) Fill(keep int64) (release func()) { return func() {} }

// Hold takes all room but keep bytes too.
func (d *Disk) Hold(keep int64) (release func()) { return func() {} }
