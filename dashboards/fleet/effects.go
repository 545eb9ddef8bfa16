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
		if q, err = h.question(v); err != nil {
			h.fail(w, r, err)
			return
		}
		if s, err = h.fleet.Newest(r.Context(), q); err != nil && !errors.Is(err, answers.ErrNoAnswer) {
			h.fail(w, r, err)
			return
		}
	}
	data["Q"], data["Label"], data["Frozen"] = q, q.Label(), v.Get("frozen") != ""
	data["Bands"] = h.words(nil).bandRows(q.Filter.Bands)
	if m, err := h.fleet.Latest(r.Context()); err == nil {
		if v.Get("answer") == "" {
			if err := h.fleet.CheckNames(r.Context(), m, q.Filter); err != nil {
				h.fail(w, r, err)
				return
			}
		}
		figures, err := h.fleet.Describe(r.Context(), m, q.Filter, mostStudios)
		if err != nil {
			h.fail(w, r, err)
			return
		}
		data["Figures"], data["Mark"] = figures, m
		choices, err := h.fleet.Choices(r.Context(), m, q.Filter.Category)
		if err != nil {
			h.fail(w, r, err)
			return
		}
		data["Choices"], data["TraitChoices"] = choices, h.words(nil).traitChoices(choices.Traits)
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
	said, err := h.lines(data, s, effects, link)
	if err != nil {
		return err
	}
	var fired, quiet []fleet.Diagnostic
	for _, d := range s.Diagnostics {
		if d.Fired {
			fired = append(fired, d)
		} else {
			quiet = append(quiet, d)
		}
	}
	data["Trait"], data["Traits"], data["Said"] = trait, traits, said
	data["Fired"], data["Quiet"] = fired, quiet
	return nil
}

// line is a step on the page.
type line struct {
	fleet.Effect
	Link string
}

// bent is how a step depends on the swing, on the page.
type bent struct {
	fleet.Dependence
	Link string
}

// lines adds the steps and how they depend on the swing, and returns what was
// found in sentences.
func (h *Handler) lines(data map[string]any, s *answers.Stored, effects []fleet.Effect, link func(string) string) ([]said, error) {
	w := h.words(s)
	var lines []line
	for _, e := range effects {
		l := line{Effect: e}
		if e.Attribute != "" {
			l.Link = link(e.Attribute)
		}
		if e.Trait == "" {
			lines = append(lines, l)
		}
	}
	dependences, err := s.Answer.Dependences(fleet.Person{})
	if err != nil {
		return nil, err
	}
	var bends []bent
	for _, d := range dependences {
		bends = append(bends, bent{d, link(d.Attribute)})
	}
	found, err := s.Answer.Findings(fleet.Person{})
	if err != nil {
		return nil, err
	}
	var out []said
	for _, f := range found {
		one := said{Text: w.Headline(f), Verdict: f.Verdict()}
		if f.Effect != nil {
			one.Link = link(f.Effect.Attribute)
		} else {
			one.Link = link(f.Dependence.Attribute)
		}
		out = append(out, one)
	}
	data["W"], data["Lines"], data["Bends"] = w, lines, bends
	data["Margin"] = w.unit().Text(w.turn(s.Answer.Outcome.Margin))
	return out, nil
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
	if kind == "rows.csv" {
		h.rows(w, r, id)
		return
	}
	effects, dependences, found := []fleet.Effect{}, []fleet.Dependence{}, []fleet.Said{}
	if s.Answer != nil {
		var errs [3]error
		effects, errs[0] = s.Answer.Effects(fleet.Person{})
		dependences, errs[1] = s.Answer.Dependences(fleet.Person{})
		found, errs[2] = s.Answer.Findings(fleet.Person{})
		if err := errors.Join(errs[:]...); err != nil {
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
			Effects     []fleet.Effect     `json:"effects"`
			Dependences []fleet.Dependence `json:"dependences"`
			Findings    []fleet.Said       `json:"findings"`
		}{s, effects, dependences, found})
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
