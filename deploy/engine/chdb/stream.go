package chdb

import "strings"

// Stream is a running SELECT whose output is fetched piece by piece.
type Stream struct {
	conn   *Conn
	result handle
	piece  handle
	ended  bool
}

// Stream starts a SELECT. Each piece is formatted on its own, so only formats without a head or a tail
// (Native, TabSeparated, CSV, JSONEachRow, RowBinary) give a sound whole.
func (c *Conn) Stream(sql, format string, params ...Param) (*Stream, error) {
	r := c.call(c.lib.stream, sql, format, params)
	if err := engineError(c.lib.resultError(r)); err != nil {
		c.lib.resultDestroy(r)
		return nil, err
	}
	return &Stream{conn: c, result: r}, nil
}

// NotStreamable reports whether Stream refused the kind of statement; nothing was executed then.
func NotStreamable(err error) bool {
	return err != nil && strings.Contains(err.Error(), "Streaming query is not supported")
}

// Next returns the next piece, and nothing at the end. The memory belongs to the library and is valid
// until the following call of Next or Close.
func (s *Stream) Next() ([]byte, error) {
	s.release()
	if s.ended {
		return nil, nil
	}
	s.piece = s.conn.lib.streamFetch(s.conn.session(), s.result)
	if err := engineError(s.conn.lib.resultError(s.piece)); err != nil {
		s.ended = true
		return nil, err
	}
	out := s.conn.lib.output(s.piece)
	s.ended = len(out) == 0
	return out, nil
}

// Close ends the statement, cancelling what has not been fetched, and frees the connection.
func (s *Stream) Close() {
	if s.result == nil {
		return
	}
	s.release()
	if !s.ended {
		s.conn.lib.streamCancel(s.conn.session(), s.result)
	}
	s.conn.lib.resultDestroy(s.result)
	s.result = nil
}

func (s *Stream) release() {
	if s.piece != nil {
		s.conn.lib.resultDestroy(s.piece)
		s.piece = nil
	}
}
