package enquiry

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// Numbers that can be worked out otherwise.
func TestNumbersOfTheTrade(t *testing.T) {
	near := func(what string, got, want, within float64) {
		t.Helper()
		if math.Abs(got-want) > within {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	// A change of nothing known within 1, after an answer that leaves nothing open:
	// half of the time the step is taken, at 2·φ(0)/2 = .3989 on average.
	near("worth of all", worth(0, 1, 0), 0.398942, 1e-6)
	near("worth of nothing new", worth(0.3, 1, 1), 0, 0)
	if worth(3, 1, 0.5) >= worth(1, 1, 0.5) {
		t.Error("a settled choice is worth asking more than an open one")
	}
	// Geometric: shape 1, rate 1 is ½, ¼, …; four suffice with 31/32 ≥ .95.
	near("stock", float64(enough(1, 1, 0.95)), 4, 0)
	low, high := wilson(0, 10)
	near("none of ten, low", low, 0, 0)
	near("none of ten, high", high, 0.2775, 1e-4)
	low, high = wilson(5, 10)
	near("half of ten, low", low, 0.2366, 1e-4)
	near("half of ten, high", high, 0.7634, 1e-4)
	near("months", float64(monthsBetween("2025-11", "2026-02")), 4, 0)
	near("two-sided", twoSided(1.959964), 0.05, 1e-6)
}

// What is not known is null and empty, never a number; a table survives JSON.
func TestATableIsToldAsItIs(t *testing.T) {
	in := &Table{ID: "x", Enquiry: Enquiry{Kind: "heads"}, Columns: []Column{{"model", "head", "", Text}, {"change", "change", "%",
		Change}, {"n", "players", "", Count}}}
	in.Add(T("=Gannet"), N(-1.25), C(12))
	in.Add(T("Skua"), N(math.NaN()), C(uint64(3)))
	b, err := json.Marshal(in)
	if err != nil || !strings.Contains(string(b), `["Skua",null,3]`) {
		t.Fatal(err, string(b))
	}
	out := &Table{}
	if err := json.Unmarshal(b, out); err != nil || out.Value(0, "change") != -1.25 || !math.IsNaN(out.Value(1, "change")) ||
		out.Find("model", "Skua") != 1 {
		t.Errorf("%v %+v", err, out)
	}
	var csv, text bytes.Buffer
	if err := in.WriteCSV(&csv); err != nil || csv.String() != "answer,model,change_percent,n\nx,'=Gannet,-1.25,12\nx,Skua,,3\n" {
		t.Errorf("%v %q", err, csv.String())
	}
	if err := in.WriteText(&text); err != nil || !strings.Contains(text.String(), "−1.2 %") || !strings.Contains(text.String(), "–") {
		t.Errorf("%v %s", err, text.String())
	}
	if _, err := (Enquiry{Kind: "wheels"}).Check(); err == nil {
		t.Error("a question that there is none of is taken")
	}
	if e, err := (Enquiry{Kind: "putters", Outcome: "direction"}).Check(); err != nil || e.Filter.Category != "" || e.Outcome != "" {
		t.Errorf("%+v %v", e, err)
	}
}
