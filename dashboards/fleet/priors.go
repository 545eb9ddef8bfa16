package fleet

import (
	"encoding/json"
	"net/http"
)

// priors says by which answers changes of build are judged in the bays.
func (h *Handler) priors(w http.ResponseWriter, r *http.Request) {
	told, err := h.fleet.PriorsInUse(r.Context())
	if err != nil {
		h.fail(w, r, err)
		return
	}
	if r.URL.Query().Get("format") == "json" {
		w.Header().Set("Content-Type", "application/json")
		json.NewEncoder(w).Encode(told)
		return
	}
	h.show(w, http.StatusOK, "priors.html", map[string]any{"Title": "What is expected in the bays", "Told": told})
}
