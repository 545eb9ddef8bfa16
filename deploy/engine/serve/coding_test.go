package serve

import (
	"bytes"
	"errors"
	"io"
	"testing"

	"github.com/ClickHouse/ch-go/compress"
)

func TestPackedBodyCutAnywhereIsAnError(t *testing.T) {
	var packed []byte
	var ends []int
	for i := range 3 {
		w := compress.NewWriter(compress.LevelZero, compress.LZ4)
		if err := w.Compress(bytes.Repeat([]byte{byte(i), 1, 2}, 100)); err != nil {
			t.Fatal(err)
		}
		packed = append(packed, w.Data...)
		ends = append(ends, len(packed))
	}
	for cut := range len(packed) + 1 {

		in, err := decode(bytes.NewReader(packed[:cut]), "", options{decompress: true})
		if err != nil {
			t.Fatal(err)
		}
		got, err := io.ReadAll(in)
		whole := cut == 0 || cut == ends[0] || cut == ends[1] || cut == ends[2]
		if whole && err != nil || !whole && !errors.Is(err, io.ErrUnexpectedEOF) {
			t.Fatalf("cut at %d of %d (blocks end at %v): %d bytes, %v", cut, len(packed), ends, len(got), err)
		}
	}
}
