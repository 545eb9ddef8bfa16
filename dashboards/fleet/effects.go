package fleet

import (
	"bytes"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// mostStudios are shown beside an answer.
const mostStudios = 12

// effects shows an answer: the one that ?answer= names, or the newest to the
// question that the address asks.
func (h *Handler) effects(w http.ResponseWriter, r *http.Request) {
	v := r.URL.Query()
	data := map[string]any{"Title": "Effects", "Categories": glossary.AirborneNames(), "Outcomes": answers.OutcomeNames()}
	var s *answers.Stored
	var q answers.Question
	var err error
	if id := v.Get("answer"); id != "" {
		if s, err = h.fleet.Answer(r.Context(), id); err != nil {
			h.fail(w, r, err)
			return
		}
		q = s.Question
	} else {
		if q, err = question(v); err != nil {
			h.fail(w, r, err)
			return
		}
		if s, err = h.fleet.Newest(r.Context(), q); err != nil && !errors.Is(err, answers.ErrNoAnswer) {
			h.fail(w, r, err)
			return
		}
	}
	data["Q"], data["Label"] = q, q.Label()
	if m, err := h.fleet.Latest(r.Context()); err == nil {
		figures, err := h.fleet.Describe(r.Context(), m, q.Filter, mostStudios)
		if err != nil {
			h.fail(w, r, err)
			return
		}
		data["Figures"], data["Mark"] = figures, m
	} else if !errors.Is(err, answers.ErrNoSnapshot) {
		h.fail(w, r, err)
		return
	}
	if s != nil {
		if err := h.picture(data, s, v.Get("trait")); err != nil {
			h.fail(w, r, err)
			return
		}
	}
	h.show(w, http.StatusOK, "effects.html", data)
}

// picture adds what an answer is shown with.
func (h *Handler) picture(data map[string]any, s *answers.Stored, trait string) error {
	data["S"] = s
	if s.Answer == nil {
		return nil
	}
	traits := s.Answer.Design.Traits
	if !slices.Contains(traits, trait) {
		trait = ""
		if len(traits) > 0 {
			trait = traits[0]
		}
	}
	link := func(attribute string) string {
		return "/fleet/behind?" + url.Values{"answer": {s.ID}, "attribute": {attribute}}.Encode()
	}
	forest, err := draw.Effects(s, trait, link)
	if err != nil {
		return err
	}
	data["Forest"] = forest.Inline()
	if trait != "" {
		mapped, err := draw.EffectsOver(s, trait, link)
		if err != nil {
			return err
		}
		data["Map"] = mapped.Inline()
	}
	effects, err := s.Answer.Effects(fleet.Person{})
	if err != nil {
		return err
	}
	type line struct {
		fleet.Effect
		Shown answers.Shown
		Link  string
	}
	var lines, hidden []line
	for _, e := range effects {
		l := line{Effect: e, Shown: s.Show(e)}
		if e.Attribute != "" {
			l.Link = link(e.Attribute)
		}
		if e.Trait != "" {
			l.Step = s.TraitStep(e)
		}
		if e.Trait != "" && e.Says != fleet.SaysBetter && e.Says != fleet.SaysWorse {
			hidden = append(hidden, l)
		} else {
			lines = append(lines, l)
		}
	}
	var fired, quiet []fleet.Diagnostic
	for _, d := range s.Diagnostics {
		if d.Fired {
			fired = append(fired, d)
		} else {
			quiet = append(quiet, d)
		}
	}
	data["Trait"], data["Traits"], data["Lines"], data["Hidden"], data["Unit"] = trait, traits, lines, hidden, s.Unit()
	data["Fired"], data["Quiet"] = fired, quiet
	return nil
}

// kept lists the answers that are kept, and the jobs.
func (h *Handler) kept(w http.ResponseWriter, r *http.Request) {
	lines, err := h.fleet.Lines(r.Context(), 300)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	h.show(w, http.StatusOK, "kept.html", map[string]any{"Title": "Kept answers", "Lines": lines, "Jobs": h.jobs.List()})
}

// download gives an answer as JSON or CSV, or a picture as SVG.
func (h *Handler) download(w http.ResponseWriter, r *http.Request) {
	id, kind, _ := strings.Cut(r.PathValue("file"), ".")
	s, err := h.fleet.Answer(r.Context(), id)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	var b bytes.Buffer
	var effects []fleet.Effect
	if s.Answer != nil {
		if effects, err = s.Answer.Effects(fleet.Person{}); err != nil {
			h.fail(w, r, err)
			return
		}
	}
	media := "application/json"
	switch kind {
	case "json":
		e := json.NewEncoder(&b)
		e.SetIndent("", "  ")
		err = e.Encode(struct {
			*answers.Stored
			Effects []fleet.Effect `json:"effects"`
		}{s, effects})
	case "csv":
		media = "text/csv; charset=utf-8"
		if s.Answer == nil {
			err = answers.ErrNoAnswer
		} else {
			err = answers.EffectsCSV(&b, s, effects)
		}
	case "svg":
		media = "image/svg+xml"
		var p *draw.Picture
		switch {
		case s.Answer == nil:
			err = answers.ErrNoAnswer
		case r.URL.Query().Get("map") != "":
			p, err = draw.EffectsOver(s, r.URL.Query().Get("map"), nil)
		default:
			p, err = draw.Effects(s, r.URL.Query().Get("trait"), nil)
		}
		if err == nil {
			err = p.Write(&b)
		}
	default:
		err = answers.ErrNoAnswer
	}
	if err != nil {
		h.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", media)
	w.Header().Set("Content-Disposition", `attachment; filename="fleet-`+s.ID+"."+kind+`"`)
	w.Write(b.Bytes())
}
