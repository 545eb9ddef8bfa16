package store

import (
	"context"
	"fmt"
	"time"
)

// LogMark is the last message that was seen in a stream of the log.
type LogMark struct {
	Stream string
	Seq    uint64
	Sent   time.Time // when the broker took it
}

// LogMarks returns the marks of a studio's streams, by stream.
func (s *Store) LogMarks(ctx context.Context, studio string) (map[string]LogMark, error) {
	rows, err := s.conn.Query(ctx, "SELECT stream, seq, toUnixTimestamp64Nano(sent) FROM log_marks FINAL WHERE studio = ?", studio)
	if err != nil {
		return nil, fmt.Errorf("marks of the log: %w", err)
	}
	defer rows.Close()
	out := map[string]LogMark{}
	for rows.Next() {
		var m LogMark
		var sent int64
		if err := rows.Scan(&m.Stream, &m.Seq, &sent); err != nil {
			return nil, fmt.Errorf("marks of the log: %w", err)
		}
		m.Sent = time.Unix(0, sent).UTC()
		out[m.Stream] = m
	}
	return out, rows.Err()
}

// SetLogMark remembers a stream's last message.
func (s *Store) SetLogMark(ctx context.Context, studio string, m LogMark) error {
	batch, err := s.conn.PrepareBatch(ctx, "INSERT INTO log_marks (studio, stream, seq, sent)")
	if err == nil {
		if err = batch.Append(studio, m.Stream, m.Seq, m.Sent.UTC()); err == nil {
			err = batch.Send()
		}
	}
	if err != nil {
		return fmt.Errorf("set the mark of the log: %w", err)
	}
	return nil
}
