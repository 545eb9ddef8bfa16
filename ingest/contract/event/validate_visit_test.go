package event

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

var visitNow = time.Date(2026, 5, 1, 10, 0, 0, 0, time.UTC)

func said(set func(*VisitEvent)) *VisitEvent {
	ev := &VisitEvent{
		Contract: 1, Id: "e1", Studio: "harbour-row", Bay: "north", Who: "f-ada", Visit: "v1", Session: "s1",
		EffectiveUnixNs: visitNow.UnixNano(), RecordedUnixNs: visitNow.UnixNano(),
	}
	set(ev)
	return ev
}

func someBuild() *Build {
	return &Build{Name: "gamer", Gamer: true, Specs: []*Spec{
		{Field: BuildField_BUILD_HEAD_MODEL, Text: "Skerry 2"},
		{Field: BuildField_BUILD_LENGTH, Number: 0.94, Knowledge: Knowledge_KNOWLEDGE_MEASURED},
		{Field: BuildField_BUILD_TOTAL_WEIGHT, Number: 0.42},
		{Field: BuildField_BUILD_HEAD_WEIGHT, Number: 0.27},
	}}
}

// goodEvents holds one good event of every kind.
func goodEvents() map[string]*VisitEvent {
	id := ShotIDFor("a", "1")
	ids := [][]byte{id[:]}
	f := proto.Float64
	bodies := map[string]isVisitEvent_Body{
		"session_opened":    &VisitEvent_SessionOpened{&SessionOpened{Player: "p1", Hand: Hand_HAND_LEFT, Category: "iron", Fitter: "f-ada", Aim: "land it softer", PoolingConsent: true}},
		"session_closed":    &VisitEvent_SessionClosed{&SessionClosed{}},
		"setting_changed":   &VisitEvent_SettingChanged{&SettingChanged{Place: "outdoor", Surface: "tee", TeeHeightM: f(0.04), WindSpeedMps: f(3), WindTowardDeg: f(-90), GreenSpeedM: f(3.1)}},
		"trial_started":     &VisitEvent_TrialStarted{&TrialStarted{Trial: "t1", Build: someBuild()}},
		"trial_paused":      &VisitEvent_TrialPaused{&TrialPaused{}},
		"trial_resumed":     &VisitEvent_TrialResumed{&TrialResumed{}},
		"trial_ended":       &VisitEvent_TrialEnded{&TrialEnded{}},
		"build_amended":     &VisitEvent_BuildAmended{&BuildAmended{Trial: "t1", Build: someBuild()}},
		"hitter_changed":    &VisitEvent_HitterChanged{&HitterChanged{Kind: HitterKind_HITTER_GUEST}},
		"instruction_noted": &VisitEvent_InstructionNoted{&InstructionNoted{Words: "ball back a width", Kind: InstructionKind_INSTRUCTION_SETUP}},
		"intent_changed":    &VisitEvent_IntentChanged{&IntentChanged{Intent: Intent_INTENT_SHAPING}},
		"class_changed":     &VisitEvent_ClassChanged{&ClassChanged{Class: ShotClass_CLASS_PARTIAL, LengthM: 55, ShotIds: ids}},
		"feel_noted":        &VisitEvent_FeelNoted{&FeelNoted{Trial: "t1", Words: "heavy\nbut quiet", Liking: -1}},
		"shots_excluded":    &VisitEvent_ShotsExcluded{&ShotsExcluded{ShotIds: ids, Reason: "thinned"}},
		"shots_restored":    &VisitEvent_ShotsRestored{&ShotsRestored{ShotIds: ids}},
		"shots_moved":       &VisitEvent_ShotsMoved{&ShotsMoved{ShotIds: ids}},
		"shots_unpaired":    &VisitEvent_ShotsUnpaired{&ShotsUnpaired{ShotIds: ids}},
		"session_corrected": &VisitEvent_SessionCorrected{&SessionCorrected{Hand: Hand_HAND_RIGHT}},
		"verdict_given": &VisitEvent_VerdictGiven{&VerdictGiven{Kind: VerdictKind_VERDICT_BUILD, Trial: "t2", Baseline: "t1", Build: someBuild(),
			Promises: []*Promise{{Outcome: "carry", Change: 4, Low: 1, High: 7, ProbabilityBetter: 0.97, Prior: somePrior(), PriorHeld: 0.9}}}},
		"session_erased": &VisitEvent_SessionErased{&SessionErased{Player: "p-ada"}},
		"prior_taken":    &VisitEvent_PriorTaken{&PriorTaken{Pair: "p1", Priors: []*Prior{somePrior()}, ProfileUnixNs: 1}},
		"clock_met":      &VisitEvent_ClockMet{&ClockMet{Boot: "00000000000000b0", AheadNs: 5, ErrorNs: 1}},
		"hit_checked":    &VisitEvent_HitChecked{&HitChecked{Verdict: "e9", Trial: "t9", Build: someBuild()}},
		"voided":         &VisitEvent_Voided{&Voided{Event: "e0"}},
	}
	good := map[string]*VisitEvent{}
	for name, b := range bodies {
		good[name] = said(func(ev *VisitEvent) { ev.Body = b })
	}
	return good
}

