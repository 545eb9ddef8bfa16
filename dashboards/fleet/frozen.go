package fleet

import (
	"bytes"
	"net/http"
	"net/url"

	"fairlead/processors/ask/answers"
)

// rows gives the rows that an answer's model saw.
func (h *Handler) rows(w http.ResponseWriter, r *http.Request, id string) {
	var b bytes.Buffer // what fails on the way is no half file
	if _, err := h.fleet.RowsCSV(r.Context(), &b, id); err != nil {
		h.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="fleet-`+id+`-rows.csv"`)
	w.Write(b.Bytes())
}

// freeze keeps an answer's data.
func (h *Handler) freeze(w http.ResponseWriter, r *http.Request) {
	id := r.FormValue("answer")
	if _, err := h.fleet.Freeze(r.Context(), id); err != nil {
		h.fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/fleet/?"+url.Values{"answer": {id}, "frozen": {"1"}}.Encode(), http.StatusSeeOther)
}

// refit computes an answer again from its own data and says what came out.
func (h *Handler) refit(w http.ResponseWriter, r *http.Request) {
	id := r.FormValue("answer")
	h.asking.Lock()
	got, err := h.fleet.Refit(r.Context(), id, answers.Asking{})
	h.asking.Unlock()
	if err != nil {
		h.fail(w, r, err)
		return
	}
	h.show(w, http.StatusOK, "refit.html", map[string]any{"Title": "Refitted", "R": got})
}
