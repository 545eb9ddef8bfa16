package journal

import (
	"context"
	"errors"
	"fmt"
	"io"
)

// Scrub reads every record of every journal on the disk, so that a bit that
// flipped in what nobody asks for is found while other copies exist. What is
// damaged is passed over and stands in Journals from then on. It returns how many
// records could be read.
func (j *Journal) Scrub(ctx context.Context) (records uint64, err error) {
	for _, info := range j.Journals() {
		r := j.Read(info.ID, info.First)
		for {
			_, ok, err := r.TryNext()
			if errors.Is(err, io.EOF) || errors.Is(err, ErrUnknownJournal) || err == nil && !ok {
				break // its end; or it was trimmed away meanwhile
			}
			if err = errors.Join(err, ctx.Err()); err != nil {
				r.Close()
				return records, err
			}
			records++
		}
		r.Close()
	}
	return records, nil
}

// PositionsBefore returns how far the feeds had read when a record was appended:
// reading on from there gives what it held again, and what came after it.
func (j *Journal) PositionsBefore(id string, seq uint64) (map[string][]byte, error) {
	j.mu.RLock()
	var at *segment
	var end int64
	for _, c := range j.chains {
		for _, s := range c.segments {
			if c.id.String() == id && s.first <= seq {
				at, end = s, s.end
			}
		}
	}
	j.mu.RUnlock()
	if at == nil {
		return nil, fmt.Errorf("%w: %s", ErrUnknownJournal, id)
	}
	f, err := j.disk.open(at.path, false)
	if err != nil {
		return nil, ioError("open", at.path, err)
	}
	defer f.Close()
	known, _ := parseID(id)
	c := &cursor{f: f, seed: known.seed()}
	out := map[string][]byte{}
	for off := int64(preambleLen); off < end; {
		frame, next, ok := c.read(off, end)
		if !ok {
			if next, ok = c.resync(off, end); !ok {
				break
			}
			off = next
			continue
		}
		if frame.kind == kindEntry && frame.seq >= seq {
			break
		}
		if frame.kind == kindEntry || frame.kind == kindPositions {
			notePositions(out, frame.body)
		}
		off = next
	}
	return out, nil
}
