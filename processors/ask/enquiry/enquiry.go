package enquiry

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// Enquiry is what is asked: a kind, of the trials that a filter leaves. Outcome is of
// kinds that judge one, Attribute of those about one step.
type Enquiry struct {
	Kind      string         `json:"kind"`
	Outcome   string         `json:"outcome,omitempty"`
	Attribute string         `json:"attribute,omitempty"`
	Filter    answers.Filter `json:"filter"`
}

// Kind is a question that can be asked.
type Kind struct {
	Name string
	Who  string // who asks it
	Asks string // in a sentence
	// What it is asked of besides the trials.
	Outcome, Attribute bool
	ask                func(ctx context.Context, d *desk, t *Table) error
}

// desk is what a kind asks at.
type desk struct {
	fleet *answers.Fleet
	mark  answers.Mark
	of    Enquiry
	how   answers.Asking
}

// Kinds are all, in the order of the page.
func Kinds() []Kind { return slices.Clone(kinds) }

var kinds []Kind

func init() {
	kinds = []Kind{
		{"places", "director", "What does one step do in each studio, bay and fitter's hands, with each ball and in each month?", true,
			true, places},
		{"whom", "director", "Whom would a finding help most who does not have it yet?", true, true, whom},
		{"learn", "director", "Where would another hundred players teach most?", true, false, learn},
		{"months", "director", "How did visits, new clubs and promises go by month?", false, false, months},
		{"calibration", "head fitter", "Do promises hold, by fitter and kind of check?", false, false, calibration},
		{"pairs", "head fitter", "Which two changes do more together than apart?", true, false, pairs},
		{"strike", "head fitter", "What should be changed for a strike high, low, on the toe or the heel?", true, false, strike},
		{"through", "head fitter", "How much of what a step does goes through the strike, through speed, through delivery, and how much " +
			"is left?", true, false, through},
		{"putters", "head fitter", "Which putters start the ball on line, and roll it one speed?", false, false, putters},
		{"builds", "club designer", "Which builds of the catalogue are better than their figures say, and how many met them or one " +
			"like them?", true, false, builds},
		{"heads", "club designer", "Which heads do more than their figures say?", true, false, models("head")},
		{"shafts", "club designer", "Which shafts do more than their figures say?", true, false, models("shaft")},
		{"grips", "club designer", "Which grips do anything?", true, false, models("grip")},
		{"balls", "club designer", "What does another ball do with the same build?", true, false, balls},
		{"stock", "operations", "What should be stocked for the next month?", false, false, stock},
		{"never", "operations", "What is tried and never chosen?", false, false, never},
	}
}

// Find is the kind with a name.
func Find(name string) (Kind, bool) {
	i := slices.IndexFunc(kinds, func(k Kind) bool { return k.Name == name })
	if i < 0 {
		return Kind{}, false
	}
	return kinds[i], true
}

// Names lists the kinds.
func Names() []string {
	var out []string
	for _, k := range kinds {
		out = append(out, k.Name)
	}
	return out
}

// Check completes an enquiry with what is usual, and says what in it cannot be used.
func (e Enquiry) Check() (Enquiry, error) {
	k, ok := Find(e.Kind)
	if !ok {
		return e, &answers.FilterError{Field: "question", Value: e.Kind, Reason: "there is none of that name",
			Try: "use " + strings.Join(Names(), ", ")}
	}
	if e.Filter.Category == "" && e.Kind != "putters" {
		e.Filter.Category = string(glossary.Driver)
	}
	if e.Kind == "putters" {
		e.Filter.Category = ""
	}
	switch {
	case !k.Outcome:
		e.Outcome = ""
	case e.Outcome == "":
		e.Outcome = fleet.Primary(glossary.Category(e.Filter.Category))[0]
	}
	switch {
	case !k.Attribute:
		e.Attribute = ""
	case e.Attribute == "":
		e.Attribute = fleet.ShaftWeight.Name()
	}
	q := answers.Question{Outcome: e.Outcome, Filter: e.Filter}
	if e.Attribute != "" {
		q.Attributes = []string{e.Attribute}
	}
	if q.Outcome == "" {
		q.Outcome = string(fleet.Primary(glossary.Driver)[0])
	}
	return e, q.Check()
}

// stored marks the answers of enquiries among those that are kept.
const stored = "enquiry"

// Ask answers an enquiry and keeps the answer, or reads the one that is kept. Too
// little to say is an answer too: Refused says why.
func Ask(ctx context.Context, f *answers.Fleet, e Enquiry, how answers.Asking) (*Table, error) {
	e, err := e.Check()
	if err != nil {
		return nil, err
	}
	k, _ := Find(e.Kind)
	mark, err := f.Of(ctx, how)
	if err != nil {
		return nil, err
	}
	if err := f.CheckNames(ctx, mark, e.Filter); err != nil {
		return nil, err
	}
	written, err := json.Marshal(e)
	if err != nil {
		return nil, err
	}
	hash := answers.HashOf(stored, written)
	id := answers.Identity(stored, hash, mark)
	if !how.Again {
		if old, err := Kept(ctx, f, id); err == nil {
			return old, nil
		} else if !errors.Is(err, answers.ErrNoAnswer) {
			return nil, err
		}
	}
	begun := f.Now()
	t := &Table{ID: id, Enquiry: e, Title: e.title(), Asks: k.Asks, Mark: mark, Snapshot: mark.Snapshot, Trials: int(mark.Trials),
		Players: int(mark.Players),
		Rows:    [][]Cell{}, Said: []string{}, Methods: "/fleet/methods#" + k.Name}
	err = k.ask(ctx, &desk{f, mark, e, how}, t)
	if refused, ok := answers.Refusal(err); ok {
		t.Refused, err = refused, nil
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", k.Name, err)
	}
	t.Seconds, t.Asked = f.Now().Sub(begun).Seconds(), f.Now().UTC()
	body, err := json.Marshal(t)
	if err != nil {
		return nil, fmt.Errorf("%s: keep the answer: %w", k.Name, err)
	}
	return t, f.KeepOther(ctx, answers.Other{ID: id, Kind: stored, Hash: hash, Label: t.Title, Category: e.Filter.Category,
		Outcome: e.Outcome,
		Mark:    mark, Asked: t.Asked, Seconds: t.Seconds, Trials: uint64(t.Trials), Players: uint64(t.Players), Refused: t.Refused, Body: body})
}

// Kept is the kept answer with an id, or answers.ErrNoAnswer.
func Kept(ctx context.Context, f *answers.Fleet, id string) (*Table, error) {
	body, err := f.OtherBody(ctx, id)
	if err != nil {
		return nil, err
	}
	t := &Table{}
	if err := json.Unmarshal([]byte(body), t); err != nil {
		return nil, fmt.Errorf("kept answer %s: %w", id, err)
	}
	if t.Enquiry.Kind == "" {
		return nil, answers.ErrNoAnswer // of another kind
	}
	return t, nil
}

func (e Enquiry) title() string {
	k, _ := Find(e.Kind)
	parts := []string{strings.ToUpper(k.Name[:1]) + k.Name[1:]}
	if e.Filter.Category != "" {
		parts = append(parts, e.Filter.Category)
	}
	if e.Outcome != "" {
		parts = append(parts, answers.OutcomeTitle(e.Outcome))
	}
	if a, ok := fleet.ParseAttribute(e.Attribute); ok {
		parts = append(parts, a.StepText())
	}
	return strings.Join(append(parts, e.Filter.Label()), ", ")
}