func somePrior() *Prior {
	return &Prior{Outcome: "carry", Mean: 2, Sd: 3, Doubt: 0.2, Answer: "00aa", Players: 214, AnsweredUnixNs: 2, MarkUnixNs: 1}
}

func TestGoodEventsPass(t *testing.T) {
	good := goodEvents()
	kinds := (&VisitEvent{}).ProtoReflect().Descriptor().Oneofs().ByName("body").Fields()
	for i := range kinds.Len() {
		if name := string(kinds.Get(i).Name()); good[name] == nil {
			t.Errorf("no example of %s", name)
		}
	}
	for name, ev := range good {
		if f := ValidateEvent(ev, visitNow); len(f) != 0 {
			t.Errorf("%s is refused: %v", name, f)
		}
	}
}

func TestValidateEvent(t *testing.T) {
	for _, c := range []struct {
		name, kind, field string
		spoil             func(*VisitEvent)
	}{
		{"no id", "trial_paused", "id", func(e *VisitEvent) { e.Id = "" }},
		{"id with blanks", "trial_paused", "id", func(e *VisitEvent) { e.Id = "a b" }},
		{"contract", "trial_paused", "contract", func(e *VisitEvent) { e.Contract = 9 }},
		{"studio", "trial_paused", "studio", func(e *VisitEvent) { e.Studio = "Harbour Row" }},
		{"bay", "trial_paused", "bay", func(e *VisitEvent) { e.Bay = "" }},
		{"no body", "trial_paused", "body", func(e *VisitEvent) { e.Body = nil }},
		{"no recorded time", "trial_paused", "recorded_time", func(e *VisitEvent) { e.RecordedUnixNs = 0 }},
		{"recorded in 1970", "trial_paused", "recorded_time", func(e *VisitEvent) { e.RecordedUnixNs = 1 }},
		{"recorded next week", "trial_paused", "recorded_time", func(e *VisitEvent) { e.RecordedUnixNs += int64(7 * 24 * time.Hour) }},
		{"no effective time", "trial_paused", "effective_time", func(e *VisitEvent) { e.EffectiveUnixNs = 0 }},
		{"effective tomorrow", "trial_paused", "effective_time", func(e *VisitEvent) { e.EffectiveUnixNs += int64(20 * time.Hour) }},
		{"effective far ago", "trial_paused", "effective_time", func(e *VisitEvent) { e.EffectiveUnixNs -= int64(2 * oldest) }},
		{"effective in 1999", "trial_paused", "effective_time", func(e *VisitEvent) { e.EffectiveUnixNs = earliest.UnixNano() - 1 }},
		{"seen nothing", "trial_paused", "last_seen", func(e *VisitEvent) { e.LastSeen = &Seen{Journal: "a"} }},
		{"no player", "session_opened", "player", func(e *VisitEvent) { e.GetSessionOpened().Player = "" }},
		{"no session", "session_opened", "session", func(e *VisitEvent) { e.Session = "" }},
		{"no visit", "session_opened", "visit", func(e *VisitEvent) { e.Visit = "" }},
		{"category", "session_opened", "category", func(e *VisitEvent) { e.GetSessionOpened().Category = "spoon" }},
		{"no category", "session_opened", "category", func(e *VisitEvent) { e.GetSessionOpened().Category = "" }},
		{"hand", "session_opened", "hand", func(e *VisitEvent) { e.GetSessionOpened().Hand = 7 }},
		{"long aim", "session_opened", "aim", func(e *VisitEvent) { e.GetSessionOpened().Aim = strings.Repeat("x", longestText+1) }},
		{"broken aim", "session_opened", "aim", func(e *VisitEvent) { e.GetSessionOpened().Aim = "\xff" }},
		{"control character", "session_opened", "aim", func(e *VisitEvent) { e.GetSessionOpened().Aim = "a\x00b" }},
		{"place", "setting_changed", "place", func(e *VisitEvent) { e.GetSettingChanged().Place = "barn" }},
		{"surface", "setting_changed", "surface", func(e *VisitEvent) { e.GetSettingChanged().Surface = "sand" }},
		{"tee NaN", "setting_changed", "tee_height_m", func(e *VisitEvent) { *e.GetSettingChanged().TeeHeightM = math.NaN() }},
		{"tee in mm", "setting_changed", "tee_height_m", func(e *VisitEvent) { *e.GetSettingChanged().TeeHeightM = 40 }},
		{"wind infinite", "setting_changed", "wind_speed_mps", func(e *VisitEvent) { *e.GetSettingChanged().WindSpeedMps = math.Inf(1) }},
		{"wind indoors", "setting_changed", "wind_speed_mps", func(e *VisitEvent) { e.GetSettingChanged().Place = "indoor" }},
		{"tee on grass", "setting_changed", "tee_height_m", func(e *VisitEvent) { e.GetSettingChanged().Surface = "grass" }},
		{"green speed in ft", "setting_changed", "green_speed_m", func(e *VisitEvent) { *e.GetSettingChanged().GreenSpeedM = 10 }},
		{"no trial", "trial_started", "trial", func(e *VisitEvent) { e.GetTrialStarted().Trial = "" }},
		{"no build", "trial_started", "build", func(e *VisitEvent) { e.GetTrialStarted().Build = nil }},
		{"length in inches", "trial_started", "build.length", func(e *VisitEvent) { e.GetTrialStarted().Build.Specs[1].Number = 37 }},
		{"amended NaN", "build_amended", "build.length", func(e *VisitEvent) { e.GetBuildAmended().Build.Specs[1].Number = math.NaN() }},
		{"hitter", "hitter_changed", "hitter_kind", func(e *VisitEvent) { e.GetHitterChanged().Kind = 9 }},
		{"no words", "instruction_noted", "words", func(e *VisitEvent) { e.GetInstructionNoted().Words = "" }},
		{"intent", "intent_changed", "intent", func(e *VisitEvent) { e.GetIntentChanged().Intent = -1 }},
		{"length of a full shot", "class_changed", "length_m", func(e *VisitEvent) { e.GetClassChanged().Class = ShotClass_CLASS_FULL }},
		{"length NaN", "class_changed", "length_m", func(e *VisitEvent) { e.GetClassChanged().LengthM = math.NaN() }},
		{"liking", "feel_noted", "liking", func(e *VisitEvent) { e.GetFeelNoted().Liking = 5 }},
		{"felt nothing", "feel_noted", "words", func(e *VisitEvent) { e.GetFeelNoted().Words, e.GetFeelNoted().Liking = "", 0 }},
		{"no reason", "shots_excluded", "reason", func(e *VisitEvent) { e.GetShotsExcluded().Reason = "" }},
		{"no shots", "shots_excluded", "shot_ids", func(e *VisitEvent) { e.GetShotsExcluded().ShotIds = nil }},
		{"too many shots", "shots_moved", "shot_ids", func(e *VisitEvent) { e.GetShotsMoved().ShotIds = make([][]byte, mostShots+1) }},
		{"short shot id", "shots_moved", "shot_ids[0]", func(e *VisitEvent) { e.GetShotsMoved().ShotIds[0] = []byte{1} }},
		{"unpaired nothing", "shots_unpaired", "shot_ids", func(e *VisitEvent) { e.GetShotsUnpaired().ShotIds = nil }},
		{"corrects nothing", "session_corrected", "session_corrected", func(e *VisitEvent) { e.GetSessionCorrected().Hand = 0 }},
		{"corrected bay", "session_corrected", "corrected_bay", func(e *VisitEvent) { e.GetSessionCorrected().Bay = "North" }},
		{"corrects no session", "session_corrected", "session", func(e *VisitEvent) { e.Session = "" }},
		{"no verdict", "verdict_given", "verdict", func(e *VisitEvent) { e.GetVerdictGiven().Kind = 0 }},
		{"nothing to make", "verdict_given", "build", func(e *VisitEvent) { e.GetVerdictGiven().Trial, e.GetVerdictGiven().Build = "", nil }},
		{"referred to nobody", "verdict_given", "words", func(e *VisitEvent) { e.GetVerdictGiven().Kind = VerdictKind_VERDICT_REFER }},
		{"compared with itself", "verdict_given", "baseline", func(e *VisitEvent) { e.GetVerdictGiven().Baseline = "t2" }},
		{"promise turned round", "verdict_given", "promises[0].low", func(e *VisitEvent) { e.GetVerdictGiven().Promises[0].Low = 9 }},
		{"promise NaN", "verdict_given", "promises[0].change", func(e *VisitEvent) { e.GetVerdictGiven().Promises[0].Change = math.NaN() }},
		{"probability", "verdict_given", "promises[0].probability_better", func(e *VisitEvent) { e.GetVerdictGiven().Promises[0].ProbabilityBetter = 97 }},
		{"promise of a spoiled prior", "verdict_given", "promises[0].prior.mean", func(e *VisitEvent) { e.GetVerdictGiven().Promises[0].Prior.Mean = math.Inf(1) }},
		{"erased for nobody", "session_erased", "player", func(e *VisitEvent) { e.GetSessionErased().Player = "" }},
		{"erased session of no name", "session_erased", "session", func(e *VisitEvent) { e.Session = "" }},
		{"clock of no boot", "clock_met", "clock_met", func(e *VisitEvent) { e.GetClockMet().Boot = "" }},
		{"prior of no pair", "prior_taken", "pair", func(e *VisitEvent) { e.GetPriorTaken().Pair = "" }},
		{"no prior", "prior_taken", "priors", func(e *VisitEvent) { e.GetPriorTaken().Priors = nil }},
		{"sure prior", "prior_taken", "priors[0].sd", func(e *VisitEvent) { e.GetPriorTaken().Priors[0].Sd = 0 }},
		{"prior of no session", "prior_taken", "session", func(e *VisitEvent) { e.Session = "" }},
		{"nothing but doubt", "prior_taken", "priors[0].doubt", func(e *VisitEvent) { e.GetPriorTaken().Priors[0].Doubt = 1 }},
		{"checks no verdict", "hit_checked", "verdict", func(e *VisitEvent) { e.GetHitChecked().Verdict = "" }},
		{"voids nothing", "voided", "event", func(e *VisitEvent) { e.GetVoided().Event = "" }},
		{"voids itself", "voided", "event", func(e *VisitEvent) { e.GetVoided().Event = e.Id }},
	} {
		ev := goodEvents()[c.kind]
		c.spoil(ev)
		faults := ValidateEvent(ev, visitNow)
		if !slices.ContainsFunc(faults, func(f *Fault) bool { return f.Field == c.field && f.Reason != "" }) {
			t.Errorf("%s: faults %v do not name %q", c.name, faults, c.field)
		}
	}
}

