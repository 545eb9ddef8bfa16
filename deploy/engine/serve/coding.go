package serve

import (
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"github.com/ClickHouse/ch-go/compress"
)

// decode undoes the packings of a request's body: gzip by its header, ClickHouse's own blocks by decompress=1.
func decode(in io.Reader, packing string, q options) (io.Reader, error) {
	switch enc := strings.ToLower(packing); enc {
	case "", "identity":
	case "gzip":
		z, err := gzip.NewReader(in)
		if err != nil {
			return nil, fmt.Errorf("body is not gzip: %w", err)
		}
		in = z
	default:
		return nil, fmt.Errorf("body packed as %q: only gzip and ClickHouse's own blocks (decompress=1) are understood", enc)
	}
	if q.decompress {
		counted := &counter{Reader: in}
		in = &blocks{raw: counted, unpacked: compress.NewReader(counted)}
	}
	return in, nil
}

// blocks unpacks ClickHouse's own blocks. Their reader says EOF, wrapped, at the end as well as in the middle
// of a block; here only the end between two blocks is one.
type blocks struct {
	raw      *counter
	unpacked io.Reader
	consumed int64
}

func (b *blocks) Read(p []byte) (int, error) {
	n, err := b.unpacked.Read(p)
	if errors.Is(err, io.EOF) {
		if b.raw.n == b.consumed {
			return n, io.EOF
		}
		return n, io.ErrUnexpectedEOF
	}
	b.consumed = b.raw.n
	return n, err
}

type counter struct {
	io.Reader
	n int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.Reader.Read(p)
	c.n += int64(n)
	return n, err
}

// output writes a response's body, packed as the client wished. Send hands a piece over to the network.
type output struct {
	http   *http.ResponseController
	w      io.Writer
	zip    *gzip.Writer
	blocks *compress.Writer
}

func encode(w http.ResponseWriter, r *http.Request, q options) *output {
	o := &output{http: http.NewResponseController(w), w: w}
	if q.compressHTTP && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		w.Header().Set("Content-Encoding", "gzip")
		o.zip, _ = gzip.NewWriterLevel(w, gzip.BestSpeed)
		o.w = o.zip
	}
	if q.compress {
		o.blocks = compress.NewWriter(compress.LevelZero, compress.LZ4)
	}
	return o
}

func (o *output) send(p []byte) error {
	if o.blocks != nil {
		if err := o.blocks.Compress(p); err != nil {
			return err
		}
		p = o.blocks.Data
	}
	if _, err := o.w.Write(p); err != nil {
		return err
	}
	if o.zip != nil {
		if err := o.zip.Flush(); err != nil {
			return err
		}
	}
	return o.http.Flush()
}

func (o *output) close() error {
	if o.zip != nil {
		return o.zip.Close()
	}
	return nil
}
