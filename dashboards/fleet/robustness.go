package fleet

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strings"
	"sync"

	"fairlead/dashboards/draw"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// sheets keeps the robustness sheets that were asked for last: one takes seconds
// of all cores, so one is made at a time.
type sheets struct {
	mu   sync.Mutex
	kept map[string]*answers.Sheet
}

// mostSheets are kept; beyond, all are made anew.
const mostSheets = 100

func (k *sheets) get(ctx context.Context, f *answers.Fleet, s *answers.Stored, attribute string) (*answers.Sheet, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	m, err := f.Latest(ctx)
	if err != nil {
		return nil, err
	}
	key := s.QuestionHash + " " + attribute + " " + m.Made.String()
	if old := k.kept[key]; old != nil {
		return old, nil
	}
	sheet, err := f.Robustness(ctx, s.Question, attribute, answers.Asking{Stale: true})
	if err != nil {
		return nil, err
	}
	if k.kept == nil || len(k.kept) >= mostSheets {
		k.kept = map[string]*answers.Sheet{}
	}
	k.kept[key] = sheet
	return sheet, nil
}

// robustness shows one attribute of an answer under every reasonable choice, with
// everyone left out in turn, and by studio, bay, fitter, ball and month.
func (h *Handler) robustness(w http.ResponseWriter, r *http.Request) {
	v := r.URL.Query()
	s, err := h.fleet.Answer(r.Context(), v.Get("answer"))
	if err == nil && s.Answer == nil {
		err = answers.ErrNoAnswer
	}
	if err != nil {
		h.fail(w, r, err)
		return
	}
	sheet, err := h.sheets.get(r.Context(), h.fleet, s, v.Get("attribute"))
	if err != nil {
		h.fail(w, r, err)
		return
	}
	if v.Get("format") == "json" {
		w.Header().Set("Content-Type", "application/json")
		json.NewEncoder(w).Encode(sheet)
		return
	}
	a, ok := fleet.ParseAttribute(sheet.Attribute)
	if !ok {
		h.fail(w, r, errors.New("an attribute was answered that there is none of"))
		return
	}
	differ := 0
	for _, row := range sheet.Rows {
		if !row.Agrees && row.Refuse == "" {
			differ++
		}
	}
	data := map[string]any{"Title": "Under every choice: " + strings.ReplaceAll(sheet.Attribute, "_", " "), "S": s, "W": h.words(s),
		"Sheet": sheet, "Step": a.StepText(), "Differ": differ,
		"Margin": h.words(s).unit().Text(h.words(s).turn(s.Answer.Outcome.Margin))}
	if len(sheet.Groups) > 0 {
		data["Picture"] = GroupPicture(s.Answer.Outcome, a, sheet).Inline()
	}
	h.show(w, http.StatusOK, "robustness.html", data)
}

// GroupPicture draws an attribute's effect by studio, bay, fitter, ball and month:
// thick what to expect there (drawn toward the fleet), thin what its own trials say.
func GroupPicture(o fleet.Outcome, a fleet.Attribute, sheet *answers.Sheet) *draw.Picture {
	turn, unit, margin := axisOf(o)
	var rows []draw.Row
	for _, g := range sheet.Groups {
		low, high := turn(g.Low), turn(g.High)
		row := draw.Row{Group: "by " + g.Group, Label: g.Name, Value: turn(g.Pooled), Low: turn(g.PooledLow), High: turn(g.PooledHigh),
			PILow: &low, PIHigh: &high,
			Says: "like the fleet", Players: g.Players, Pairs: g.Sessions}
		if g.Differs {
			row.Says, row.Kind = "differs from the fleet", fleet.WayWorse
			if (g.Apart-sheet.Rows[0].Change)*o.Better > 0 {
				row.Kind = fleet.WayBetter
			}
		}
		rows = append(rows, row)
	}
	return draw.Forest(answers.OutcomeTitle(o.Name)+", "+a.StepText()+": thick what to expect there, thin its own trials alone", unit,
		o.Better, margin, rows)
}

// methods explains what stands behind every interval.
func (h *Handler) methods(w http.ResponseWriter, r *http.Request) {
	h.show(w, http.StatusOK, "methods.html", map[string]any{"Title": "Methods", "Model": fleet.Version})
}
