package feed

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"os"
	"strings"
)

// mostUnpacked bounds what a packed file may hold.
const mostUnpacked = 256 << 20

// unpacked is a finished file's text: of NAME.gz what it packs, under the name
// that it had before. size is how long the text is.
func unpacked(in *os.File, f found) (text io.ReaderAt, as string, size int64, err error) {
	as, packed := strings.CutSuffix(f.name, ".gz")
	if !packed {
		return in, f.name, f.info.Size(), nil
	}
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return nil, as, 0, err
	}
	z, err := gzip.NewReader(in)
	if err != nil {
		return nil, as, 0, fmt.Errorf("is no gzip file: %w", err)
	}
	data, err := io.ReadAll(io.LimitReader(z, mostUnpacked+1))
	if err != nil {
		return nil, as, 0, fmt.Errorf("its gzip data are damaged: %w", err)
	}
	if len(data) > mostUnpacked {
		return nil, as, 0, fmt.Errorf("it unpacks to more than %d MB", mostUnpacked>>20)
	}
	return bytes.NewReader(data), as, int64(len(data)), nil
}
