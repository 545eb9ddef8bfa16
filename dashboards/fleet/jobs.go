package fleet

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"time"

	"fairlead/processors/ask/answers"
)

// ask makes a job of the question that a form posts.
func (h *Handler) ask(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 1<<16)
	if err := r.ParseForm(); err != nil {
		h.fail(w, r, &answers.FilterError{Field: "form", Value: "", Reason: "can't be read", Try: "send it again"})
		return
	}
	q, err := h.question(r.PostForm)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	if m, err := h.fleet.Latest(r.Context()); err == nil {
		if err := h.fleet.CheckNames(r.Context(), m, q.Filter); err != nil {
			h.fail(w, r, err)
			return
		}
	}
	j, err := h.jobs.Ask(q)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/fleet/jobs/"+j.ID, http.StatusSeeOther)
}

// job shows how far a question is; with .json for programs.
func (h *Handler) job(w http.ResponseWriter, r *http.Request) {
	id, asJSON := strings.CutSuffix(r.PathValue("id"), ".json")
	j, _, ok := h.jobs.Get(id)
	if !ok {
		h.fail(w, r, fmt.Errorf("job %s: %w", id, answers.ErrNoAnswer))
		return
	}
	if asJSON {
		w.Header().Set("Content-Type", "application/json")
		json.NewEncoder(w).Encode(j)
		return
	}
	if j.State == "done" {
		http.Redirect(w, r, "/fleet/?answer="+j.Answer, http.StatusSeeOther)
		return
	}
	h.show(w, http.StatusOK, "job.html", map[string]any{"Title": "A question on its way", "J": j})
}

// jobEvents sends a job's changes as they happen, until it is finished.
func (h *Handler) jobEvents(w http.ResponseWriter, r *http.Request) {
	rc := http.NewResponseController(w)
	// A fit may take longer than the server lets a page take.
	_ = rc.SetWriteDeadline(time.Time{})
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	for {
		j, changed, ok := h.jobs.Get(r.PathValue("id"))
		if !ok {
			return
		}
		data, err := json.Marshal(j)
		if err != nil {
			return
		}
		fmt.Fprintf(w, "data: %s\n\n", data)
		if rc.Flush() != nil || j.Finished() {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-changed:
		case <-time.After(15 * time.Second): // keeps the line open
		}
	}
}
