package journal

import (
	"bytes"
	"errors"
	"hash/crc32"
	"io"
)

const (
	readChunk  = 64 << 10
	blockBytes = 4 << 10 // what a disk fails to read at once
)

// cursor decodes the frames of one file through a buffer. It sees nothing at or
// beyond the limit it is given, so it can follow a file that is being written.
type cursor struct {
	f    io.ReaderAt
	seed uint32
	buf  []byte // bytes of the file from base on
	base int64
}

// window returns the n bytes at off, fewer only where limit cuts them off.
func (c *cursor) window(off int64, n int, limit int64) []byte {
	n = int(min(int64(n), max(limit-off, 0)))
	if off < c.base || off+int64(n) > c.base+int64(len(c.buf)) {
		c.load(off, int(min(int64(max(n, readChunk)), limit-off)))
	}
	i := int(off - c.base)
	return c.buf[i : i+n]
}

// load fills the buffer. Blocks that the disk cannot read, even when asked a
// second time, are left as zeros: they are then damage like any other, found by
// the checksums, and what lies around them is kept.
func (c *cursor) load(off int64, n int) {
	if cap(c.buf) < n || cap(c.buf) > 4*readChunk {
		c.buf = make([]byte, n)
	}
	c.buf, c.base = c.buf[:n], off
	if m, err := c.f.ReadAt(c.buf, off); err == nil || errors.Is(err, io.EOF) {
		clear(c.buf[m:])
		return
	}
	for at := 0; at < n; {
		to := min(at+blockBytes-int((off+int64(at))%blockBytes), n)
		m, _ := c.f.ReadAt(c.buf[at:to], off+int64(at))
		clear(c.buf[at+m : to])
		at = to
	}
}

// read decodes the frame at off. It is not ok when there is no whole, intact
// frame there below the limit.
func (c *cursor) read(off, limit int64) (f frame, next int64, ok bool) {
	f, n, crc, ok := decodeHead(c.window(off, frameLen, limit), c.seed)
	next = off + frameLen + int64(n)
	if !ok || next > limit {
		return f, 0, false
	}
	f.body = c.window(off, frameLen+n, limit)[frameLen:]
	if crc32.Update(c.seed, castagnoli, f.body) != crc {
		return f, 0, false
	}
	if f.kind == kindEntry || f.kind == kindPositions {
		if _, err := decodePositions(f.body, nil); err != nil {
			return f, 0, false
		}
	}
	return f, next, true
}

// resync returns where the next intact frame after off begins.
func (c *cursor) resync(off, limit int64) (int64, bool) {
	// Where only a body is hit, its length is still to be trusted; jumping
	// over it spares a look into it, which could hold anything.
	if _, n, _, ok := decodeHead(c.window(off, frameLen, limit), c.seed); ok {
		if at := off + frameLen + int64(n); at < limit {
			if _, _, ok := c.read(at, limit); ok {
				return at, true
			}
		}
	}
	for pos := off + 1; pos+frameLen <= limit; {
		w := c.window(pos, readChunk, limit)
		i := bytes.Index(w, frameMagic)
		if i < 0 {
			pos += int64(len(w) - len(frameMagic) + 1)
			continue
		}
		pos += int64(i)
		if _, _, ok := c.read(pos, limit); ok {
			return pos, true
		}
		pos++
	}
	return limit, false
}

// zeros reports whether nothing but zeros lies between off and limit.
func (c *cursor) zeros(off, limit int64) bool {
	for off < limit {
		w := c.window(off, readChunk, limit)
		for _, b := range w {
			if b != 0 {
				return false
			}
		}
		off += int64(len(w))
	}
	return true
}
