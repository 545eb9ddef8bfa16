package journal

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// Report says what Open found.
type Report struct {
	Journal     string // the active one
	First, Last uint64 // of the active one

	// Began says why a new journal was begun, and Previous which one it
	// follows; both are empty when the last one goes on.
	Began, Previous string

	// Torn is the unfinished end of a write that a crash cut short. It was
	// never acknowledged and is cut off. nil: there was none.
	Torn *Torn

	// Quarantined are all damaged stretches of all journals in the folder, also
	// those that were found at an earlier start.
	Quarantined []Quarantine

	// Unreadable are files that could not be opened or that a newer version
	// wrote. They are left alone.
	Unreadable []string

	// Waiting: the journal can be read, and appending fails with this error
	// until its cause is gone (a full or read-only disk).
	Waiting error
}

// Torn is an unfinished write at a file's end.
type Torn struct {
	File   string
	Offset int64
	Bytes  int64
}

// QuarantinedRecords is how many records the damaged stretches held.
func (r Report) QuarantinedRecords() (n uint64) {
	for _, q := range r.Quarantined {
		n += q.Records()
	}
	return n
}

// Open opens the journals of a folder, or begins the first. It reads them
// through once, so it takes about a second per gigabyte. It fails only when the
// options are wrong, the folder cannot be made or listed, or another process
// has it open; whatever the files hold, it opens.
func Open(o Options) (*Journal, Report, error) {
	o, err := o.withDefaults()
	if err != nil {
		return nil, Report{}, err
	}
	if err := makeDir(o.Dir); err != nil {
		return nil, Report{}, err
	}
	unlock, err := lockDir(o.Dir)
	if err != nil {
		return nil, Report{}, err
	}
	j := &Journal{o: o, log: o.Logger, disk: o.disk, unlock: unlock, positions: map[string][]byte{}}
	report, err := j.recover()
	if err != nil {
		unlock()
		return nil, report, err
	}
	return j, report, nil
}

// makeDir makes the folder, and its name durable.
func makeDir(dir string) error {
	if st, err := os.Stat(dir); err == nil {
		if !st.IsDir() {
			return fmt.Errorf("journal: %s is not a folder", dir)
		}
		return nil
	}
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return fmt.Errorf("journal: make the folder: %w", err)
	}
	if err := (osDisk{}).syncDir(filepath.Dir(dir)); err != nil {
		return ioError("sync", filepath.Dir(dir), err)
	}
	return nil
}

func (j *Journal) recover() (Report, error) {
	var report Report
	chains, unreadable, err := j.loadChains()
	if err != nil {
		return report, err
	}
	j.chains, report.Unreadable = chains, unreadable
	for _, c := range j.chains {
		j.scanChain(c)
	}
	j.chains = slices.DeleteFunc(j.chains, func(c *chain) bool { return len(c.segments) == 0 })
	j.nameChains()
	if len(j.chains) > 0 {
		report.Torn = j.active().tail().torn
	}
	for _, c := range j.chains {
		report.Quarantined = append(report.Quarantined, c.lost...)
	}
	began := j.whyNew(unreadable)
	if began == "" {
		err = j.reopen(j.active().tail())
		if err == nil && j.outEnd > 0 {
			j.logTorn(report.Torn)
		}
	} else {
		if n := len(j.chains); n > 0 {
			report.Previous = j.chains[n-1].id.String()
		}
		report.Began = began
		j.chains = append(j.chains, j.nextChain(began))
		if err = j.room(0); err == nil {
			err = j.addSegment(j.active(), 1)
		}
		j.log.Info("a new journal begins", "journal", j.ID(), "previous", report.Previous, "reason", began)
	}
	if err != nil {
		report.Waiting = err
		j.log.Error("the journal can be read, and cannot be written for now", "dir", j.o.Dir, "err", err)
	}
	report.Journal = j.ID()
	report.First, report.Last = j.active().bounds()
	return report, nil
}

func (j *Journal) logTorn(t *Torn) {
	if t != nil {
		j.log.Info("cut off the unfinished end that a crash left; nothing acknowledged was in it",
			"file", t.File, "offset", t.Offset, "bytes", t.Bytes)
	}
}

// whyNew says why the last journal may not go on; empty: it may.
func (j *Journal) whyNew(unreadable []string) string {
	if len(j.chains) == 0 {
		if len(unreadable) > 0 {
			return "no file could be read"
		}
		return "first in this folder"
	}
	c := j.active()
	h := c.header
	switch {
	case len(c.lost) > 0:
		return "damage in the one before"
	case len(unreadable) > 0 && newerThan(unreadable, c):
		return "a file of the one before could not be read"
	case !c.tail().whole:
		return "the beginning of the last file is missing"
	case c.tail().unsynced:
		return unsyncedReason
	case h.Machine != hashMachine(j.o.Machine):
		return "another machine: the disk was cloned or moved"
	case h.Studio != j.o.Studio || h.Bay != j.o.Bay:
		return fmt.Sprintf("now of studio %q, bay %q; was of studio %q, bay %q", j.o.Studio, j.o.Bay, h.Studio, h.Bay)
	}
	return ""
}

// newerThan: one of the files belongs to the chain or a later one.
func newerThan(paths []string, c *chain) bool {
	for _, path := range paths {
		if ordinal, _, _, ok := parseSegmentName(filepath.Base(path)); ok && ordinal >= c.ordinal {
			return true
		}
	}
	return false
}

