package collector

import (
	"context"
	"errors"
	"fmt"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/ingest/log/journal"
)

// Reread is a wish to read lines that the journals hold again with a corrected
// map. The journals stay as they are: what the lines then say is appended, and
// tags take the latest reading of a line.
type Reread struct {
	MapName string    `json:"map_name"`
	Map     string    `json:"map"`              // its text
	Feed    string    `json:"feed"`             // whose lines
	From    time.Time `json:"from"`             // by effective time; zero: from the first
	To      time.Time `json:"to"`               // not included; zero: to the last
	Layout  string    `json:"layout,omitempty"` // lines above a table, where the journal does not tell
	At      time.Time `json:"at"`               // names the reading
	Write   bool      `json:"write"`            // else it is only said what would change
}

// RereadReport says what a reading changes, in lines.
type RereadReport struct {
	Lines     int `json:"lines"` // of the feed, in the time asked for
	Same      int `json:"same"`
	Changed   int `json:"changed"`   // the same shot with other values
	Renamed   int `json:"renamed"`   // under another identity
	Returned  int `json:"returned"`  // refused before, and shots now
	Withdrawn int `json:"withdrawn"` // shots before, and none now
	Headless  int `json:"headless"`  // can't be read without their table's header
	Forgotten int `json:"forgotten"` // whose text is not kept
	Damaged   int `json:"damaged"`   // entries that can't be read
	Added     int `json:"added"`     // entries that were, or would be, appended
	// Fields that change, with how many lines and the first of them.
	Fields  []FieldChange `json:"fields,omitempty"`
	Written bool          `json:"written"`
	Error   string        `json:"error,omitempty"`
}

// FieldChange is one field's changes, in the unit that it is stored in.
type FieldChange struct {
	Field string  `json:"field"`
	Unit  string  `json:"unit"`
	Lines int     `json:"lines"`
	File  string  `json:"file"` // the first of them
	Line  uint64  `json:"line"`
	Was   float64 `json:"was"`
	Is    float64 `json:"is"`
}

const rereadGroup = 256 // entries a sync

// lineKey names a line in a journal, whatever was made of it.
type lineKey struct {
	content  uint64
	file     string
	line     uint64
	received int64
}

func keyOf(e *event.Entry) lineKey { return lineKey{e.Content(), e.File, e.Line, e.ReceivedUnixNs} }

// ReadAgain does what r asks for, in a journal that is open.
func ReadAgain(ctx context.Context, j *journal.Journal, r Reread) (report RereadReport, err error) {
	m, err := feed.ParseMap(r.MapName, []byte(r.Map))
	if err != nil {
		return report, err
	}
	until := map[string]uint64{}
	for _, info := range j.Journals() {
		until[info.ID] = info.Last
	}
	latest := map[lineKey][]*event.Entry{}
	found := false
	err = walk(ctx, j, until, func(e *event.Entry, _ bool) error {
		found = found || e.Feed == r.Feed
		if e.Feed == r.Feed && e.RereadUnixNs != 0 && r.covers(e) {
			key := keyOf(e)
			if have := latest[key]; have != nil && have[0].RereadUnixNs < e.RereadUnixNs {
				latest[key] = nil
			}
			latest[key] = append(latest[key], e)
		}
		return nil
	})
	if err != nil {
		return report, err
	}
	if !found {
		return report, fmt.Errorf("the journals hold no line of feed %q: name it as in the configuration", r.Feed)
	}
	again, fields := feed.NewAgain(m, r.Layout), map[event.Field]*FieldChange{}
	var add []journal.Record
	err = walk(ctx, j, until, func(e *event.Entry, damaged bool) error {
		switch {
		case damaged:
			report.Damaged++
			return nil
		case e.Feed != r.Feed || e.RereadUnixNs != 0:
			return nil
		}
		now := latest[keyOf(e)]
		if now == nil {
			now = []*event.Entry{e}
		}
		turn, added := again.Line(e, now, r.At)
		if !r.covers(e) {
			return nil // read for what later lines need to know of it
		}
		report.count(turn)
		report.Added += len(added)
		if turn == feed.Changed {
			noteFields(fields, now[len(now)-1], added[len(added)-1])
		}
		if !r.Write {
			return nil
		}
		for _, a := range added {
			payload, err := proto.Marshal(a)
			if err != nil {
				return fmt.Errorf("reread line %d of %s: %w", e.Line, e.File, err)
			}
			add = append(add, journal.Record{Payload: payload})
		}
		if len(add) >= rereadGroup {
			_, err := j.Append(ctx, add...)
			add = add[:0]
			return err
		}
		return nil
	})
	if err == nil && len(add) > 0 {
		_, err = j.Append(ctx, add...)
	}
	for _, info := range event.Fields() {
		if f := fields[info.Field]; f != nil {
			report.Fields = append(report.Fields, *f)
		}
	}
	report.Written = r.Write && err == nil
	return report, err
}

// covers says whether a line is of the time asked for.
func (r *Reread) covers(e *event.Entry) bool {
	at := time.Unix(0, e.EffectiveUnixNs)
	return (r.From.IsZero() || !at.Before(r.From)) && (r.To.IsZero() || at.Before(r.To))
}

func (r *RereadReport) count(t feed.Turn) {
	r.Lines++
	*map[feed.Turn]*int{feed.Same: &r.Same, feed.Changed: &r.Changed, feed.Renamed: &r.Renamed, feed.Returned: &r.Returned,
		feed.Withdrawn: &r.Withdrawn, feed.Headless: &r.Headless, feed.Forgotten: &r.Forgotten}[t]++
}

// noteFields counts the fields in which two readings differ.
func noteFields(fields map[event.Field]*FieldChange, was, is *event.Entry) {
	for _, info := range event.Fields() {
		a, hadA := was.Get(info.Field)
		b, hadB := is.Get(info.Field)
		if hadA == hadB && proto.Equal(was.Measure(info.Field), is.Measure(info.Field)) {
			continue
		}
		f := fields[info.Field]
		if f == nil {
			f = &FieldChange{Field: info.Name, Unit: unit.Stored(info.Quantity), File: is.File, Line: is.Line, Was: a, Is: b}
			fields[info.Field] = f
		}
		f.Lines++
	}
}

// walk gives every entry that the journals held at the beginning, oldest
// journal first. Damaged stretches are passed over by the journal's reader.
func walk(ctx context.Context, j *journal.Journal, until map[string]uint64, each func(e *event.Entry, damaged bool) error) error {
	for _, info := range j.Journals() {
		if err := walkOne(ctx, j, info, until[info.ID], each); err != nil {
			return err
		}
	}
	return nil
}

func walkOne(ctx context.Context, j *journal.Journal, info journal.Info, last uint64, each func(*event.Entry, bool) error) error {
	r := j.Read(info.ID, info.First)
	defer r.Close()
	for ctx.Err() == nil {
		stored, ok, err := r.TryNext()
		if err != nil && errors.Is(err, journal.ErrDamaged) {
			return each(&event.Entry{}, true)
		}
		if err != nil && !ok && info.Active {
			return fmt.Errorf("reread journal %s: %w", info.ID, err)
		}
		if !ok || stored.Seq > last {
			return nil
		}
		e := &event.Entry{}
		if err := proto.Unmarshal(stored.Payload, e); err != nil {
			if err := each(e, true); err != nil {
				return err
			}
			continue
		}
		if err := each(e, false); err != nil {
			return err
		}
	}
	return ctx.Err()
}
