package console

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"unicode/utf8"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/stock"
)

// mostList bounds a price list that is sent.
const mostList = 4<<20 + 64<<10

// shownList bounds the lines of a file that the page shows to be mended.
const shownList = 256 << 10

// listedAtOnce are the parts that one event of an import lists.
const listedAtOnce = 200

// takeList reads a price list and writes what it says anew; nothing for a dry run,
// or where anything of it is wrong. The same list sent again says nothing new.
func (s *server) takeList(ctx context.Context, r *http.Request, lines io.Reader, who string, dry bool) (stock.Change, error) {
	text, err := io.ReadAll(lines)
	if err != nil {
		return stock.Change{Faults: []stock.Fault{{Reason: "the list can't be read", Try: "send it again, at most 4 MB"}}}, nil
	}
	c := stock.Read(bytes.NewReader(text)).Against(s.shelf(ctx))
	if c.DryRun = dry; dry || c.Failed() {
		return c, nil
	}
	sum := sha256.Sum256(text)
	list := fmt.Sprintf("list-%s-%s", hex.EncodeToString(sum[:6]), event.NewID(s.now())) // of all its events: they are taken back together
	for n, some := range slices.Collect(slices.Chunk(c.Parts, listedAtOnce)) {
		ev := &event.VisitEvent{Id: fmt.Sprintf("%s-%d", list, n), Who: who,
			Body: &event.VisitEvent_PartsListed{PartsListed: &event.PartsListed{Parts: some}}}
		if _, err := s.write(r, s.shelfBay(), ev, anyhow); err != nil {
			return c, err
		}
	}
	return c, nil
}

// stockImport takes a price list from the page: a file, or lines that were pasted.
func (s *server) stockImport(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, mostList)
	if err := r.ParseMultipartForm(mostList); err != nil {
		s.fail(w, http.StatusBadRequest, fmt.Errorf("this form can't be read: send a list of at most 4 MB"))
		return
	}
	defer r.MultipartForm.RemoveAll()
	list := io.Reader(bytes.NewReader([]byte(r.FormValue("lines"))))
	if file, _, err := r.FormFile("file"); err == nil {
		defer file.Close()
		var some [1]byte
		if n, _ := file.ReadAt(some[:], 0); n > 0 {
			// A browser forgets the file that was tried: its lines stay to be mended or taken.
			if text, err := io.ReadAll(file); err == nil && utf8.Valid(text) && len(text) <= shownList {
				r.PostForm.Set("lines", strings.TrimPrefix(string(text), "\ufeff"))
			}
			file.Seek(0, io.SeekStart)
			list = file
		}
	}
	c, err := s.takeList(r.Context(), r, list, r.FormValue("who"), r.FormValue("try") != "")
	v := stockView{Act: "import", Typed: r.PostForm, Change: &c}
	code := http.StatusOK
	switch {
	case err != nil:
		code, v.Problem = s.problemOf(err)
	case c.Failed():
		code = http.StatusUnprocessableEntity
	case !c.DryRun:
		http.Redirect(w, r, "/stock?done=import", http.StatusSeeOther)
		return
	}
	s.showStock(w, code, r, v)
}

// apiStockImport takes a price list as the body of a request; with dry=1 nothing is
// written.
func (s *server) apiStockImport(w http.ResponseWriter, r *http.Request) {
	c, err := s.takeList(r.Context(), r, http.MaxBytesReader(w, r.Body, mostList), r.FormValue("who"), r.URL.Query().Get("dry") != "")
	if err != nil {
		code, p := s.problemOf(err)
		writeJSON(w, code, p)
		return
	}
	code := http.StatusOK
	if c.Failed() {
		code = http.StatusUnprocessableEntity
	}
	writeJSON(w, code, c)
}

// apiStock lists what is known of the shelf: the catalogue and the test clubs as
// events say them, and how many pieces of each part there are.
func (s *server) apiStock(w http.ResponseWriter, r *http.Request) {
	shelf := s.shelf(r.Context())
	var levels []map[string]any
	for _, p := range shelf.Parts() {
		l := shelf.Level(p.GetCode())
		levels = append(levels, map[string]any{"code": p.GetCode(), "on": l.On, "held": l.Held, "free": l.Free(), "least": l.Least,
			"counted": l.Known, "short": l.Short()})
	}
	parts, err := protoJSON(&event.PartsListed{Parts: shelf.Parts()})
	if err != nil {
		writeJSON(w, http.StatusInternalServerError, problem{Error: err.Error()})
		return
	}
	var tests []rawJSON
	for _, t := range shelf.TestClubs() {
		if one, err := protoJSON(t); err == nil {
			tests = append(tests, one)
		}
	}
	writeJSON(w, http.StatusOK, map[string]any{"catalogue": parts, "levels": levels, "test_clubs": tests})
}

// protoJSON is a message in the contract's names.
func protoJSON(m proto.Message) (rawJSON, error) {
	return protojson.MarshalOptions{UseProtoNames: true}.Marshal(m)
}

// rawJSON is JSON that was made already.
type rawJSON []byte

// MarshalJSON gives it as it is.
func (r rawJSON) MarshalJSON() ([]byte, error) { return r, nil }
