package chdb

import (
	"errors"
	"runtime"
	"unsafe"
)

// Insert is an INSERT that takes its rows piece by piece.
type Insert struct {
	conn   *Conn
	handle handle
}

// Insert starts an INSERT statement, which carries neither FORMAT clause nor rows; the rows are appended in
// the given input format. Done or Cancel must follow.
func (c *Conn) Insert(sql, format string, params ...Param) (*Insert, error) {
	h := c.call(c.lib.insert, sql, format, params)
	if err := engineError(c.lib.insertError(h)); err != nil {
		c.lib.insertDestroy(h)
		return nil, err
	}
	return &Insert{conn: c, handle: h}, nil
}

// Append hands over the next bytes; they are copied. It waits while the engine is busy.
func (i *Insert) Append(rows []byte) error {
	if len(rows) == 0 {
		return nil
	}
	state := i.conn.lib.insertAppend(i.handle, unsafe.Pointer(&rows[0]), uintptr(len(rows)))
	runtime.KeepAlive(rows)
	if state != 0 {
		if err := engineError(i.conn.lib.insertError(i.handle)); err != nil {
			return err
		}
		return errors.New("the engine takes no more rows for this insert")
	}
	return nil
}

// Done commits the rows and returns how many were written, views included.
func (i *Insert) Done() (rows uint64, err error) {
	r := i.conn.lib.insertDone(i.handle)
	defer i.free()
	defer i.conn.lib.resultDestroy(r)
	if err := engineError(i.conn.lib.resultError(r)); err != nil {
		return 0, err
	}
	return i.conn.lib.resultWritten(r), nil
}

// Cancel drops the rows that were appended. It does nothing after Done.
func (i *Insert) Cancel() {
	if i.handle == nil {
		return
	}
	i.conn.lib.insertCancel(i.handle)
	i.free()
}

func (i *Insert) free() {
	i.conn.lib.insertDestroy(i.handle)
	i.handle = nil
}
