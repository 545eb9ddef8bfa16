package page

import (
	"net/http"

	"github.com/klauspost/compress/gzhttp"
)

// Compressed sends what a browser can read compressed so, live events too: a
// stream of them is one stream of the compressor, so that what a page has seen
// already costs next to nothing when it is sent again.
func Compressed(next http.Handler) http.Handler { return gzhttp.GzipHandler(next) }
