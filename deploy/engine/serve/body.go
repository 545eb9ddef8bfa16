package serve

import (
	"bytes"
	"fmt"
	"io"
	"os"
)

const (
	bodyInMemory = 8 << 20
	bodyPiece    = 1 << 20
)

// Body is a request's body that has arrived in full. The engine may commit the leading blocks of a long
// INSERT before it has seen the end, so it is not told of a body until the end is here: what breaks off
// leaves no row, whatever its size. The first 8 MiB stay in memory, the rest waits in a file.
type Body struct {
	head []byte
	file *os.File
	size int64
}

// ReadBody reads r to its end. The file, if one is needed, has no name any more when ReadBody returns, so
// that a killed process leaves nothing behind.
func ReadBody(r io.Reader, dir string) (*Body, error) {
	b := &Body{}
	var head bytes.Buffer
	n, err := io.CopyN(&head, r, bodyInMemory)
	b.head, b.size = head.Bytes(), n
	if err == io.EOF { // not errors.Is: a wrapped EOF is a body that was cut
		return b, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the body: %w", err)
	}
	// A copier that asks io.ReaderFrom may hide whose error it was; the two are told apart here because a
	// broken-off request is the client's matter and a full disk is ours.
	piece := make([]byte, bodyPiece)
	for {
		n, err := r.Read(piece)
		if n > 0 {
			if werr := b.spill(piece[:n], dir); werr != nil {
				b.Close()
				return nil, &spoolError{werr}
			}
		}
		if err == io.EOF { // not errors.Is: a wrapped EOF is a body that was cut
			return b, nil
		}
		if err != nil {
			b.Close()
			return nil, fmt.Errorf("read the body: %w", err)
		}
	}
}

type spoolError struct{ err error }

func (e *spoolError) Error() string {
	return "keep a long body until it has arrived: " + e.err.Error() + "; is the disk of the data folder full?"
}
func (e *spoolError) Unwrap() error { return e.err }

func (b *Body) spill(p []byte, dir string) error {
	if b.file == nil {
		f, err := os.CreateTemp(dir, "body-*")
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

// Head is the part that is in memory: all of it, or the first 8 MiB.
func (b *Body) Head() []byte { return b.head }

// Pieces calls f with the bytes from offset on, in order. The slice is valid during the call.
func (b *Body) Pieces(offset int, f func([]byte) error) error {
	for rest := b.head[min(offset, len(b.head)):]; len(rest) > 0; {
		n := min(len(rest), bodyPiece)
		if err := f(rest[:n]); err != nil {
			return err
		}
		rest = rest[n:]
	}
	if b.file == nil {
		return nil
	}
	if _, err := b.file.Seek(0, io.SeekStart); err != nil {
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
		if err == io.EOF { // not errors.Is: a wrapped EOF is a body that was cut
			return nil
		}
		if err != nil {
			return &spoolError{err}
		}
	}
}

// Close frees the file.
func (b *Body) Close() {
	if b.file != nil {
		b.file.Close()
		b.file = nil
	}
}
