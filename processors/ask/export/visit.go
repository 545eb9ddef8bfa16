package export

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"time"
)

// Visit is all that is kept of a player's day, to be handed to the player. Rows
// have the columns of the tables; Dictionary says what they mean.
type Visit struct {
	Visit      string              `json:"visit"`
	Exported   time.Time           `json:"exported"`
	Names      map[string]string   `json:"names,omitempty"` // by pseudonym, where asked for
	Shots      []json.RawMessage   `json:"shots"`           // whatever became of them; status says
	Trials     []json.RawMessage   `json:"trials"`          // with the builds
	Events     []json.RawMessage   `json:"events"`          // what was said and decided, feel included, taken back or not
	Verdicts   []json.RawMessage   `json:"verdicts"`
	Dictionary map[string][]Column `json:"dictionary"`
}

// Visit reads a visit whole. *UnknownError: there is none of this id.
func (x *Exporter) Visit(ctx context.Context, studio, id string, names *Names, now time.Time) (*Visit, error) {
	r := Request{Studio: studio, Visit: id}
	if err := x.Known(ctx, r); err != nil {
		return nil, err
	}
	v := &Visit{Visit: id, Exported: now.UTC(), Dictionary: map[string][]Column{}}
	for _, part := range []struct {
		table string
		rows  *[]json.RawMessage
	}{{"shots", &v.Shots}, {"trials", &v.Trials}, {"visits", &v.Events}, {"verdicts", &v.Verdicts}} {
		r.Table = part.table
		var text bytes.Buffer
		if _, err := x.Write(ctx, &text, r, NDJSON, names); err != nil {
			return nil, err
		}
		*part.rows = []json.RawMessage{}
		for line := range bytes.Lines(text.Bytes()) {
			*part.rows = append(*part.rows, json.RawMessage(bytes.TrimSpace(line)))
		}
		var err error
		if v.Dictionary[part.table], err = x.Dictionary(ctx, part.table, false); err != nil {
			return nil, err
		}
	}
	if names != nil {
		v.Names = v.namesOf(names.By)
	}
	return v, nil
}

// namesOf are the names of those who stand in the visit.
func (v *Visit) namesOf(names map[string]string) map[string]string {
	out := map[string]string{}
	for _, rows := range [][]json.RawMessage{v.Shots, v.Trials, v.Verdicts, v.Events} {
		for _, raw := range rows {
			var who struct{ Player, Fitter, Hitter, Who string }
			if json.Unmarshal(raw, &who) != nil {
				continue
			}
			for _, id := range []string{who.Player, who.Fitter, who.Hitter, who.Who} {
				if name := names[id]; name != "" {
					out[id] = name
				}
			}
		}
	}
	return out
}

// WriteJSON writes the visit for people and programs.
func (v *Visit) WriteJSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("write visit %s: %w", v.Visit, err)
	}
	return nil
}
