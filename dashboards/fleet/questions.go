package fleet

import (
	"bytes"
	"encoding/json"
	"math"
	"net/http"
	"net/url"
	"strings"

	"fairlead/dashboards/draw"
	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
	"fairlead/processors/ask/enquiry"
	"fairlead/processors/golf/fleet"
)

// questions lists what may be asked of the trade.
func (h *Handler) questions(w http.ResponseWriter, r *http.Request) {
	h.show(w, http.StatusOK, "questions.html", map[string]any{"Title": "Questions", "Kinds": enquiry.Kinds()})
}

// enquire answers a question of the trade: the kept answer that ?answer= names, or what
// the address asks, of the newest snapshot. format: json, csv or svg.
func (h *Handler) enquire(w http.ResponseWriter, r *http.Request) {
	v := r.URL.Query()
	k, ok := enquiry.Find(r.PathValue("kind"))
	if !ok {
		_, err := enquiry.Enquiry{Kind: r.PathValue("kind")}.Check()
		h.fail(w, r, err)
		return
	}
	var t *enquiry.Table
	var err error
	if id := v.Get("answer"); id != "" {
		t, err = enquiry.Kept(r.Context(), h.fleet, id)
	} else {
		var q answers.Question
		if q, err = h.question(v); err == nil {
			e := enquiry.Enquiry{Kind: k.Name, Outcome: v.Get("outcome"), Attribute: v.Get("attribute"), Filter: q.Filter}
			h.asking.Lock() // one takes seconds of all cores
			t, err = enquiry.Ask(r.Context(), h.fleet, e, answers.Asking{Standing: true})
			h.asking.Unlock()
		}
	}
	if err != nil {
		h.fail(w, r, err)
		return
	}
	switch format := v.Get("format"); format {
	case "json", "csv", "svg":
		h.give(w, r, t, format)
		return
	}
	data := map[string]any{"Title": k.Asks, "T": t, "Kind": k, "Categories": glossary.AirborneNames(), "Outcomes": answers.OutcomeNames(),
		"Attributes": fleet.AllAttributes(), "Table": h.shown(t), "Link": tableLink(t)}
	if p := TablePicture(t); p != nil {
		data["Picture"] = p.Inline()
	}
	h.show(w, http.StatusOK, "question.html", data)
}

// give writes a table as a file.
func (h *Handler) give(w http.ResponseWriter, r *http.Request, t *enquiry.Table, format string) {
	var b bytes.Buffer
	var err error
	media := map[string]string{"json": "application/json", "csv": "text/csv; charset=utf-8", "svg": "image/svg+xml"}[format]
	switch format {
	case "json":
		e := json.NewEncoder(&b)
		e.SetIndent("", "  ")
		err = e.Encode(t)
	case "csv":
		err = t.WriteCSV(&b)
	case "svg":
		if p := TablePicture(t); p != nil {
			err = p.Write(&b)
		} else {
			err = answers.ErrNoAnswer
		}
	}
	if err != nil {
		h.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", media)
	w.Header().Set("Content-Disposition", `attachment; filename="fleet-`+t.Enquiry.Kind+"-"+t.ID+"."+format+`"`)
	w.Write(b.Bytes())
}

// tableLink is the address of a kept answer.
func tableLink(t *enquiry.Table) string {
	return "/fleet/questions/" + t.Enquiry.Kind + "?" + url.Values{"answer": {t.ID}}.Encode()
}

// shownTable is a table in the reader's units.
type shownTable struct {
	Columns []enquiry.Column
	Rows    [][]string
}

// shown writes the cells of a table; metres in the studio's unit.
func (h *Handler) shown(t *enquiry.Table) shownTable {
	out := shownTable{}
	for _, c := range t.Columns {
		if c.Sort != enquiry.Key {
			out.Columns = append(out.Columns, c)
		}
	}
	d := h.units.Distance()
	for _, r := range t.Rows {
		var row []string
		for i, c := range t.Columns {
			switch {
			case c.Sort == enquiry.Key:
			case c.Unit == "m" && !r[i].IsText && !math.IsNaN(r[i].Number):
				u := figure.In(d.Name, d.Factor, 1)
				text := u.Number(r[i].Number)
				if c.Sort == enquiry.Change {
					text = u.Signed(r[i].Number)
				}
				row = append(row, u.With(text))
			default:
				row = append(row, c.Show(r[i]))
			}
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// mostBars are drawn of a table; the rest stands in it.
const mostBars = 60

// TablePicture draws a table's values with their intervals; nil of one without a picture.
func TablePicture(t *enquiry.Table) *draw.Picture {
	if t.Plot == nil {
		return nil
	}
	p := t.Plot
	label, group := t.Place(p.Label), t.Place(p.Group)
	var rows []draw.Row
	for i, r := range t.Rows {
		x := draw.Row{Group: t.Title, Label: r[label].Text, Value: t.Value(i, p.Value), Low: t.Value(i, p.Low), High: t.Value(i, p.High)}
		if math.IsNaN(x.Value) || math.IsNaN(x.Low) || math.IsNaN(x.High) || len(rows) == mostBars {
			continue
		}
		if unit := t.Place("unit"); unit >= 0 && r[unit].Text != "%" {
			continue // one axis has one unit
		}
		if x.Group = ""; group >= 0 {
			x.Group = r[group].Text
		}
		if players := t.Value(i, "players"); !math.IsNaN(players) {
			x.Players = int(players)
		}
		switch {
		case p.Better == 0 || x.Low <= 0 && x.High >= 0:
			x.Says = "open"
		case x.Value*p.Better > 0:
			x.Kind, x.Says = "better", "better"
		default:
			x.Kind, x.Says = "worse", "worse"
		}
		rows = append(rows, x)
	}
	if len(rows) == 0 {
		return nil
	}
	return draw.Forest(strings.TrimSuffix(t.Title, ", all players"), p.Unit, p.Better, p.Margin, rows)
}
