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

// Packed says that a file is one of gzip by its name. It is read as a whole
// whenever it changes.
func Packed(path string) bool { return strings.HasSuffix(path, ".gz") }

// wholeFile is the text of a file that is read as a whole, unpacked where its name
// says that it is packed.
func (m *Map) wholeFile(path string) (io.ReaderAt, error) {
	if !Packed(path) {
		return m.laidFile(path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	text, _, _, err := unpacked(f, found{name: path, info: info})
	if err != nil || !m.Whole() {
		return text, err
	}
	return m.laid(io.NewSectionReader(text, 0, mostUnpacked+1))
}

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
