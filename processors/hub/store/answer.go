package store

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"

	"github.com/ClickHouse/clickhouse-go/v2"
)

// answers reads what the server says to a statement over HTTP, because the
// status alone is not enough: a server that failed after it had sent the head
// says 200 and puts the error into the body, and the driver does not look at
// the body of an insert. Such an answer becomes the error that it is.
type answers struct{ *http.Transport }

// longestError bounds what is read of an insert's answer, which is empty when all is well.
const longestError = 64 << 10

func (a answers) RoundTrip(r *http.Request) (*http.Response, error) {
	resp, err := a.Transport.RoundTrip(r)
	if err != nil || resp.StatusCode != http.StatusOK {
		return resp, err
	}
	if code := resp.Header.Get("X-ClickHouse-Exception-Code"); code != "" && code != "0" {
		resp.StatusCode = http.StatusInternalServerError
		return resp, nil
	}
	if !strings.HasPrefix(strings.TrimSpace(r.URL.Query().Get("query")), "INSERT") {
		return resp, nil
	}
	text, err := io.ReadAll(io.LimitReader(resp.Body, longestError))
	resp.Body.Close()
	if err != nil {
		return nil, fmt.Errorf("the answer to an insert broke off: %w", err)
	}
	if bytes.Contains(text, []byte("Exception")) {
		resp.StatusCode = http.StatusInternalServerError
	}
	resp.Body = io.NopCloser(bytes.NewReader(text))
	return resp, nil
}

// ErrBusy says of a store that it answers, but nobody else for the moment.
var ErrBusy = errors.New("all of this process's connections to it are in use: it has too much to do, or stands still; ask again")

// plain leaves the address out of a failed request: it holds the whole statement.
func plain(err error) error {
	if errors.Is(err, clickhouse.ErrAcquireConnTimeout) {
		return ErrBusy
	}
	var u *url.Error
	if errors.As(err, &u) {
		return fmt.Errorf("%s: %w", Redact(u.URL[:min(len(u.URL), strings.IndexByte(u.URL+"?", '?'))]), u.Err)
	}
	return err
}
