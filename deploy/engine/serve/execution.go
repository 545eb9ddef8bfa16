package serve

import (
	"errors"
	"net/http"
	"strconv"
	"strings"
	"time"

	"fairlead/deploy/engine"
	"fairlead/deploy/engine/chdb"
)

// execution is one statement on its way through the engine.
type execution struct {
	server  *Server
	w       http.ResponseWriter
	r       *http.Request
	options options
	request request
	user    engine.User
	lane    *lane

	out *output
	tag string
}

// streamed are the formats whose pieces, formatted one by one, make the whole.
var streamed = []string{"native", "tabseparated", "tsv", "tabseparatedraw", "tsvraw", "csv",
	"jsoneachrow", "jsonlines", "ndjson", "jsoncompacteachrow", "jsonstringseachrow", "rowbinary", "null"}

// maxWhole bounds a result that has to be put together in memory.
const maxWhole = "268435456"

func (x *execution) kind() string {
	switch x.request.Keyword {
	case "insert":
		return "insert"
	case "select", "with", "from", "show", "describe", "desc", "exists", "explain":
		return "select"
	}
	return "other"
}

func (x *execution) format() string {
	if x.request.Format != "" {
		return x.request.Format
	}
	return x.options.format
}

// streams says whether the output can be cut into pieces.
func (x *execution) streams() bool {
	if k := x.request.Keyword; k != "select" && k != "with" && k != "from" {
		return false
	}
	for _, s := range x.options.settings {
		if s.name == "output_format_json_array_of_rows" {
			return false
		}
	}
	if strings.Contains(x.request.SQL, "output_format_json_array_of_rows") {
		return false
	}
	f := strings.ToLower(x.format())
	for _, name := range streamed {
		if f == name {
			return true
		}
	}
	return false
}

func (x *execution) run() error {
	ctx, pool := x.r.Context(), x.server.pool
	if err := x.judge(); err != nil {
		return err
	}
	streams := x.streams()
	if x.kind() == "select" && !streams && !x.has("max_result_bytes") {
		x.options.settings = append(x.options.settings, setting{"max_result_bytes", maxWhole})
	}
	on, err := pool.take(ctx, x.lane)
	if err != nil {
		return err
	}
	defer pool.give(on)
	who := ""
	if x.user.Purpose != engine.Pipeline {
		who = "user " + x.user.Name + ";"
	}
	if err := on.prepare(x.options, pool.database, who); err != nil {
		return err
	}
	if x.request.Rows {
		return x.insert(on)
	}
	defer x.server.watch(ctx, on)()
	if streams {
		err := x.stream(on)
		if !chdb.NotStreamable(err) {
			return err
		}
	}
	// Whatever is no plain SELECT may change the session.
	on.used = true
	return x.whole(on)
}

// judge refuses what is not for the user, and puts the text that was judged in the statement's place.
func (x *execution) judge() error {
	if !x.lane.judged {
		return nil
	}
	if db := x.options.database; db != "" && db != x.server.pool.database && !x.lane.reach.everywhere {
		return forbidden("database %s is not for this user.", db)
	}
	j := x.server.pool.judge
	if x.request.Rows {
		return j.rows(x.request.SQL, x.lane.reach)
	}
	text, err := j.read(x.request.SQL, x.options.params, x.lane.reach)
	if err != nil {
		return err
	}
	if x.request.Statement, err = Parse(text); err != nil {
		return err
	}
	x.options.settings, err = x.lane.own(x.options.settings)
	return err
}

func (x *execution) has(name string) bool {
	for _, s := range x.options.settings {
		if s.name == name {
			return true
		}
	}
	return false
}

// insert feeds the rows to the engine. They are all here (Body), so only the engine's own refusal can stop it.
func (x *execution) insert(on *session) error {
	in, err := on.Insert(x.request.SQL, x.request.Format, x.options.params...)
	if err != nil {
		return err
	}
	defer in.Cancel()
	if err := x.request.rows(in.Append); err != nil {
		return err
	}
	rows, err := in.Done()
	if err != nil {
		return err
	}
	x.server.metrics.rows.Add(float64(rows))
	x.server.metrics.received.Add(float64(x.request.body.Size()))
	x.w.Header().Set("X-ClickHouse-Summary", `{"written_rows":"`+strconv.FormatUint(rows, 10)+`"}`)
	x.head()
	return nil
}

func (x *execution) stream(on *session) error {
	st, err := on.Stream(x.request.SQL, x.options.format, x.options.params...)
	if err != nil {
		return err
	}
	defer st.Close()
	for {
		piece, err := st.Next()
		if err != nil {
			return err
		}
		if len(piece) == 0 {
			break
		}
		if err := x.send(piece); err != nil {
			return err
		}
	}
	return x.end()
}

func (x *execution) whole(on *session) error {
	out, err := on.Query(x.request.SQL, x.options.format, x.options.params...)
	if err != nil {
		return err
	}
	if len(out) > 0 {
		if err := x.send(out); err != nil {
			return err
		}
	}
	return x.end()
}

// head sets what every answer carries.
func (x *execution) head() {
	h := x.w.Header()
	h.Set("X-ClickHouse-Server-Display-Name", "fairlead-engine")
	h.Set("X-ClickHouse-Timezone", "UTC")
	h.Set("X-ClickHouse-Format", x.format())
	if x.options.queryID != "" {
		h.Set("X-ClickHouse-Query-Id", x.options.queryID)
	}
}

func (x *execution) send(p []byte) error {
	if x.out == nil {
		x.head()
		h := x.w.Header()
		h.Set("Content-Type", contentType(x.format()))
		x.tag = exceptionTag()
		h.Set("X-ClickHouse-Exception-Tag", x.tag)
		x.out = encode(x.w, x.r, x.options)
	}
	_ = x.out.http.SetWriteDeadline(time.Now().Add(patience))
	x.server.metrics.sent.Add(float64(len(p)))
	return x.out.send(p)
}

func (x *execution) end() error {
	if x.out != nil {
		return x.out.close()
	}
	x.head()
	return nil
}

// fail tells the client: by the status, or when output went out already, in the body.
func (x *execution) fail(err error) {
	if x.r.Context().Err() != nil {
		panic(http.ErrAbortHandler)
	}
	if x.out == nil {
		status := http.StatusInternalServerError
		switch {
		case errors.Is(err, errBusy):
			status = http.StatusServiceUnavailable
		case codeOf(err) == codeDenied:
			status = http.StatusForbidden
		}
		x.head()
		writeError(x.w, status, codeOf(err), err.Error())
		return
	}
	if x.out.send(exceptionBlock(x.tag, err.Error())) == nil {
		_ = x.out.close()
	}
	// Without the chunk that ends a body every client knows that this one is not whole.
	panic(http.ErrAbortHandler)
}

func contentType(format string) string {
	f := strings.ToLower(format)
	switch {
	case strings.HasPrefix(f, "json") || f == "ndjson":
		return "application/json; charset=UTF-8"
	case strings.HasPrefix(f, "csv"):
		return "text/csv; charset=UTF-8"
	case strings.HasPrefix(f, "tabseparated") || strings.HasPrefix(f, "tsv"):
		return "text/tab-separated-values; charset=UTF-8"
	case f == "native" || f == "rowbinary" || f == "parquet" || strings.HasPrefix(f, "arrow"):
		return "application/octet-stream"
	}
	return "text/plain; charset=UTF-8"
}
