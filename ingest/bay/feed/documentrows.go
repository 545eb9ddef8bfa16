package feed

import (
	"bytes"
	"encoding/binary"
	"os"

	"fairlead/ingest/log/durable"
)

// rowCounts says how often each row stands in a document, by its hash.
type rowCounts map[uint64]uint32

// rowsMark begins a file of counts; its sum ends it.
const rowsMark = "rows 1\n"

// loadRows reads what saveRows wrote. What is not whole says nothing: all rows
// are then read again, with the identities that they had.
func loadRows(path string) rowCounts {
	if path == "" {
		return nil
	}
	data, err := os.ReadFile(path)
	body, ok := bytes.CutPrefix(data, []byte(rowsMark))
	if err != nil || !ok || len(body) < 8 || len(body)%12 != 8 {
		return nil
	}
	body, sum := body[:len(body)-8], binary.LittleEndian.Uint64(body[len(body)-8:])
	if lineHash(body) != sum {
		return nil
	}
	out := make(rowCounts, len(body)/12)
	for ; len(body) > 0; body = body[12:] {
		out[binary.LittleEndian.Uint64(body)] = binary.LittleEndian.Uint32(body[8:])
	}
	return out
}

func saveRows(path string, rows rowCounts) error {
	if path == "" {
		return nil
	}
	body := make([]byte, 0, 12*len(rows))
	for key, n := range rows {
		body = binary.LittleEndian.AppendUint32(binary.LittleEndian.AppendUint64(body, key), n)
	}
	out := append([]byte(rowsMark), body...)
	return durable.WriteFile(path, binary.LittleEndian.AppendUint64(out, lineHash(body)), 0o600)
}
