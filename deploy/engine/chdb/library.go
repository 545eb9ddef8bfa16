package chdb

import (
	"errors"
	"fmt"
	"runtime"
	"unsafe"

	"github.com/ebitengine/purego"
)

// handle is an opaque pointer owned by the library. It is never Go memory.
type handle = unsafe.Pointer

// Library is an opened libchdb. Its methods may be called from several goroutines.
type Library struct {
	path string

	connect        func(argc int32, argv unsafe.Pointer) handle
	closeConn      func(conn handle)
	signalHandlers func(enabled int32)
	query          func(conn handle, sql unsafe.Pointer, sqlLen uintptr, format unsafe.Pointer, formatLen uintptr, names, nameLens, values,
		valueLens unsafe.Pointer, count uintptr) handle
	stream func(conn handle, sql unsafe.Pointer, sqlLen uintptr, format unsafe.Pointer, formatLen uintptr, names, nameLens, values,
		valueLens unsafe.Pointer, count uintptr) handle
	streamFetch  func(conn, stream handle) handle
	streamCancel func(conn, stream handle)
	insert       func(conn handle, sql unsafe.Pointer, sqlLen uintptr, format unsafe.Pointer, formatLen uintptr, names, nameLens, values,
		valueLens unsafe.Pointer, count uintptr) handle
	insertAppend  func(stream handle, data unsafe.Pointer, length uintptr) int32
	insertDone    func(stream handle) handle
	insertCancel  func(stream handle)
	insertError   func(stream handle) string
	insertDestroy func(stream handle)
	resultBuffer  func(result handle) unsafe.Pointer
	resultLength  func(result handle) uintptr
	resultError   func(result handle) string
	resultWritten func(result handle) uint64
	resultDestroy func(result handle)
}

// Load opens the shared library at path and binds its functions. It reports a file that cannot be loaded
// and a library without one of the functions, which is then of another version than this binding.
func Load(path string) (lib *Library, err error) {
	so, err := dlopen(path)
	if err != nil {
		return nil, fmt.Errorf("load the engine library %s: %w", path, err)
	}
	// purego panics on a symbol that is not there; for us that is a wrong file, which the user can mend.
	defer func() {
		if p := recover(); p != nil {
			lib, err = nil, fmt.Errorf("bind the engine library %s: %v (is it a libchdb of version 26.7?)", path, p)
		}
	}()
	l := &Library{path: path}
	for name, fn := range map[string]any{
		"chdb_connect":                     &l.connect,
		"chdb_close_conn":                  &l.closeConn,
		"chdb_set_signal_handlers_enabled": &l.signalHandlers,
		"chdb_query_with_params_n":         &l.query,
		"chdb_stream_query_with_params_n":  &l.stream,
		"chdb_stream_fetch_result":         &l.streamFetch,
		"chdb_stream_cancel_query":         &l.streamCancel,
		"chdb_stream_insert_with_params_n": &l.insert,
		"chdb_stream_append":               &l.insertAppend,
		"chdb_stream_done":                 &l.insertDone,
		"chdb_stream_cancel_insert":        &l.insertCancel,
		"chdb_stream_insert_error":         &l.insertError,
		"chdb_destroy_insert_stream":       &l.insertDestroy,
		"chdb_result_buffer":               &l.resultBuffer,
		"chdb_result_length":               &l.resultLength,
		"chdb_result_error":                &l.resultError,
		"chdb_result_rows_written":         &l.resultWritten,
		"chdb_destroy_query_result":        &l.resultDestroy,
	} {
		purego.RegisterLibFunc(fn, so, name)
	}
	// The Go runtime needs its own signal handlers; the engine must not replace them.
	l.signalHandlers(0)
	return l, nil
}

// Path returns the file that the library was loaded from.
func (l *Library) Path() string { return l.path }

// ErrConnect says that the engine refused a connection. The library gives no reason.
var ErrConnect = errors.New("the engine did not open")

// Connect opens a session. The first one boots the engine and takes the server's options (--path, which
// must be absolute, and --config-file); each may carry settings of its own session as --name=value.
func (l *Library) Connect(args ...string) (*Conn, error) {
	var pin runtime.Pinner
	defer pin.Unpin()
	argv := make([]unsafe.Pointer, 0, len(args)+1)
	for _, a := range append([]string{"clickhouse"}, args...) {
		b := append([]byte(a), 0)
		pin.Pin(&b[0])
		argv = append(argv, unsafe.Pointer(&b[0]))
	}
	pin.Pin(&argv[0])
	h := l.connect(int32(len(argv)), unsafe.Pointer(&argv[0]))
	if h == nil {
		return nil, ErrConnect
	}
	return &Conn{lib: l, handle: h}, nil
}
