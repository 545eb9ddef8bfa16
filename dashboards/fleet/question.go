package fleet

import (
	"net/url"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// question reads what a page's address asks.
func (h *Handler) question(v url.Values) (answers.Question, error) {
	q := answers.Question{Outcome: v.Get("outcome"), Filter: answers.Filter{Category: v.Get("category"), From: v.Get("from"), To: v.Get("to")}}
	if q.Filter.Category == "" {
		q.Filter.Category = string(glossary.Driver)
	}
	if q.Outcome == "" {
		q.Outcome = answers.OutcomeNames()[0]
		if p := fleet.Primary(glossary.Category(q.Filter.Category)); len(p) > 0 {
			q.Outcome = p[0]
		}
	}
	for _, s := range v["studio"] {
		if s = strings.TrimSpace(s); s != "" {
			q.Filter.Studios = append(q.Filter.Studios, s)
		}
	}
	for _, b := range v["band"] {
		if b = strings.TrimSpace(b); b == "" {
			continue
		}
		band, err := answers.ParseBand(b)
		if err != nil {
			return q, err
		}
		q.Filter.Bands = append(q.Filter.Bands, band)
	}
	bands, err := h.words(nil).formBands(v)
	if err != nil {
		return q, err
	}
	q.Filter.Bands = append(q.Filter.Bands, bands...)
	for _, b := range v["build"] {
		if b = strings.TrimSpace(b); b != "" {
			q.Filter.Builds = append(q.Filter.Builds, b)
		}
	}
	return q, q.Check()
}