// loadChains sorts the folder's files into journals, without reading them.
func (j *Journal) loadChains() (chains []*chain, unreadable []string, err error) {
	names, err := j.disk.list(j.o.Dir)
	if err != nil {
		return nil, nil, fmt.Errorf("journal: list the folder: %w", err)
	}
	byID := map[journalID]*chain{}
	for _, name := range names {
		ordinal, id, first, ok := parseSegmentName(name)
		if !ok {
			continue
		}
		j.ordinal = max(j.ordinal, ordinal)
		path := filepath.Join(j.o.Dir, name)
		if err := j.readable(path); err != nil {
			j.log.Error("file left alone", "file", path, "err", err)
			unreadable = append(unreadable, path)
			continue
		}
		c := byID[id]
		if c == nil {
			c = &chain{id: id, ordinal: ordinal}
			byID[id] = c
			chains = append(chains, c)
		}
		c.segments = append(c.segments, &segment{path: path, first: first})
	}
	for _, c := range chains {
		slices.SortFunc(c.segments, func(a, b *segment) int { return cmp.Compare(a.first, b.first) })
	}
	slices.SortFunc(chains, func(a, b *chain) int {
		return cmp.Or(cmp.Compare(a.ordinal, b.ordinal), cmp.Compare(a.id.String(), b.id.String()))
	})
	return chains, unreadable, nil
}

// readable refuses what cannot be opened and what a newer format wrote.
func (j *Journal) readable(path string) error {
	f, err := j.disk.open(path, false)
	if err != nil {
		return err
	}
	defer f.Close()
	var p [preambleLen]byte
	if n, _ := f.ReadAt(p[:], 0); n == preambleLen &&
		[7]byte(p[:7]) == [7]byte(preambleMagic[:7]) && p[7] > formatMajor {
		if _, id, _, ok := parseSegmentName(filepath.Base(path)); ok && journalID(p[8:]) == id && !j.decodes(f, id) {
			return fmt.Errorf("written in format %d; this program knows %d: update it", p[7], formatMajor)
		}
	}
	return nil
}

// decodes: the file begins with a frame of ours, so that its version was not
// changed by a program but by damage.
func (j *Journal) decodes(f file, id journalID) bool {
	size, err := f.size()
	if err != nil {
		return false
	}
	_, _, ok := (&cursor{f: f, seed: id.seed()}).read(preambleLen, size)
	return ok
}

// scanChain reads the files of one journal. In its last file an end may be torn;
// everywhere else all was durable before the next file was begun, so a gap is
// damage.
func (j *Journal) scanChain(c *chain) {
	for i, seg := range c.segments {
		var before uint64
		if i+1 < len(c.segments) {
			before = c.segments[i+1].first
		} else {
			j.settle(seg)
		}
		r, size := j.scanFile(c.id, seg, before)
		if r.blank && before == 0 && size <= blankBytes {
			// Begun when the power went; nothing had been acknowledged from it.
			if err := j.disk.remove(seg.path); err != nil {
				j.log.Warn("an empty file stays", "file", seg.path, "err", err)
			}
			c.segments = c.segments[:i]
			break
		}
		if r.header != nil {
			c.header = *r.header
			seg.whole = len(r.positions) >= r.header.Feeds
		}
		seg.last, seg.end, seg.index = r.last, r.end, r.index
		seg.lastAt = time.Unix(0, max(r.lastAt, c.header.Created))
		for _, h := range r.holes {
			j.loseLocked(c, seg, h)
		}
		for feed, data := range r.positions {
			j.positions[feed] = data
		}
		if r.torn {
			seg.torn = &Torn{File: seg.path, Offset: r.end, Bytes: size - r.end}
		}
	}
}

const unsyncedReason = "what the last run left could not be synced"

// blankBytes: room is reserved only in a file whose beginning is durable, so a
// larger file of zeros is not one that was never written: it was damaged.
const blankBytes = 64 << 10

// nameChains gives a journal whose header is damaged the names of the one that
// followed it: that is far more likely right than no name.
func (j *Journal) nameChains() {
	studio, bay := j.o.Studio, j.o.Bay
	for _, c := range slices.Backward(j.chains) {
		if c.header.Ordinal == 0 {
			c.header.Studio, c.header.Bay, c.header.Reason = studio, bay, "unknown: its header is damaged"
		}
		studio, bay = c.header.Studio, c.header.Bay
	}
}

func (j *Journal) scanFile(id journalID, seg *segment, before uint64) (scanResult, int64) {
	f, err := j.disk.open(seg.path, false)
	if err == nil {
		defer f.Close()
		var size int64
		if size, err = f.size(); err == nil {
			s := scanner{c: &cursor{f: f, seed: id.seed()}, id: id, size: size, first: seg.first, before: before}
			return s.scan(), size
		}
	}
	if !errors.Is(err, fs.ErrNotExist) {
		j.log.Error("file cannot be read", "file", seg.path, "err", err)
	}
	s := scanner{c: &cursor{}, id: id, first: seg.first, before: before}
	return s.scan(), 0
}

// settle makes a file say the truth: it writes out what a killed process left in
// the system's cache, then drops the cache, so that what is read next comes from
// the disk. After a failed sync, in this run or an earlier one, the cache can
// hold pages that were never written and never will be.
func (j *Journal) settle(seg *segment) {
	f, err := j.disk.open(seg.path, true)
	if err != nil {
		return // a read-only disk holds nothing unwritten
	}
	defer f.Close()
	if err := j.sync(f); err != nil {
		j.log.Error("what the last run left could not be synced", "file", seg.path, "err", err)
		seg.unsynced = true
	}
	f.forget()
}