func TestValidateBuild(t *testing.T) {
	if f := ValidateBuild(someBuild()); len(f) != 0 {
		t.Fatalf("a good build is refused: %v", f)
	}
	if f := append(ValidateBuild(nil), ValidateBuild(&Build{})...); len(f) != 0 {
		t.Fatalf("an unknown club is refused: %v", f)
	}
	add := func(s ...*Spec) func(*Build) { return func(b *Build) { b.Specs = append(b.Specs, s...) } }
	for name, c := range map[string]struct {
		spoil func(*Build)
		field string
	}{
		"unknown part":    {add(&Spec{Field: 999}), "build_field_999"},
		"twice":           {add(&Spec{Field: BuildField_BUILD_LENGTH, Number: 1}), "length"},
		"nil part":        {add(nil), "specs"},
		"infinite":        {add(&Spec{Field: BuildField_BUILD_LOFT, Number: math.Inf(-1)}), "loft"},
		"text for number": {add(&Spec{Field: BuildField_BUILD_LOFT, Number: 30, Text: "34"}), "loft"},
		"number for text": {add(&Spec{Field: BuildField_BUILD_FLEX, Number: 5, Text: "S"}), "flex"},
		"NaN for text":    {add(&Spec{Field: BuildField_BUILD_FLEX, Number: math.NaN(), Text: "S"}), "flex"},
		"empty text":      {add(&Spec{Field: BuildField_BUILD_FLEX}), "flex"},
		"knowledge":       {add(&Spec{Field: BuildField_BUILD_LIE, Number: 62, Knowledge: 4}), "lie.knowledge"},
		"parts too heavy": {add(&Spec{Field: BuildField_BUILD_SHAFT_WEIGHT, Number: 0.16}), "total_weight"},
		"balance":         {add(&Spec{Field: BuildField_BUILD_BALANCE_POINT, Number: 1.2}), "balance_point"},
		"loft":            {add(&Spec{Field: BuildField_BUILD_LOFT, Number: 20}, &Spec{Field: BuildField_BUILD_STATED_LOFT, Number: 56}), "loft"},
		"club id":         {func(b *Build) { b.ClubId = "no. 7" }, "club_id"},
	} {
		b := someBuild()
		c.spoil(b)
		faults := ValidateBuild(b)
		if !slices.ContainsFunc(faults, func(f *Fault) bool { return f.Field == c.field && f.Reason != "" }) {
			t.Errorf("%s: faults %v do not name %q", name, faults, c.field)
		}
	}
}

// An event that came over the wire may hold nothing where something belongs.
func TestEmptyEventsDoNotPanic(t *testing.T) {
	ValidateEvent(nil, visitNow)
	kinds := (&VisitEvent{}).ProtoReflect().Descriptor().Oneofs().ByName("body").Fields()
	for i := range kinds.Len() {
		ev := &VisitEvent{}
		ev.ProtoReflect().Set(kinds.Get(i), protoreflect.ValueOfMessage(ev.ProtoReflect().NewField(kinds.Get(i)).Message()))
		if len(ValidateEvent(ev, visitNow)) == 0 {
			t.Errorf("an empty %s is taken", kinds.Get(i).Name())
		}
	}
	ValidateEvent(&VisitEvent{Body: &VisitEvent_SettingChanged{}}, visitNow)
	ValidateEvent(&VisitEvent{Body: &VisitEvent_SessionOpened{}}, visitNow)
	ValidateEvent(&VisitEvent{Body: &VisitEvent_VerdictGiven{VerdictGiven: &VerdictGiven{Promises: []*Promise{nil}}}}, visitNow)
}
