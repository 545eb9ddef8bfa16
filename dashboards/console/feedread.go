package console

import (
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"fairlead/dashboards/figure"
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/bay/sample"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/ask/guess"
)

// heldSamples are samples that pages work on, the latest few.
type heldSamples struct {
	mu    sync.Mutex
	order []string
	files map[string][]sample.File
}

const mostHeld = 24

func (h *heldSamples) keep(files []sample.File) (key string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.files == nil {
		h.files = map[string][]sample.File{}
	}
	key = event.NewID(time.Now())
	h.files[key], h.order = files, append(h.order, key)
	if len(h.order) > mostHeld {
		delete(h.files, h.order[0])
		h.order = h.order[1:]
	}
	return key
}

func (h *heldSamples) get(key string) []sample.File {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.files[key]
}

// feedReading is what a map makes of files.
type feedReading struct {
	Errors  []string // of the map
	Heads   []string
	Rows    []feedRow
	Shots   int
	Refused []string // lines and why, in words
	Count   int      // lines refused
	Doubts  []string
	Open    int // questions that are not answered
}

// feedRow is one line as the map reads it.
type feedRow struct {
	Line  string
	Cells []string
	Why   string // it is no shot
	At    string
	raw   string
}

const (
	shownRows    = 10
	shownRefused = 6
)

// readFeed reads files through a map's text.
func (s *server) readFeed(text string, files []sample.File) *feedReading {
	v := &feedReading{}
	m, err := feed.ParseMap("map", []byte(strings.ReplaceAll(text, "\r\n", "\n")))
	if err != nil {
		v.Errors = strings.Split(err.Error(), "\n")
		return v
	}
	var doubts guess.Doubts
	for _, f := range m.Fields() {
		v.Heads = append(v.Heads, f.Info.Label)
	}
	numbers := &feed.Numbers{}
	for _, f := range files {
		r := feed.NewReader(m.OfText(), f.Name, strings.NewReader(string(f.Data)))
		for {
			d, err := r.Next()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				v.Errors = append(v.Errors, err.Error())
				break
			}
			e := d.Finish(feed.Stamp{Studio: "try", Bay: "try", Feed: "try", Received: time.Now(), Effective: time.Now(), Numbers: numbers})
			v.take(s, m, e)
			if e.Valid() {
				doubts.Add(e)
			}
		}
		if says := r.Clock(); says != "" {
			v.Doubts = append(v.Doubts, says)
		}
	}
	v.Doubts = append(v.Doubts, guess.Words(doubts.Suspicions(m))...)
	v.Rows = v.Rows[max(0, len(v.Rows)-shownRows):]
	return v
}

func (v *feedReading) take(s *server, m *feed.Map, e *event.Entry) {
	row := feedRow{Line: fmt.Sprintf("%s:%d", e.File, e.Line), raw: string(e.Raw)}
	if e.DeviceUnixNs != 0 {
		row.At = time.Unix(0, e.DeviceUnixNs).Local().Format("2 Jan 15:04:05")
	}
	if !e.Valid() {
		v.Count++
		for _, reject := range feed.Rejects(m, e) {
			row.Why = reject.String()
			if len(v.Refused) < shownRefused {
				v.Refused = append(v.Refused, row.Why)
			}
		}
	} else {
		v.Shots++
	}
	for _, f := range m.Fields() {
		cell := "–"
		if measure := e.Measure(f.Info.Field); measure != nil {
			cell = s.feedValue(f.Info, measure)
		}
		row.Cells = append(row.Cells, cell)
	}
	v.Rows = append(v.Rows, row)
}

// feedValue writes a value as the studio's people read it; a side is said.
func (s *server) feedValue(info event.FieldInfo, m *event.Measure) string {
	u := s.units.of(info.Column)
	switch info.Quantity {
	case unit.Temperature:
		u = figure.In("°C", 1, 1)
	case unit.Pressure:
		u = figure.In("hPa", .01, 0)
	}
	if !info.Mirrors || m.Value == 0 {
		return u.Text(m.Value)
	}
	sides := [2]string{" right", " left"}
	if m.Handed {
		sides = [2]string{" right, turned for a left-hander", " left, turned for a left-hander"}
	}
	side := sides[0]
	if m.Value < 0 {
		side = sides[1]
	}
	return u.Text(math.Abs(m.Value)) + side
}

// unitsOf are the units that a field may be in, the usual ones first.
func unitsOf(f *guess.Field) []string {
	out := unit.Names(f.Quantity())
	if f.Unit != "" && !slices.Contains(out, f.Unit) {
		out = append([]string{f.Unit}, out...)
	}
	return out
}

// besideView compares two maps on what a bay's device wrote last.
type besideView struct {
	Heads []string
	Rows  []besideRow
	Error string
	Same  int
	At    string
}

type besideRow struct {
	Line     string
	New, Was []string
	Differs  []bool
	Why      string // by the new map it is no shot
	WasWhy   string
}

// feedBeside reads the bay's latest lines through the map at hand and through
// the one that works there.
func (s *server) feedBeside(w http.ResponseWriter, r *http.Request) {
	bay, v := r.PathValue("bay"), &besideView{At: s.now().Local().Format("15:04:05")}
	kind, name, ok := strings.Cut(r.FormValue("to"), ":")
	if !ok {
		s.feedSays(w, errors.New("choose first where the map is to work"))
		return
	}
	files, err := s.look(r, bay, kind, name)
	if err != nil {
		s.feedSays(w, err)
		return
	}
	now := s.readFeed(r.FormValue("map"), files)
	was := &feedReading{}
	if feeds, _, err := s.desk.Feeds(r.Context(), bay); err == nil && kind == "feed" {
		for _, f := range feeds {
			if f.Name == name {
				was = s.readFeed(f.Map, files)
			}
		}
	}
	v.compare(now, was)
	s.feedPart(w, "feed-beside", v)
}

const besideRows = 5

func (v *besideView) compare(now, was *feedReading) {
	v.Error = strings.Join(now.Errors, "\n")
	v.Heads = now.Heads
	for _, n := range slices.Backward(now.Rows) {
		if len(v.Rows) >= besideRows {
			break
		}
		row := besideRow{Line: n.Line, New: n.Cells, Why: n.Why, Differs: make([]bool, len(n.Cells))}
		for _, o := range was.Rows {
			if o.Line != n.Line || o.raw != n.raw {
				continue
			}
			row.WasWhy, row.Was = o.Why, make([]string, len(n.Cells))
			for i, head := range now.Heads {
				if at := slices.Index(was.Heads, head); at >= 0 {
					row.Was[i] = o.Cells[at]
				}
				row.Differs[i] = row.Was[i] != n.Cells[i]
			}
		}
		v.Rows = append(v.Rows, row)
	}
}
