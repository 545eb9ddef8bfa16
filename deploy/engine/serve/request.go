package serve

import (
	"fmt"
	"io"
	"net/http"
	"time"
)

const (
	// headLength is how much of a body is searched for the end of an INSERT statement.
	headLength = 256 << 10
	// statementLength bounds a statement; the engine's own bound (max_query_size) is lower unless it is raised.
	statementLength = 8 << 20
	// patience is how long a client may not read or write before it is given up.
	patience = 2 * time.Minute
)

func (s *Server) readBody(w http.ResponseWriter, r *http.Request, o options, most int64) (*Body, error) {
	sent := &counter{Reader: r.Body}
	in, err := decode(sent, r.Header.Get("Content-Encoding"), o)
	if err != nil {
		return nil, err
	}
	return s.spool.Read(&patient{&bounded{in: in, sent: sent, most: most}, http.NewResponseController(w)})
}

const (
	// unpacking is how many times as long as what was sent a body may become, once it is longer than unpackFree.
	// ClickHouse's blocks reach 250 for rows that are all the same, gzip 1000; real rows stay below 30.
	unpacking  = 64
	unpackFree = 64 << 20
	// hearing is how much more is taken of a body that is too long.
	hearing = 8 << 20
)

// tooLong refuses a body for its length.
type tooLong struct{ text string }

func (e *tooLong) Error() string { return e.text }

// bounded ends a body that is longer than it may be, or that grows out of all proportion to what was sent.
type bounded struct {
	in   io.Reader
	sent *counter
	most int64
	n    int64
}

func (b *bounded) Read(p []byte) (int, error) {
	n, err := b.in.Read(p)
	b.n += int64(n)
	if b.n > b.most {
		// Who is cut off while sending does not hear the answer: a little more is taken, and thrown away.
		_, _ = io.CopyN(io.Discard, b.in, hearing)
		return 0, &tooLong{fmt.Sprintf("the body is longer than %d bytes: send it in several requests", b.most)}
	}
	if b.n > unpackFree && b.n > unpacking*b.sent.n {
		return 0, &tooLong{fmt.Sprintf("the body unpacks to more than %d times its length: send it in several requests, or unpacked", unpacking)}
	}
	return n, err
}

// patient gives each read its time, so that a client that stalls does not hold its place for ever.
type patient struct {
	io.Reader
	http *http.ResponseController
}

func (p *patient) Read(b []byte) (int, error) {
	_ = p.http.SetReadDeadline(time.Now().Add(patience))
	n, err := p.Reader.Read(b)
	if err != nil {
		_ = p.http.SetReadDeadline(time.Time{})
	}
	return n, err
}

// request is a statement with its rows: first those that stood behind it in the URL, then those of the body.
type request struct {
	Statement
	inline string
	body   *Body
	offset int
}

// split puts the statement together from ?query= and the body, as ClickHouse does, and finds its rows.
func split(query string, body *Body) (request, error) {
	if query != "" {
		query += "\n"
	}
	begin := query + string(body.Head(headLength))
	st, err := Parse(begin)
	if st.Rows || body.Size() <= headLength {
		req := request{Statement: st, body: body}
		if st.Rows && st.Offset < len(query) {
			req.inline = query[st.Offset:]
		}
		req.offset = max(0, st.Offset-len(query))
		return req, err
	}
	// No rows in sight: all of it has to be the statement.
	if body.Size() > statementLength {
		return request{}, fmt.Errorf("Code: 62. DB::Exception: a statement of %d bytes is too long: only the rows of an "+
			"INSERT … FORMAT … may be that long. (SYNTAX_ERROR)", body.Size())
	}
	st, err = Parse(query + string(body.Head(statementLength)))
	return request{Statement: st, body: body, offset: max(0, st.Offset-len(query))}, err
}

// rows calls f with the rows, piece by piece.
func (r request) rows(f func([]byte) error) error {
	if r.inline != "" {
		if err := f([]byte(r.inline)); err != nil {
			return err
		}
	}
	return r.body.Pieces(r.offset, f)
}
