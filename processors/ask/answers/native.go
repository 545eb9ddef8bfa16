package answers

import (
	"bufio"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/ClickHouse/clickhouse-go/v2"
)

// Reading millions of rows through a driver that scans them one value at a time
// costs more than what is computed from them. Over HTTP the engine sends its
// own blocks (FORMAT Native): columns of numbers as they stand in memory. They
// are taken from there straight into a row.

// native reads a result in blocks and puts one row after the other where it is
// wanted.
type native struct {
	texts  []nativeTexts
	fields []nativeField
}

// nativeField is a column of numbers and where its value goes.
type nativeField struct {
	name  string
	kind  string // as the engine names it
	size  int
	float *float64
	u32   *uint32
	u16   *uint16
	flag  *bool
	text  int // −1, or which of the texts it is
}

// nativeTexts is a column of texts; a text equal to the one before is the same
// string, so that a player's name is made once.
type nativeTexts struct{ to *string }

// nativeBlock is what one block holds, by column.
type nativeBlock struct {
	rows int
	data [][]byte  // numbers; texts behind each other
	ends [][]int32 // of texts
	err  error
}

// newNative prepares for columns of the given names that go to these pointers.
func newNative(names []string, to []any) (*native, error) {
	n := &native{}
	for i, p := range to {
		f := nativeField{name: names[i], text: -1}
		switch p := p.(type) {
		case *float64:
			f.kind, f.size, f.float = "Float64", 8, p
		case *uint32:
			f.kind, f.size, f.u32 = "UInt32", 4, p
		case *uint16:
			f.kind, f.size, f.u16 = "UInt16", 2, p
		case *bool:
			f.kind, f.size, f.flag = "Bool", 1, p
		case *string:
			f.kind, f.text = "String", len(n.texts)
			n.texts = append(n.texts, nativeTexts{p})
		default:
			return nil, fmt.Errorf("column %s: a %T cannot be read from a block", names[i], p)
		}
		n.fields = append(n.fields, f)
	}
	return n, nil
}

// mostBlockRows bounds a block, so that a torn answer is not taken for a size.
const mostBlockRows = 1 << 22

// block reads the next block into b, whose memory it uses again. It returns
// io.EOF at the end.
func (n *native) block(r *bufio.Reader, b *nativeBlock) error {
	columns, err := binary.ReadUvarint(r)
	if err != nil {
		return err
	}
	rows, err := binary.ReadUvarint(r)
	if err != nil {
		return torn(err)
	}
	if int(columns) != len(n.fields) || rows > mostBlockRows {
		return fmt.Errorf("a block of %d columns and %d rows came, %d columns were asked for", columns, rows, len(n.fields))
	}
	b.rows = int(rows)
	if b.data == nil {
		b.data, b.ends = make([][]byte, len(n.fields)), make([][]int32, len(n.fields))
	}
	for i, f := range n.fields {
		if _, err := n.word(r, b, i); err != nil { // the name, which is an expression
			return err
		}
		kind, err := n.word(r, b, i)
		if err != nil {
			return err
		}
		if string(kind) != f.kind {
			return fmt.Errorf("column %s came as %q, expected %s", f.name, kind, f.kind)
		}
		if f.text < 0 {
			b.data[i] = sized(b.data[i], b.rows*f.size)
			if _, err := io.ReadFull(r, b.data[i]); err != nil {
				return torn(err)
			}
			continue
		}
		data, ends := b.data[i][:0], b.ends[i][:0]
		for range b.rows {
			size, err := binary.ReadUvarint(r)
			if err != nil {
				return torn(err)
			}
			if size > 1<<24 || len(data) > 1<<30 {
				return fmt.Errorf("column %s: a text of %d bytes came", f.name, size)
			}
			from := len(data)
			if seen, err := r.Peek(int(size)); err == nil { // mostly: it lies in the buffer
				data = append(data, seen...)
				_, _ = r.Discard(int(size))
			} else {
				data = append(data, make([]byte, size)...)
				if _, err := io.ReadFull(r, data[from:]); err != nil {
					return torn(err)
				}
			}
			ends = append(ends, int32(len(data)))
		}
		b.data[i], b.ends[i] = data, ends
	}
	return nil
}

// word reads a name or type of column i.
func (n *native) word(r *bufio.Reader, b *nativeBlock, i int) ([]byte, error) {
	size, err := binary.ReadUvarint(r)
	if err != nil {
		return nil, torn(err)
	}
	if size > 1<<16 {
		return nil, fmt.Errorf("column %s: a name of %d bytes came", n.fields[i].name, size)
	}
	b.data[i] = sized(b.data[i], int(size))
	_, err = io.ReadFull(r, b.data[i])
	return b.data[i], torn(err)
}

func sized(b []byte, n int) []byte {
	if cap(b) < n {
		return make([]byte, n)
	}
	return b[:n]
}

func torn(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// row puts row i of a block where it is wanted.
func (n *native) row(b *nativeBlock, i int) {
	for c := range n.fields {
		f := &n.fields[c]
		switch data := b.data[c]; f.size {
		case 8:
			*f.float = math.Float64frombits(binary.LittleEndian.Uint64(data[8*i:]))
		case 4:
			*f.u32 = binary.LittleEndian.Uint32(data[4*i:])
		case 2:
			*f.u16 = binary.LittleEndian.Uint16(data[2*i:])
		case 1:
			*f.flag = data[i] != 0
		default:
			from, to := int32(0), b.ends[c][i]
			if i > 0 {
				from = b.ends[c][i-1]
			}
			if p := n.texts[f.text].to; *p != string(data[from:to]) {
				*p = string(data[from:to])
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
		r := bufio.NewReaderSize(body, 1<<18)
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
