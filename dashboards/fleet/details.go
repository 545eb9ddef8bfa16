package fleet

import (
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// behind shows the trials that an attribute's number rests on.
func (h *Handler) behind(w http.ResponseWriter, r *http.Request) {
	v := r.URL.Query()
	s, err := h.fleet.Answer(r.Context(), v.Get("answer"))
	if err != nil {
		h.fail(w, r, err)
		return
	}
	m, err := h.fleet.Latest(r.Context())
	if err != nil {
		h.fail(w, r, err)
		return
	}
	attribute := v.Get("attribute")
	trials, next, err := h.fleet.Behind(r.Context(), m, s.Question.Filter, attribute, v.Get("after"), 15)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	levels := 0
	if s.Answer != nil {
		levels = s.Answer.Varied[attribute]
	}
	a, _ := fleet.ParseAttribute(attribute)
	data := map[string]any{"Title": "Trials behind " + strings.ReplaceAll(attribute, "_", " "), "S": s,
		"Attribute": attribute, "Unit": a.Unit(),
		"Trials": trials, "Next": next, "Levels": levels, "Newer": m.Snapshot != s.Mark.Snapshot}
	if s.Answer != nil {
		for _, e := range s.Answer.Fit.Terms {
			if e.Name != attribute {
				continue
			}
			picture := draw.Behind(trials, s.Question.Outcome, a, e.Value, func(b answers.Behind) string {
				return "/fleet/trial?" + url.Values{"studio": {b.Studio}, "session": {b.Session}, "trial": {b.Trial}}.Encode()
			})
			if picture != nil {
				data["Picture"] = picture.Inline()
			}
		}
	}
	h.show(w, http.StatusOK, "behind.html", data)
}

// trial shows the shots of a trial.
func (h *Handler) trial(w http.ResponseWriter, r *http.Request) {
	v := r.URL.Query()
	shots, err := h.fleet.TrialShots(r.Context(), v.Get("studio"), v.Get("session"), v.Get("trial"))
	if err != nil {
		h.fail(w, r, err)
		return
	}
	code := http.StatusOK
	if len(shots) == 0 {
		code = http.StatusNotFound
	}
	h.show(w, code, "trial.html", map[string]any{"Title": "Shots of a trial", "Shots": shots, "Trial": v.Get("trial"),
		"Session": v.Get("session"), "InStudio": v.Get("studio")})
}

// compare shows build against build.
func (h *Handler) compare(w http.ResponseWriter, r *http.Request) {
	v := r.URL.Query()
	q, err := h.question(v)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	m, err := h.fleet.Latest(r.Context())
	if err != nil {
		h.fail(w, r, err)
		return
	}
	builds, err := h.fleet.Builds(r.Context(), m.Snapshot, q.Filter.Category, 300)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	slices.SortStableFunc(builds, func(a, b answers.Build) int { return strings.Compare(a.Name, b.Name) })
	data := map[string]any{"Title": "Build against build", "Q": q, "Builds": builds, "A": v.Get("a"), "B": v.Get("b"),
		"Categories": glossary.AirborneNames(), "Outcomes": answers.OutcomesOf(q.Filter.Category), "Mark": m}
	if a, b := v.Get("a"), v.Get("b"); a != "" && b != "" {
		var all []*answers.Against
		for _, o := range answers.OutcomesOf(q.Filter.Category) {
			got, err := h.fleet.Compare(r.Context(), o, q.Filter, a, b, answers.Asking{Stale: true})
			if err != nil {
				h.fail(w, r, err)
				return
			}
			all = append(all, got)
		}
		if v.Get("format") == "json" {
			w.Header().Set("Content-Type", "application/json")
			json.NewEncoder(w).Encode(all)
			return
		}
		data["All"] = all
	}
	h.show(w, http.StatusOK, "compare.html", data)
}

// promises shows verdicts against hit checks.
func (h *Handler) promises(w http.ResponseWriter, r *http.Request) {
	category := r.URL.Query().Get("category")
	kept, err := h.fleet.Promises(r.Context(), category)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	if r.URL.Query().Get("format") == "json" {
		w.Header().Set("Content-Type", "application/json")
		json.NewEncoder(w).Encode(kept)
		return
	}
	h.show(w, http.StatusOK, "promises.html",
		map[string]any{"Title": "Promise against reality", "Kept": kept, "Category": category, "Categories": glossary.AirborneNames()})
}
