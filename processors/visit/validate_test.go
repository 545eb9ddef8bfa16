package visit

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
)

var visitNow = time.Date(2026, 5, 1, 10, 0, 0, 0, time.UTC)

func said(set func(*event.VisitEvent)) *event.VisitEvent {
	ev := &event.VisitEvent{
		Contract: 1, Id: "e1", Studio: "harbour-row", Bay: "north", Who: "f-ada", Visit: "v1", Session: "s1",
		EffectiveUnixNs: visitNow.UnixNano(), RecordedUnixNs: visitNow.UnixNano(),
	}
	set(ev)
	return ev
}

func someBuild() *event.Build {
	return &event.Build{Name: "gamer", Gamer: true, Specs: []*event.Spec{
		{Field: event.BuildField_BUILD_HEAD_MODEL, Text: "Skerry 2"},
		{Field: event.BuildField_BUILD_LENGTH, Number: 0.94, Knowledge: event.Knowledge_KNOWLEDGE_MEASURED},
		{Field: event.BuildField_BUILD_TOTAL_WEIGHT, Number: 0.42},
		{Field: event.BuildField_BUILD_HEAD_WEIGHT, Number: 0.27},
	}}
}

// goodEvents holds one good event of every kind.
func goodEvents() map[string]*event.VisitEvent {
	id := event.ShotIDFor("a", "1")
	ids := [][]byte{id[:]}
	f := proto.Float64
	bodies := map[string]*event.VisitEvent{
		"session_opened": {Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p1", Hand: event.Hand_HAND_LEFT,
			Category: "iron", Fitter: "f-ada", Aim: "land it softer", PoolingConsent: true}}},
		"player_joined":  {Body: &event.VisitEvent_PlayerJoined{PlayerJoined: &event.PlayerJoined{Join: "j-7kq2m"}}},
		"session_closed": {Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}},
		"setting_changed": {Body: &event.VisitEvent_SettingChanged{SettingChanged: &event.SettingChanged{Place: "outdoor", Surface: "tee",
			TeeHeightM: f(0.04), WindSpeedMps: f(3), WindTowardDeg: f(-90), GreenSpeedM: f(3.1)}}},
		"trial_started":  {Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t1", Build: someBuild()}}},
		"trial_paused":   {Body: &event.VisitEvent_TrialPaused{TrialPaused: &event.TrialPaused{}}},
		"trial_resumed":  {Body: &event.VisitEvent_TrialResumed{TrialResumed: &event.TrialResumed{}}},
		"trial_ended":    {Body: &event.VisitEvent_TrialEnded{TrialEnded: &event.TrialEnded{}}},
		"build_amended":  {Body: &event.VisitEvent_BuildAmended{BuildAmended: &event.BuildAmended{Trial: "t1", Build: someBuild()}}},
		"hitter_changed": {Body: &event.VisitEvent_HitterChanged{HitterChanged: &event.HitterChanged{Kind: event.HitterKind_HITTER_GUEST}}},
		"instruction_noted": {Body: &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{Words: "ball back a width",
			Kind: event.InstructionKind_INSTRUCTION_SETUP}}},
		"intent_changed": {Body: &event.VisitEvent_IntentChanged{IntentChanged: &event.IntentChanged{Intent: event.Intent_INTENT_SHAPING}}},
		"class_changed": {Body: &event.VisitEvent_ClassChanged{ClassChanged: &event.ClassChanged{Class: event.ShotClass_CLASS_PARTIAL,
			LengthM: 55, ShotIds: ids}}},
		"feel_noted":        {Body: &event.VisitEvent_FeelNoted{FeelNoted: &event.FeelNoted{Trial: "t1", Words: "heavy\nbut quiet", Liking: -1}}},
		"shots_excluded":    {Body: &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: ids, Reason: "thinned"}}},
		"shots_restored":    {Body: &event.VisitEvent_ShotsRestored{ShotsRestored: &event.ShotsRestored{ShotIds: ids}}},
		"shots_moved":       {Body: &event.VisitEvent_ShotsMoved{ShotsMoved: &event.ShotsMoved{ShotIds: ids}}},
		"shots_unpaired":    {Body: &event.VisitEvent_ShotsUnpaired{ShotsUnpaired: &event.ShotsUnpaired{ShotIds: ids}}},
		"session_corrected": {Body: &event.VisitEvent_SessionCorrected{SessionCorrected: &event.SessionCorrected{Hand: event.Hand_HAND_RIGHT}}},
		"verdict_given": {Body: &event.VisitEvent_VerdictGiven{VerdictGiven: &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_BUILD,
			Trial: "t2", Baseline: "t1", Build: someBuild(),
			Promises: []*event.Promise{{Outcome: "carry", Change: 4, Low: 1, High: 7, ProbabilityBetter: 0.97, Prior: somePrior(),
				PriorHeld: 0.9}}}}},
		"session_erased": {Body: &event.VisitEvent_SessionErased{SessionErased: &event.SessionErased{Player: "p-ada"}}},
		"prior_taken": {Body: &event.VisitEvent_PriorTaken{PriorTaken: &event.PriorTaken{Pair: "p1", Priors: []*event.Prior{somePrior()},
			ProfileUnixNs: 1}}},
		"clock_met":   {Body: &event.VisitEvent_ClockMet{ClockMet: &event.ClockMet{Boot: "00000000000000b0", AheadNs: 5, ErrorNs: 1}}},
		"hit_checked": {Body: &event.VisitEvent_HitChecked{HitChecked: &event.HitChecked{Verdict: "e9", Trial: "t9", Build: someBuild()}}},
		"voided":      {Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: "e0"}}},
		"order_placed": {Body: &event.VisitEvent_OrderPlaced{OrderPlaced: &event.OrderPlaced{Order: order.NumberFrom("e1", 0), Verdict: "e9",
			Clubs: []*event.OrderedClub{{Name: "7i", Category: "iron", Build: someBuild()}}}}},
		"order_moved": {Body: &event.VisitEvent_OrderMoved{OrderMoved: &event.OrderMoved{Order: order.NumberFrom("e1", 0),
			State: event.OrderState_ORDER_IN_WORK, Holder: "p-ada", WaitsFor: "heavy grips"}}},
		"club_built": {Body: &event.VisitEvent_ClubBuilt{ClubBuilt: &event.ClubBuilt{Order: order.NumberFrom("e1", 0), Club: "7i",
			Build: someBuild(), Judgement: event.BuiltJudgement_BUILT_REWORK, Reason: "ball back"}}},
		"player_noted": {Body: &event.VisitEvent_PlayerNoted{PlayerNoted: &event.PlayerNoted{Kind: event.PlayerNote_NOTE_PAIN,
			Words: "lower back"}}},
		"player_measured": {Body: &event.VisitEvent_PlayerMeasured{PlayerMeasured: &event.PlayerMeasured{HeightM: f(1.81)}}},
		"bag_measured": {Body: &event.VisitEvent_BagMeasured{BagMeasured: &event.BagMeasured{Clubs: []*event.BagClub{{Name: "7i",
			Category: "iron", Build: someBuild(), CarryM: 145.5}}}}},
		"parts_listed": {Body: &event.VisitEvent_PartsListed{PartsListed: &event.PartsListed{Parts: []*event.CataloguePart{{Code: "SK2-7",
			Kind: event.PartKind_PART_HEAD, Category: "iron", Club: "7i", Metal: "cast", BendLimitDeg: 2, Price: 9500, Currency: "EUR",
			Specs:      []*event.Spec{{Field: event.BuildField_BUILD_HEAD_MODEL, Text: "Reed head"}},
			Tolerances: []*event.Tolerance{{Field: event.BuildField_BUILD_HEAD_WEIGHT, Off: 0.002}}}}}}},
		"stock_counted": {Body: &event.VisitEvent_StockCounted{StockCounted: &event.StockCounted{Part: "SK2-7", Pieces: 6,
			Order: order.NumberFrom("e1", 0)}}},
		"test_club_placed": {Body: &event.VisitEvent_TestClubPlaced{TestClubPlaced: &event.TestClubPlaced{ClubId: "T7-03", Category: "iron",
			Club: "7i", Bay: "north", Parts: []string{"SK2-7"}, Reference: true,
			Specs: []*event.Spec{{Field: event.BuildField_BUILD_LENGTH, Number: 0.94}}}}},
		"bay_checked": {Body: &event.VisitEvent_BayChecked{BayChecked: &event.BayChecked{Trial: "t1", Judgement: event.CheckJudgement_CHECK_GO,
			Device: "radar", ClubId: "REF-7", Ball: "Harbour", Fields: []*event.CheckedField{{Field: "ball_speed_mps", Shots: 10, Mean: 52,
				Sd: 0.7, Bias: 0.1, BiasSd: 0.4, Judgement: event.CheckJudgement_CHECK_GO}}}}},
		"turn_taken": {Body: &event.VisitEvent_TurnTaken{TurnTaken: &event.TurnTaken{}}},
		"order_marked": {Body: &event.VisitEvent_OrderMarked{OrderMarked: &event.OrderMarked{Order: order.NumberFrom("e1", 0),
			Mark: event.OrderMark_MARK_DEPOSIT}}},
	}
	good := map[string]*event.VisitEvent{}
	for name, b := range bodies {
		good[name] = said(func(ev *event.VisitEvent) { ev.Body = b.Body })
	}
	return good
}

