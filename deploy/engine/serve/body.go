package serve

import (
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"sync/atomic"
)

const (
	// bodyInMemory is how much of a body stays in memory, more or less; the rest waits in a file.
	bodyInMemory = 32 << 20
	// bodiesInMemory is how much of all bodies that are read at a time does.
	bodiesInMemory = 256 << 20
	// firstPiece is enough for most statements; the pieces of a longer body are larger.
	firstPiece = 16 << 10
	bodyPiece  = 1 << 20
)

// Spool reads bodies; it may be used from several goroutines.
type Spool struct {
	dir      string
	each     int64
	all      int64
	inMemory atomic.Int64
}

// NewSpool makes a spool whose files are in dir, which should be on the disk of the data.
func NewSpool(dir string) *Spool { return &Spool{dir: dir, each: bodyInMemory, all: bodiesInMemory} }

// Body is a request's body that has arrived in full. The engine may commit the leading blocks of a long
// INSERT before it has seen the end, so it is not told of a body until the end is here: what breaks off
// leaves no row, whatever its size.
type Body struct {
	spool  *Spool
	pieces [][]byte
	file   *os.File
	size   int64
}

// piecePool keeps pieces of bodyPiece bytes: inserts come all day long.
var piecePool = sync.Pool{New: func() any { return new([bodyPiece]byte) }}

// Read reads r to its end. The file, if one is needed, has no name any more when Read returns, so that a
// killed process leaves nothing behind.
func (s *Spool) Read(r io.Reader) (*Body, error) {
	b := &Body{spool: s}
	piece := make([]byte, firstPiece)
	for {
		n, err := fill(r, piece)
		b.pieces = append(b.pieces, piece[:n])
		b.size += int64(n)
		if err == io.EOF { // not errors.Is: a wrapped EOF is a body that was cut
			return b, nil
		}
		if err != nil {
			b.Close()
			return nil, fmt.Errorf("read the body: %w", err)
		}
		if b.size >= s.each || !s.reserve() {
			break
		}
		piece = piecePool.Get().(*[bodyPiece]byte)[:]
	}
	piece = make([]byte, bodyPiece)
	for {
		n, err := r.Read(piece)
		if n > 0 {
			if werr := b.spill(piece[:n]); werr != nil {
				b.Close()
				return nil, &spoolError{werr}
			}
		}
		if err == io.EOF {
			return b, nil
		}
		if err != nil {
			b.Close()
			return nil, fmt.Errorf("read the body: %w", err)
		}
	}
}

func (s *Spool) reserve() bool {
	if s.inMemory.Add(bodyPiece) <= s.all {
		return true
	}
	s.inMemory.Add(-bodyPiece)
	return false
}

// fill reads until p is full. Unlike io.ReadFull it leaves the reader's error as it is, so that the end of a
// body (io.EOF) and a cut (io.ErrUnexpectedEOF) stay two things.
func fill(r io.Reader, p []byte) (n int, err error) {
	for n < len(p) && err == nil {
		var k int
		k, err = r.Read(p[n:])
		n += k
	}
	return n, err
}

// spoolError is a failure of our disk, not of the client.
type spoolError struct{ err error }

func (e *spoolError) Error() string {
	return "keep a long body until it has arrived: " + e.err.Error() + "; is the disk of the data folder full?"
}
func (e *spoolError) Unwrap() error { return e.err }

func (b *Body) spill(p []byte) error {
	if b.file == nil {
		f, err := os.CreateTemp(b.spool.dir, "body-*")
		if err != nil {
			return err
		}
		b.file = f
		if err := os.Remove(f.Name()); err != nil {
			return err
		}
	}
	n, err := b.file.Write(p)
	b.size += int64(n)
	return err
}

// Size is the number of bytes.
func (b *Body) Size() int64 { return b.size }

// Head copies the first n bytes, or all if there are fewer.
func (b *Body) Head(n int) []byte {
	out := make([]byte, 0, min(int64(n), b.size))
	errEnough := errors.New("enough")
	_ = b.Pieces(0, func(p []byte) error {
		out = append(out, p[:min(len(p), n-len(out))]...)
		if len(out) == n {
			return errEnough
		}
		return nil
	})
	return out
}

// Pieces calls f with the bytes from offset on, in order. The slice is valid during the call.
func (b *Body) Pieces(offset int, f func([]byte) error) error {
	for _, p := range b.pieces {
		skip := min(offset, len(p))
		offset -= skip
		if p = p[skip:]; len(p) > 0 {
			if err := f(p); err != nil {
				return err
			}
		}
	}
	if b.file == nil {
		return nil
	}
	if _, err := b.file.Seek(int64(offset), io.SeekStart); err != nil {
		return &spoolError{err}
	}
	piece := make([]byte, bodyPiece)
	for {
		n, err := b.file.Read(piece)
		if n > 0 {
			if err := f(piece[:n]); err != nil {
				return err
			}
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return &spoolError{err}
		}
	}
}

// Close frees memory and file; the body cannot be read any more.
func (b *Body) Close() {
	for _, p := range b.pieces {
		if cap(p) == bodyPiece {
			piecePool.Put((*[bodyPiece]byte)(p[:bodyPiece]))
			b.spool.inMemory.Add(-bodyPiece)
		}
	}
	b.pieces = nil
	if b.file != nil {
		b.file.Close()
		b.file = nil
	}
}
