package export

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io"

	"fairlead/ingest/contract/cell"
	"fairlead/ingest/log/vault"
)

// namedColumns are the names that may be added, and the pseudonyms they are of.
var namedColumns = []struct{ of, column string }{{"player", "player_name"}, {"fitter", "fitter_name"}}

// Names are what the hub alone knows: who is behind pseudonyms, and the keys of what
// people wrote.
type Names struct {
	By   map[string]string
	Keys *vault.Ring
}

// rowWriter passes rows on and counts them.
type rowWriter interface {
	io.WriteCloser
	rows() int64
}

func counterOf(w io.Writer, f Format, header []string, names *Names) rowWriter {
	switch {
	case f == NDJSON:
		return &lines{w: w, names: names}
	case f == CSV:
		return newRecords(w, header, names)
	}
	return &opaque{w}
}

type opaque struct{ io.Writer }

func (opaque) Close() error { return nil }
func (opaque) rows() int64  { return -1 }

// lines counts, and names, objects that stand one on a line.
type lines struct {
	w     io.Writer
	names *Names
	part  []byte // of a line that is not complete
	n     int64
}

func (l *lines) Write(p []byte) (int, error) {
	if l.names == nil {
		l.n += int64(bytes.Count(p, []byte{'\n'}))
		return l.w.Write(p)
	}
	l.part = append(l.part, p...)
	var out []byte
	rest := l.part
	for {
		i := bytes.IndexByte(rest, '\n')
		if i < 0 {
			break
		}
		l.n++
		line, err := named(opened(rest[:i], l.names.Keys), l.names.By)
		if err != nil {
			return 0, err
		}
		out = append(append(out, line...), '\n')
		rest = rest[i+1:]
	}
	l.part = append(l.part[:0], rest...)
	if _, err := l.w.Write(out); err != nil {
		return 0, err
	}
	return len(p), nil
}

func (l *lines) Close() error {
	if len(l.part) > 0 {
		return errors.New("the last line is cut")
	}
	return nil
}

func (l *lines) rows() int64 { return l.n }

// named adds the names to an object.
func named(line []byte, names map[string]string) ([]byte, error) {
	var row map[string]json.RawMessage
	if err := json.Unmarshal(line, &row); err != nil {
		return nil, err
	}
	out := bytes.TrimSuffix(bytes.TrimSpace(line), []byte("}"))
	for _, n := range namedColumns {
		var id string
		raw, ok := row[n.of]
		if !ok || json.Unmarshal(raw, &id) != nil {
			continue
		}
		text, err := json.Marshal(map[string]string{n.column: names[id]})
		if err != nil {
			return nil, err
		}
		out = append(append(out[:len(out):len(out)], ','), text[1:len(text)-1]...)
	}
	return append(out, '}'), nil
}

// records puts a header before the records of a CSV, counts and names them. It
// reads them as CSV: a line end may stand in a quoted field.
type records struct {
	pipe *io.PipeWriter
	done chan error
	n    int64
}

func newRecords(w io.Writer, header []string, names *Names) *records {
	in, pipe := io.Pipe()
	r := &records{pipe: pipe, done: make(chan error, 1)}
	go func() {
		err := r.copy(w, in, header, names)
		in.CloseWithError(err)
		r.done <- err
	}()
	return r
}

func (r *records) copy(w io.Writer, in io.Reader, head []string, names *Names) error {
	from, to := csv.NewReader(in), csv.NewWriter(w)
	from.ReuseRecord, from.FieldsPerRecord = true, len(head)
	var of []int // columns of the pseudonyms
	row := append([]string(nil), head...)
	if names != nil {
		for _, n := range namedColumns {
			for i, c := range head {
				if c == n.of {
					of = append(of, i)
					row = append(row, n.column)
				}
			}
		}
	}
	for {
		if err := to.Write(row); err != nil {
			return err
		}
		record, err := from.Read()
		if errors.Is(err, io.EOF) {
			to.Flush()
			return to.Error()
		}
		if err != nil {
			return err
		}
		r.n++
		row = append(row[:0], record...)
		if names != nil {
			for i := range row {
				row[i] = openedCell(head[i], row[i], names.Keys)
			}
		}
		for _, i := range of {
			row = append(row, names.By[record[i]])
		}
		cell.Row(row)
	}
}

func (r *records) Write(p []byte) (int, error) { return r.pipe.Write(p) }

func (r *records) Close() error {
	r.pipe.Close()
	return <-r.done
}

func (r *records) rows() int64 { return r.n }
