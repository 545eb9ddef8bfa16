package journal

import (
	"errors"
	"fmt"
	"log/slog"
	"time"
)

// Defaults and bounds of [Options].
const (
	DefaultSegmentBytes = 16 << 20
	minSegmentBytes     = 4 << 10
	maxNameBytes        = 255
)

// Options say where a journal lies and whose it is.
type Options struct {
	// Dir holds the journals of one bay and nothing else. It is created when
	// it is missing. One process at a time may have it open.
	Dir string

	// Studio and Bay name the place. They are written into each journal; when
	// they no longer fit, a new journal begins.
	Studio, Bay string

	// Machine identifies the computer. A folder that was written under another
	// one was cloned or moved, and a new journal begins, so two computers never
	// number the same journal. Empty means [MachineID].
	Machine string

	// SegmentBytes is the size at which a new file is begun. 0 means
	// DefaultSegmentBytes. A group of records is never split, so a file may
	// grow a little larger.
	SegmentBytes int64

	// MinFree is how many bytes must stay free on the disk: below it, Append
	// answers ErrFull and writes nothing. 0 means no reserve.
	MinFree int64

	// Logger may be nil.
	Logger *slog.Logger

	// Now is the wall clock for Entry.At; nil means time.Now.
	Now func() time.Time

	// NoSync leaves out every sync. Only for benchmarks: an answer then
	// promises nothing.
	NoSync bool

	disk disk // replaced in tests that break the disk
}

func (o Options) withDefaults() (Options, error) {
	if o.Dir == "" {
		return o, errors.New("journal: no folder given: set Dir to a folder on a local disk")
	}
	if len(o.Studio) > maxNameBytes || len(o.Bay) > maxNameBytes {
		return o, fmt.Errorf("journal: the names of studio and bay may have %d bytes each", maxNameBytes)
	}
	if o.SegmentBytes == 0 {
		o.SegmentBytes = DefaultSegmentBytes
	}
	if o.SegmentBytes < minSegmentBytes {
		return o, fmt.Errorf("journal: SegmentBytes is %d: use at least %d", o.SegmentBytes, minSegmentBytes)
	}
	if o.MinFree < 0 {
		return o, fmt.Errorf("journal: MinFree is %d: it is a number of bytes, 0 or more", o.MinFree)
	}
	if o.Logger == nil {
		o.Logger = slog.New(slog.DiscardHandler)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Machine == "" {
		o.Machine = MachineID()
	}
	if o.disk == nil {
		o.disk = osDisk{}
	}
	return o, nil
}
