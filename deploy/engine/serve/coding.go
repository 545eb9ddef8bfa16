package serve

import (
	"compress/gzip"
	"fmt"
	"io"
	"net/http"
	"strings"

	"github.com/ClickHouse/ch-go/compress"
	"github.com/ClickHouse/ch-go/proto"
)

// decode undoes the packings of a request's body: gzip by its header, ClickHouse's own blocks by decompress=1.
func decode(r *http.Request, q options) (io.Reader, error) {
	var in io.Reader = r.Body
	switch enc := strings.ToLower(r.Header.Get("Content-Encoding")); enc {
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
		p := proto.NewReader(in)
		p.EnableCompression()
		in = p
	}
	return in, nil
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
