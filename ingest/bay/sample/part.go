package sample

import (
	"bytes"
	"fmt"
	"io"
)

// Bounds of a part: a file up to wholeBytes is taken whole, of a larger one its
// beginning, where a header stands, and its end.
const (
	wholeBytes = 128 << 10
	headBytes  = 16 << 10
	tailBytes  = 64 << 10
)

// Part reads a file's part that tells what it is: of a large one whole lines of
// its beginning and of its end.
func Part(f io.ReaderAt, size int64) ([]byte, error) {
	read := func(from, n int64) ([]byte, error) {
		data := make([]byte, n)
		got, err := f.ReadAt(data, from)
		if err != nil && err != io.EOF {
			return nil, fmt.Errorf("read a part of a file: %w", err)
		}
		return data[:got], nil
	}
	if size <= wholeBytes {
		return read(0, size)
	}
	head, err := read(0, headBytes)
	if err != nil {
		return nil, err
	}
	tail, err := read(size-tailBytes, tailBytes)
	if err != nil {
		return nil, err
	}
	if at := bytes.LastIndexByte(head, '\n'); at >= 0 {
		head = head[:at+1]
	}
	if at := bytes.IndexByte(tail, '\n'); at >= 0 {
		tail = tail[at+1:]
	}
	return append(head, tail...), nil
}

// Text is a file's text, whatever its encoding.
func (f File) Text() string {
	text, _ := decode(f.Data)
	return text
}
