package serve

import (
	"bytes"
	"errors"
	"io"
	"os"
	"testing"
	"testing/iotest"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

// small is a spool that reaches for its file soon.
const small = 2 * bodyPiece

func smallSpool(dir string) *Spool { return &Spool{dir: dir, each: small, all: 4 * small} }

func TestBodyKeepsEveryByte(t *testing.T) {
	dir := t.TempDir()
	spool := smallSpool(dir)
	proof.Check(t, func(t *rapid.T) {
		size := rapid.SampledFrom([]int{0, 1, 1000, firstPiece, firstPiece + 1, bodyPiece, firstPiece + bodyPiece, small - 1, small, small + 1,
			small + 3*bodyPiece + 7}).Draw(t, "size")
		offset := rapid.SampledFrom([]int{0, 7, firstPiece, firstPiece + 3, 2 * bodyPiece}).Draw(t, "offset")
		want := make([]byte, size)
		for i := range want {
			want[i] = byte(i * 31 >> 3)
		}
		b, err := spool.Read(bytes.NewReader(want))
		if err != nil {
			t.Fatal(err)
		}
		defer b.Close()
		var got bytes.Buffer
		if err := b.Pieces(offset, func(p []byte) error { got.Write(p); return nil }); err != nil {
			t.Fatal(err)
		}
		if head := b.Head(1000); !bytes.Equal(head, want[:min(size, 1000)]) {
			t.Fatalf("the head of %d bytes is %d bytes, or others", size, len(head))
		}
		if b.Size() != int64(size) || !bytes.Equal(got.Bytes(), want[min(offset, size):]) {
			t.Fatalf("%d bytes from %d on came back as %d (size %d)", size, offset, got.Len(), b.Size())
		}
	})
	if kept := spool.inMemory.Load(); kept != 0 {
		t.Errorf("%d bytes are still counted as in memory", kept)
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("files left: %v", left)
	}
}

func TestBodyReportsACut(t *testing.T) {
	cut := errors.New("cut")
	spool := smallSpool(t.TempDir())
	for _, size := range []int{0, 10, small, small + 2*bodyPiece} {
		r := io.MultiReader(bytes.NewReader(make([]byte, size)), iotest.ErrReader(cut))
		if _, err := spool.Read(r); !errors.Is(err, cut) {
			t.Errorf("cut after %d bytes: %v", size, err)
		}
	}
	if kept := spool.inMemory.Load(); kept != 0 {
		t.Errorf("%d bytes are still counted as in memory", kept)
	}
}

func TestBodyTellsAFullDiskFromACut(t *testing.T) {
	_, err := smallSpool(t.TempDir() + "/gone").Read(bytes.NewReader(make([]byte, small+2*bodyPiece)))
	var spool *spoolError
	if !errors.As(err, &spool) {
		t.Errorf("a folder that is not there: %v", err)
	}
}

func TestBodiesBeyondTheCommonBoundWaitInAFile(t *testing.T) {
	spool := smallSpool(t.TempDir())
	spool.inMemory.Store(4 * small)
	want := bytes.Repeat([]byte("north "), bodyPiece)
	b, err := spool.Read(bytes.NewReader(want))
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if b.file == nil || len(b.pieces) != 1 {
		t.Errorf("%d pieces in memory", len(b.pieces))
	}
	var got bytes.Buffer
	if err := b.Pieces(0, func(p []byte) error { got.Write(p); return nil }); err != nil || !bytes.Equal(got.Bytes(), want) {
		t.Errorf("%d bytes, %v", got.Len(), err)
	}
}
