package event

import (
	"slices"
	"testing"
)

// Texts meets what people said, wrote or named, and neither ids nor parts nor the
// names that follow from them.
func TestFreeTexts(t *testing.T) {
	named := func(name string, after ...BuildField) *Build {
		return &Build{Name: name, ClubId: "id", NamedAfter: after, Specs: []*Spec{{Field: BuildField_BUILD_FLEX, Text: "part", MeasuredOn: "id"}}}
	}
	for _, c := range []struct {
		ev   *VisitEvent
		want []string
	}{
		{&VisitEvent{Body: &VisitEvent_SessionOpened{SessionOpened: &SessionOpened{Player: "p-1", Category: "iron", Fitter: "f-1", Aim: "aim"}}},
			[]string{"aim"}},
		{&VisitEvent{Body: &VisitEvent_TrialStarted{TrialStarted: &TrialStarted{Trial: "t-1", Build: named("Quill's")}}}, []string{"Quill's"}},
		{&VisitEvent{Body: &VisitEvent_TrialStarted{TrialStarted: &TrialStarted{Build: named("Flex S", BuildField_BUILD_FLEX)}}}, nil},
		{&VisitEvent{Body: &VisitEvent_TrialStarted{TrialStarted: &TrialStarted{Build: named(OwnClub)}}}, nil},
		{&VisitEvent{Body: &VisitEvent_FeelNoted{FeelNoted: &FeelNoted{Trial: "t-1", Words: "whippy"}}}, []string{"whippy"}},
		{&VisitEvent{Body: &VisitEvent_OrderPlaced{OrderPlaced: &OrderPlaced{Order: "o", Verdict: "v", Words: "soon",
			Clubs: []*OrderedClub{{Name: "7i", Category: "iron", Build: named("hers")}}}}}, []string{"hers", "soon"}},
		{&VisitEvent{Body: &VisitEvent_OrderMoved{OrderMoved: &OrderMoved{Order: "o", Holder: "f-1", WaitsFor: "grips", Words: "w"}}},
			[]string{"grips", "w"}},
		{&VisitEvent{Body: &VisitEvent_Voided{Voided: &Voided{Event: "e", Reason: "slip"}}}, []string{"slip"}},
		{&VisitEvent{}, nil},
	} {
		var got []string
		Texts(c.ev, func(text string) string { got = append(got, text); return "sealed1.x~" })
		slices.Sort(got)
		if !slices.Equal(got, c.want) {
			t.Errorf("%v: %q, want %q", c.ev, got, c.want)
		}
		again := 0
		Texts(c.ev, func(text string) string {
			if text != "sealed1.x~" {
				t.Errorf("%v holds %q", c.ev, text)
			}
			again++
			return text
		})
		if again != len(c.want) {
			t.Errorf("%v: %d texts afterwards", c.ev, again)
		}
	}
}