func somePrior() *event.Prior {
	return &event.Prior{Outcome: "carry", Mean: 2, Sd: 3, Doubt: 0.2, Answer: "00aa", Players: 214, AnsweredUnixNs: 2, MarkUnixNs: 1}
}

func TestGoodEventsPass(t *testing.T) {
	good := goodEvents()
	kinds := (&event.VisitEvent{}).ProtoReflect().Descriptor().Oneofs().ByName("body").Fields()
	for i := range kinds.Len() {
		if name := string(kinds.Get(i).Name()); good[name] == nil {
			t.Errorf("no example of %s", name)
		}
	}
	for name, ev := range good {
		if f := Validate(ev, visitNow); len(f) != 0 {
			t.Errorf("%s is refused: %v", name, f)
		}
	}
}

func TestValidate(t *testing.T) {
	for _, c := range []struct {
		name, kind, field string
		spoil             func(*event.VisitEvent)
	}{
		{"no id", "trial_paused", "id", func(e *event.VisitEvent) { e.Id = "" }},
		{"id with blanks", "trial_paused", "id", func(e *event.VisitEvent) { e.Id = "a b" }},
		{"contract", "trial_paused", "contract", func(e *event.VisitEvent) { e.Contract = 9 }},
		{"studio", "trial_paused", "studio", func(e *event.VisitEvent) { e.Studio = "Harbour Row" }},
		{"bay", "trial_paused", "bay", func(e *event.VisitEvent) { e.Bay = "" }},
		{"no body", "trial_paused", "body", func(e *event.VisitEvent) { e.Body = nil }},
		{"no recorded time", "trial_paused", "recorded_time", func(e *event.VisitEvent) { e.RecordedUnixNs = 0 }},
		{"recorded in 1970", "trial_paused", "recorded_time", func(e *event.VisitEvent) { e.RecordedUnixNs = 1 }},
		{"recorded next week", "trial_paused", "recorded_time", func(e *event.VisitEvent) { e.RecordedUnixNs += int64(7 * 24 * time.Hour) }},
		{"no effective time", "trial_paused", "effective_time", func(e *event.VisitEvent) { e.EffectiveUnixNs = 0 }},
		{"effective tomorrow", "trial_paused", "effective_time", func(e *event.VisitEvent) { e.EffectiveUnixNs += int64(20 * time.Hour) }},
		{"effective far ago", "trial_paused", "effective_time", func(e *event.VisitEvent) { e.EffectiveUnixNs -= int64(800 * 24 * time.Hour) }},
		{"effective in 1999", "trial_paused", "effective_time", func(e *event.VisitEvent) {
			e.EffectiveUnixNs = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).UnixNano() - 1
		}},
		{"seen nothing", "trial_paused", "last_seen", func(e *event.VisitEvent) { e.LastSeen = &event.Seen{Journal: "a"} }},
		{"no player", "session_opened", "player", func(e *event.VisitEvent) { e.GetSessionOpened().Player = "" }},
		{"no session", "session_opened", "session", func(e *event.VisitEvent) { e.Session = "" }},
		{"no visit", "session_opened", "visit", func(e *event.VisitEvent) { e.Visit = "" }},
		{"category", "session_opened", "category", func(e *event.VisitEvent) { e.GetSessionOpened().Category = "spoon" }},
		{"no category", "session_opened", "category", func(e *event.VisitEvent) { e.GetSessionOpened().Category = "" }},
		{"hand", "session_opened", "hand", func(e *event.VisitEvent) { e.GetSessionOpened().Hand = 7 }},
		{"long aim", "session_opened", "aim", func(e *event.VisitEvent) { e.GetSessionOpened().Aim = strings.Repeat("x", event.LongestText+1) }},
		{"broken aim", "session_opened", "aim", func(e *event.VisitEvent) { e.GetSessionOpened().Aim = "\xff" }},
		{"control character", "session_opened", "aim", func(e *event.VisitEvent) { e.GetSessionOpened().Aim = "a\x00b" }},
		{"place", "setting_changed", "place", func(e *event.VisitEvent) { e.GetSettingChanged().Place = "barn" }},
		{"surface", "setting_changed", "surface", func(e *event.VisitEvent) { e.GetSettingChanged().Surface = "sand" }},
		{"tee NaN", "setting_changed", "tee_height_m", func(e *event.VisitEvent) { *e.GetSettingChanged().TeeHeightM = math.NaN() }},
		{"tee in mm", "setting_changed", "tee_height_m", func(e *event.VisitEvent) { *e.GetSettingChanged().TeeHeightM = 40 }},
		{"wind infinite", "setting_changed", "wind_speed_mps", func(e *event.VisitEvent) { *e.GetSettingChanged().WindSpeedMps = math.Inf(1) }},
		{"wind indoors", "setting_changed", "wind_speed_mps", func(e *event.VisitEvent) { e.GetSettingChanged().Place = "indoor" }},
		{"tee on grass", "setting_changed", "tee_height_m", func(e *event.VisitEvent) { e.GetSettingChanged().Surface = "grass" }},
		{"green speed in ft", "setting_changed", "green_speed_m", func(e *event.VisitEvent) { *e.GetSettingChanged().GreenSpeedM = 10 }},
		{"no trial", "trial_started", "trial", func(e *event.VisitEvent) { e.GetTrialStarted().Trial = "" }},
		{"no build", "trial_started", "build", func(e *event.VisitEvent) { e.GetTrialStarted().Build = nil }},
		{"length in inches", "trial_started", "build.length", func(e *event.VisitEvent) { e.GetTrialStarted().Build.Specs[1].Number = 37 }},
		{"amended NaN", "build_amended", "build.length", func(e *event.VisitEvent) { e.GetBuildAmended().Build.Specs[1].Number = math.NaN() }},
		{"hitter", "hitter_changed", "hitter_kind", func(e *event.VisitEvent) { e.GetHitterChanged().Kind = 9 }},
		{"no words", "instruction_noted", "words", func(e *event.VisitEvent) { e.GetInstructionNoted().Words = "" }},
		{"intent", "intent_changed", "intent", func(e *event.VisitEvent) { e.GetIntentChanged().Intent = -1 }},
		{"length of a full shot", "class_changed", "length_m",
			func(e *event.VisitEvent) { e.GetClassChanged().Class = event.ShotClass_CLASS_FULL }},
		{"length NaN", "class_changed", "length_m", func(e *event.VisitEvent) { e.GetClassChanged().LengthM = math.NaN() }},
		{"liking", "feel_noted", "liking", func(e *event.VisitEvent) { e.GetFeelNoted().Liking = 5 }},
		{"felt nothing", "feel_noted", "words", func(e *event.VisitEvent) { e.GetFeelNoted().Words, e.GetFeelNoted().Liking = "", 0 }},
		{"no reason", "shots_excluded", "reason", func(e *event.VisitEvent) { e.GetShotsExcluded().Reason = "" }},
		{"no shots", "shots_excluded", "shot_ids", func(e *event.VisitEvent) { e.GetShotsExcluded().ShotIds = nil }},
		{"too many shots", "shots_moved", "shot_ids", func(e *event.VisitEvent) { e.GetShotsMoved().ShotIds = make([][]byte, 2001) }},
		{"short shot id", "shots_moved", "shot_ids[0]", func(e *event.VisitEvent) { e.GetShotsMoved().ShotIds[0] = []byte{1} }},
		{"unpaired nothing", "shots_unpaired", "shot_ids", func(e *event.VisitEvent) { e.GetShotsUnpaired().ShotIds = nil }},
		{"corrects nothing", "session_corrected", "session_corrected", func(e *event.VisitEvent) { e.GetSessionCorrected().Hand = 0 }},
		{"corrected bay", "session_corrected", "corrected_bay", func(e *event.VisitEvent) { e.GetSessionCorrected().Bay = "North" }},
		{"corrects no session", "session_corrected", "session", func(e *event.VisitEvent) { e.Session = "" }},
		{"no verdict", "verdict_given", "verdict", func(e *event.VisitEvent) { e.GetVerdictGiven().Kind = 0 }},
		{"nothing to make", "verdict_given", "build",
			func(e *event.VisitEvent) { e.GetVerdictGiven().Trial, e.GetVerdictGiven().Build = "", nil }},
		{"referred to nobody", "verdict_given", "words",
			func(e *event.VisitEvent) { e.GetVerdictGiven().Kind = event.VerdictKind_VERDICT_REFER }},
		{"compared with itself", "verdict_given", "baseline", func(e *event.VisitEvent) { e.GetVerdictGiven().Baseline = "t2" }},
		{"promise turned round", "verdict_given", "promises[0].low", func(e *event.VisitEvent) { e.GetVerdictGiven().Promises[0].Low = 9 }},
		{"promise NaN", "verdict_given", "promises[0].change", func(e *event.VisitEvent) { e.GetVerdictGiven().Promises[0].Change = math.NaN() }},
		{"probability", "verdict_given", "promises[0].probability_better",
			func(e *event.VisitEvent) { e.GetVerdictGiven().Promises[0].ProbabilityBetter = 97 }},
		{"promise of a spoiled prior", "verdict_given", "promises[0].prior.mean",
			func(e *event.VisitEvent) { e.GetVerdictGiven().Promises[0].Prior.Mean = math.Inf(1) }},
		{"erased for nobody", "session_erased", "player", func(e *event.VisitEvent) { e.GetSessionErased().Player = "" }},
		{"erased session of no name", "session_erased", "session", func(e *event.VisitEvent) { e.Session = "" }},
		{"clock of no boot", "clock_met", "clock_met", func(e *event.VisitEvent) { e.GetClockMet().Boot = "" }},
		{"prior of no pair", "prior_taken", "pair", func(e *event.VisitEvent) { e.GetPriorTaken().Pair = "" }},
		{"no prior", "prior_taken", "priors", func(e *event.VisitEvent) { e.GetPriorTaken().Priors = nil }},
		{"sure prior", "prior_taken", "priors[0].sd", func(e *event.VisitEvent) { e.GetPriorTaken().Priors[0].Sd = 0 }},
		{"prior of no session", "prior_taken", "session", func(e *event.VisitEvent) { e.Session = "" }},
		{"nothing but doubt", "prior_taken", "priors[0].doubt", func(e *event.VisitEvent) { e.GetPriorTaken().Priors[0].Doubt = 1 }},
		{"checks no verdict", "hit_checked", "verdict", func(e *event.VisitEvent) { e.GetHitChecked().Verdict = "" }},
		{"voids nothing", "voided", "event", func(e *event.VisitEvent) { e.GetVoided().Event = "" }},
		{"voids itself", "voided", "event", func(e *event.VisitEvent) { e.GetVoided().Event = e.Id }},
	} {
		ev := goodEvents()[c.kind]
		c.spoil(ev)
		faults := Validate(ev, visitNow)
		if !slices.ContainsFunc(faults, func(f *event.Fault) bool { return f.Field == c.field && f.Reason != "" }) {
			t.Errorf("%s: faults %v do not name %q", c.name, faults, c.field)
		}
	}
}

// An event that came over the wire may hold nothing where something belongs.
func TestEmptyEventsDoNotPanic(t *testing.T) {
	Validate(nil, visitNow)
	kinds := (&event.VisitEvent{}).ProtoReflect().Descriptor().Oneofs().ByName("body").Fields()
	for i := range kinds.Len() {
		ev := &event.VisitEvent{}
		ev.ProtoReflect().Set(kinds.Get(i), protoreflect.ValueOfMessage(ev.ProtoReflect().NewField(kinds.Get(i)).Message()))
		if len(Validate(ev, visitNow)) == 0 {
			t.Errorf("an empty %s is taken", kinds.Get(i).Name())
		}
	}
	Validate(&event.VisitEvent{Body: &event.VisitEvent_SettingChanged{}}, visitNow)
	Validate(&event.VisitEvent{Body: &event.VisitEvent_SessionOpened{}}, visitNow)
	Validate(&event.VisitEvent{Body: &event.VisitEvent_VerdictGiven{VerdictGiven: &event.VerdictGiven{Promises: []*event.Promise{nil}}}},
		visitNow)
}
