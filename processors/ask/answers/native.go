package answers

import (
	"bufio"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"github.com/ClickHouse/ch-go/proto"
	"github.com/ClickHouse/clickhouse-go/v2"
)

// Reading millions of rows through a driver that scans them one value at a time
// costs more than what is computed from them. Over HTTP the engine sends its
// own blocks (FORMAT Native): columns of numbers as they stand in memory. They
// are taken from there straight into a row.

// native reads a result in blocks and puts one row after the other where it is
// wanted.
type native struct {
	names []string
	to    []any // *float64, *uint32, *uint16, *bool or *string
}

// nativeBlock is what one block holds, by column.
type nativeBlock struct {
	rows    int
	columns []nativeColumn
	err     error
}

// nativeColumn has the values of one column; which of them, the pointer that they
// go to says.
type nativeColumn struct {
	floats proto.ColFloat64
	u32    proto.ColUInt32
	u16    proto.ColUInt16
	flags  proto.ColBool
	texts  nativeTexts
}

// newNative prepares for columns of the given names that go to these pointers.
func newNative(names []string, to []any) (*native, error) {
	for i, p := range to {
		if kind, _ := (&nativeColumn{}).of(p); kind == "" {
			return nil, fmt.Errorf("column %s: a %T cannot be read from a block", names[i], p)
		}
	}
	return &native{names, to}, nil
}

// of is the type whose values go to a pointer, as the engine names it, and the column
// of numbers that reads them; none for texts, no type for a pointer of another kind.
func (c *nativeColumn) of(p any) (kind proto.ColumnType, numbers proto.ColResult) {
	switch p.(type) {
	case *float64:
		return proto.ColumnTypeFloat64, &c.floats
	case *uint32:
		return proto.ColumnTypeUInt32, &c.u32
	case *uint16:
		return proto.ColumnTypeUInt16, &c.u16
	case *bool:
		return proto.ColumnTypeBool, &c.flags
	case *string:
		return proto.ColumnTypeString, nil
	}
	return "", nil
}

const (
	mostBlockRows = 1 << 22 // so that a torn answer is not taken for a size
	mostWord      = 1 << 16 // bytes of a name or a type
	mostText      = 1 << 24 // of a value
	mostTexts     = 1 << 30 // of a column's values
)

// blockReader reads blocks: numbers by ch-go, texts and what frames them from the
// buffer that both share, so that no size is believed before it was looked at.
type blockReader struct {
	*proto.Reader
	buf *bufio.Reader
}

// newBlockReader reads from a body. The buffer is large enough that ch-go takes it.
func newBlockReader(body io.Reader) *blockReader {
	buf := bufio.NewReaderSize(body, 1<<18)
	return &blockReader{proto.NewReader(buf), buf}
}

// block reads the next block into b, whose memory it uses again. It returns
// io.EOF at the end.
func (n *native) block(r *blockReader, b *nativeBlock) error {
	if _, err := r.buf.Peek(1); err != nil {
		return err
	}
	columns, err := binary.ReadUvarint(r.buf)
	if err != nil {
		return torn(err)
	}
	rows, err := binary.ReadUvarint(r.buf)
	if err != nil {
		return torn(err)
	}
	if int(columns) != len(n.to) || rows > mostBlockRows {
		return fmt.Errorf("a block of %d columns and %d rows came, %d columns were asked for", columns, rows, len(n.to))
	}
	b.rows = int(rows)
	if b.columns == nil {
		b.columns = make([]nativeColumn, len(n.to))
	}
	for i, p := range n.to {
		into := &b.columns[i]
		want, numbers := into.of(p)
		if _, err := r.word(); err != nil { // the name, which is an expression
			return fmt.Errorf("column %s: %w", n.names[i], err)
		}
		kind, err := r.word()
		if err != nil {
			return fmt.Errorf("column %s: %w", n.names[i], err)
		}
		if kind != string(want) {
			return fmt.Errorf("column %s came as %q, expected %s", n.names[i], kind, want)
		}
		if numbers == nil {
			err = into.texts.read(r.buf, b.rows)
		} else {
			numbers.Reset()
			err = numbers.DecodeColumn(r.Reader, b.rows)
		}
		if err != nil {
			return fmt.Errorf("column %s: %w", n.names[i], torn(err))
		}
	}
	return nil
}

// word reads a name or a type.
func (r *blockReader) word() (string, error) {
	size, err := binary.ReadUvarint(r.buf)
	if err != nil {
		return "", torn(err)
	}
	if size > mostWord {
		return "", fmt.Errorf("a name of %d bytes came", size)
	}
	word := make([]byte, size)
	_, err = io.ReadFull(r.buf, word)
	return string(word), torn(err)
}

func torn(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// row puts row i of a block where it is wanted. A text that equals the one before
// stays the same string, so that a player's name is made once.
func (n *native) row(b *nativeBlock, i int) {
	for c, p := range n.to {
		from := &b.columns[c]
		switch p := p.(type) {
		case *float64:
			*p = from.floats[i]
		case *uint32:
			*p = from.u32[i]
		case *uint16:
			*p = from.u16[i]
		case *bool:
			*p = from.flags[i]
		case *string:
			if text := from.texts.row(i); *p != string(text) {
				*p = string(text)
			}
		}
	}
}

// blocksAhead is how many blocks a reader is ahead of its rows.
const blocksAhead = 2

// native streams a query's rows: each time do is called the row stands where to
// points. ok is false, and nothing was read, where the connection cannot send
// blocks this way.
func (f *Fleet) native(ctx context.Context, sql string, names []string, to []any, do func() error) (ok bool, err error) {
	n, err := newNative(names, to)
	if err != nil {
		return true, err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	body, err := f.store.Conn().QueryFormat(ctx, "Native", sql)
	if errors.Is(err, clickhouse.ErrFormatNativeUnsupported) {
		return false, nil
	}
	if err != nil {
		return true, err
	}
	free, full := make(chan *nativeBlock, blocksAhead), make(chan *nativeBlock, blocksAhead)
	for range blocksAhead {
		free <- &nativeBlock{}
	}
	go func() {
		defer close(full)
		r := newBlockReader(body)
		for {
			var b *nativeBlock
			select {
			case b = <-free:
			case <-ctx.Done():
				return
			}
			if b.err = n.block(r, b); b.err != nil {
				full <- b // there is room: as many as there are blocks
				return
			}
			full <- b
		}
	}()
	defer func() {
		cancel()
		for range full { // until the goroutine has ended
		}
		body.Close()
	}()
	for b := range full {
		if errors.Is(b.err, io.EOF) {
			return true, nil
		}
		if b.err != nil {
			return true, b.err
		}
		for i := range b.rows {
			n.row(b, i)
			if err := do(); err != nil {
				return true, err
			}
		}
		free <- b
	}
	return true, ctx.Err()
}
