package chdb

import (
	"runtime"
	"unsafe"
)

// Conn is a session with the engine. It runs one statement at a time and is not safe for concurrent use.
type Conn struct {
	lib    *Library
	handle handle
}

// Close ends the session. Every Stream and Insert of it must be closed before.
func (c *Conn) Close() {
	if c.handle != nil {
		c.lib.closeConn(c.handle)
		c.handle = nil
	}
}

// session dereferences the connection: the library hands out a pointer to the handle that it wants back.
func (c *Conn) session() handle { return *(*handle)(c.handle) }

// Param is a value for a {name:Type} placeholder, as text.
type Param struct{ Name, Value string }

// Query runs a statement and returns its whole output, formatted as format unless the statement says
// otherwise. Nothing bounds the output but the settings of the session: use Stream for results of any size.
func (c *Conn) Query(sql, format string, params ...Param) ([]byte, error) {
	r := c.call(c.lib.query, sql, format, params)
	defer c.lib.resultDestroy(r)
	if err := engineError(c.lib.resultError(r)); err != nil {
		return nil, err
	}
	return append([]byte(nil), c.lib.output(r)...), nil
}

type statementFunc = func(conn handle, sql unsafe.Pointer, sqlLen uintptr, format unsafe.Pointer, formatLen uintptr, names, nameLens,
	values, valueLens unsafe.Pointer, count uintptr) handle

// call lays the arguments out as the library wants them: counted strings, and arrays of them.
func (c *Conn) call(fn statementFunc, sql, format string, params []Param) handle {
	var pin runtime.Pinner
	defer pin.Unpin()
	text := func(s string) unsafe.Pointer {
		// One byte more, so that the empty string has an address as well.
		b := append([]byte(s), 0)
		pin.Pin(&b[0])
		return unsafe.Pointer(&b[0])
	}
	var names, nameLens, values, valueLens unsafe.Pointer
	if n := len(params); n > 0 {
		ptrs := make([]unsafe.Pointer, 2*n)
		lens := make([]uintptr, 2*n)
		for i, p := range params {
			ptrs[i], lens[i] = text(p.Name), uintptr(len(p.Name))
			ptrs[n+i], lens[n+i] = text(p.Value), uintptr(len(p.Value))
		}
		pin.Pin(&ptrs[0])
		pin.Pin(&lens[0])
		names, values = unsafe.Pointer(&ptrs[0]), unsafe.Pointer(&ptrs[n])
		nameLens, valueLens = unsafe.Pointer(&lens[0]), unsafe.Pointer(&lens[n])
	}
	return fn(c.session(), text(sql), uintptr(len(sql)), text(format), uintptr(len(format)),
		names, nameLens, values, valueLens, uintptr(len(params)))
}

// output is the memory of a result, owned by the library and valid until the result is destroyed.
func (l *Library) output(r handle) []byte {
	n := l.resultLength(r)
	if n == 0 {
		return nil
	}
	return unsafe.Slice((*byte)(l.resultBuffer(r)), n)
}
