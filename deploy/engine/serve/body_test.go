package serve

import (
	"bytes"
	"errors"
	"io"
	"os"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"
)

func TestBodyKeepsEveryByte(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.SampledFrom([]int{0, 1, 1000, bodyPiece, bodyInMemory - 1, bodyInMemory, bodyInMemory + 1, bodyInMemory + 3*bodyPiece + 7}).Draw(t, "size")
		offset := rapid.IntRange(0, 2000).Draw(t, "offset")
		want := make([]byte, size)
		for i := range want {
			want[i] = byte(i * 31 >> 3)
		}
		b, err := ReadBody(bytes.NewReader(want), dir)
		if err != nil {
			t.Fatal(err)
		}
		defer b.Close()
		var got bytes.Buffer
		if err := b.Pieces(offset, func(p []byte) error { got.Write(p); return nil }); err != nil {
			t.Fatal(err)
		}
		if b.Size() != int64(size) || !bytes.Equal(got.Bytes(), want[min(offset, size):]) {
			t.Fatalf("%d bytes from %d on came back as %d (size %d)", size, offset, got.Len(), b.Size())
		}
	})
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("files left: %v", left)
	}
}

func TestBodyReportsACut(t *testing.T) {
	cut := errors.New("cut")
	for _, size := range []int{0, 10, bodyInMemory, bodyInMemory + 10} {
		r := io.MultiReader(bytes.NewReader(make([]byte, size)), iotest.ErrReader(cut))
		if _, err := ReadBody(r, t.TempDir()); !errors.Is(err, cut) {
			t.Errorf("cut after %d bytes: %v", size, err)
		}
	}
}

func TestBodyTellsAFullDiskFromACut(t *testing.T) {
	_, err := ReadBody(bytes.NewReader(make([]byte, bodyInMemory+1)), t.TempDir()+"/gone")
	var spool *spoolError
	if !errors.As(err, &spool) {
		t.Errorf("a folder that is not there: %v", err)
	}
}
