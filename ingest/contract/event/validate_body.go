package event

import (
	"fairlead/ingest/contract/glossary"
	"fmt"
)

// body checks what an event says.
func (c *visitCheck) body(ev *VisitEvent) {
	switch b := ev.Body.(type) {
	case nil:
		c.add("body", "", "says nothing that this version knows", "update this program")
	case *VisitEvent_SessionOpened:
		c.sessionOpened(ev, b.SessionOpened)
	case *VisitEvent_SessionClosed, *VisitEvent_TrialPaused, *VisitEvent_TrialResumed, *VisitEvent_TrialEnded:
	case *VisitEvent_SettingChanged:
		c.setting(b.SettingChanged)
	case *VisitEvent_TrialStarted:
		c.id("trial", b.TrialStarted.GetTrial(), false)
		if b.TrialStarted.GetBuild() == nil {
			c.add("build", "", "missing", "give the build, at least its name; what is not known stays out of it")
		}
		c.build("build", b.TrialStarted.GetBuild())
	case *VisitEvent_BuildAmended:
		c.id("trial", b.BuildAmended.GetTrial(), false)
		if b.BuildAmended.GetBuild() == nil {
			c.add("build", "", "missing", "give the whole build as it is")
		}
		c.build("build", b.BuildAmended.GetBuild())
	case *VisitEvent_HitterChanged:
		c.choice("hitter_kind", int32(b.HitterChanged.GetKind()), HitterKind_name)
		c.choice("hand", int32(b.HitterChanged.GetHand()), Hand_name)
		c.id("hitter", b.HitterChanged.GetHitter(), true)
	case *VisitEvent_InstructionNoted:
		c.choice("instruction_kind", int32(b.InstructionNoted.GetKind()), InstructionKind_name)
		if b.InstructionNoted.GetWords() == "" {
			c.add("words", "", "missing", "say what the player was told")
		}
		c.text("words", b.InstructionNoted.GetWords(), longestText)
	case *VisitEvent_IntentChanged:
		c.choice("intent", int32(b.IntentChanged.GetIntent()), Intent_name)
	case *VisitEvent_ClassChanged:
		c.class(b.ClassChanged)
	case *VisitEvent_FeelNoted:
		c.feel(b.FeelNoted)
	case *VisitEvent_ShotsExcluded:
		c.shots(b.ShotsExcluded.GetShotIds(), 1)
		if b.ShotsExcluded.GetReason() == "" {
			c.add("reason", "", "missing", "say why the shots are left out")
		}
		c.text("reason", b.ShotsExcluded.GetReason(), longestText)
	case *VisitEvent_ShotsRestored:
		c.shots(b.ShotsRestored.GetShotIds(), 1)
		c.text("reason", b.ShotsRestored.GetReason(), longestText)
	case *VisitEvent_ShotsMoved:
		c.shots(b.ShotsMoved.GetShotIds(), 1)
		c.id("trial", b.ShotsMoved.GetTrial(), true)
	case *VisitEvent_ShotsUnpaired:
		c.shots(b.ShotsUnpaired.GetShotIds(), 1)
	case *VisitEvent_SessionCorrected:
		c.corrected(ev, b.SessionCorrected)
	case *VisitEvent_VerdictGiven:
		c.verdict(ev, b.VerdictGiven)
	case *VisitEvent_PriorTaken:
		c.taken(ev, b.PriorTaken)
	case *VisitEvent_SessionErased:
		if ev.Session == "" {
			c.id("session", "", false)
		}
		c.id("player", b.SessionErased.GetPlayer(), false)
	case *VisitEvent_ClockMet:
		c.met(b.ClockMet)
	case *VisitEvent_HitChecked:
		c.id("verdict", b.HitChecked.GetVerdict(), false)
		c.id("trial", b.HitChecked.GetTrial(), false)
		c.text("words", b.HitChecked.GetWords(), longestText)
		c.build("build", b.HitChecked.GetBuild())
	case *VisitEvent_Voided:
		c.id("event", b.Voided.GetEvent(), false)
		if b.Voided.GetEvent() == ev.Id && ev.Id != "" {
			c.add("event", ev.Id, "takes itself back", "name the event to take back")
		}
		c.text("reason", b.Voided.GetReason(), longestText)
	}
}

func (c *visitCheck) sessionOpened(ev *VisitEvent, o *SessionOpened) {
	if ev.Visit == "" {
		c.id("visit", "", false)
	}
	if ev.Session == "" {
		c.id("session", "", false)
	}
	c.id("player", o.GetPlayer(), false)
	c.id("fitter", o.GetFitter(), true)
	c.choice("hand", int32(o.GetHand()), Hand_name)
	if o.GetCategory() == "" {
		c.add("category", "", "missing", "say which kind of club the session is about")
	}
	c.oneOf("category", o.GetCategory(), glossary.CategoryNames()...)
	c.text("aim", o.GetAim(), longestText)
}

func (c *visitCheck) setting(s *SettingChanged) {
	c.oneOf("place", s.GetPlace(), "indoor", "outdoor")
	c.oneOf("surface", s.GetSurface(), "mat", "grass", "tee")
	c.text("ball_model", s.GetBallModel(), longestLabel)
	c.text("ball_class", s.GetBallClass(), longestLabel)
	if s == nil {
		return
	}
	c.optional("tee_height_m", s.TeeHeightM, 0, 0.12, "m")
	c.optional("target_bearing_deg", s.TargetBearingDeg, -180, 180, "deg")
	c.optional("green_speed_m", s.GreenSpeedM, 0.5, 6, "m")
	c.optional("wind_speed_mps", s.WindSpeedMps, 0, 40, "m/s")
	c.optional("wind_toward_deg", s.WindTowardDeg, -360, 360, "deg")
	c.optional("target_distance_m", s.TargetDistanceM, 0, 400, "m")
	if s.Place == "indoor" && s.WindSpeedMps != nil && *s.WindSpeedMps > 0 {
		c.add("wind_speed_mps", *s.WindSpeedMps, "there is no wind indoors", "set the place to outdoor, or leave the wind out")
	}
	if s.TeeHeightM != nil && *s.TeeHeightM > 0 && s.Surface == "grass" {
		c.add("tee_height_m", *s.TeeHeightM, "a ball on grass has no tee", "set the surface to tee")
	}
}

func (c *visitCheck) class(b *ClassChanged) {
	c.choice("class", int32(b.GetClass()), ShotClass_name)
	c.number("length_m", b.GetLengthM(), 0, 350, "m")
	if b.GetLengthM() > 0 && b.GetClass() != ShotClass_CLASS_PARTIAL {
		c.add("length_m", b.GetLengthM(), "only a partial shot has a length", "leave it out, or give the class partial")
	}
	c.shots(b.GetShotIds(), 0)
}

func (c *visitCheck) feel(f *FeelNoted) {
	c.id("trial", f.GetTrial(), false)
	c.text("words", f.GetWords(), longestText)
	if f.GetLiking() < -2 || f.GetLiking() > 2 {
		c.add("liking", f.GetLiking(), "outside -2 to 2", "-2 is dislikes much, 2 is likes much")
	}
	if f.GetWords() == "" && f.GetLiking() == 0 {
		c.add("words", "", "missing", "say what the player felt, or how much they like it")
	}
}

func (c *visitCheck) corrected(ev *VisitEvent, s *SessionCorrected) {
	if ev.Session == "" {
		c.id("session", "", false)
	}
	c.id("player", s.GetPlayer(), true)
	c.choice("hand", int32(s.GetHand()), Hand_name)
	if b := s.GetBay(); b != "" {
		if err := CheckName("bay", b); err != nil {
			c.add("corrected_bay", b, err.Error(), "")
		}
	}
	if s.GetPlayer() == "" && s.GetBay() == "" && s.GetHand() == Hand_HAND_UNKNOWN {
		c.add("session_corrected", "", "corrects nothing", "give the player, the hand or the bay")
	}
}

func (c *visitCheck) verdict(ev *VisitEvent, v *VerdictGiven) {
	if ev.Session == "" {
		c.id("session", "", false)
	}
	c.choice("verdict", int32(v.GetKind()), VerdictKind_name)
	switch v.GetKind() {
	case VerdictKind_VERDICT_NONE:
		c.add("verdict", "", "missing", "say what was decided")
	case VerdictKind_VERDICT_BUILD:
		if v.GetTrial() == "" && v.GetBuild() == nil {
			c.add("build", "", "missing", "name the chosen trial, or give the build to make")
		}
	case VerdictKind_VERDICT_REFER, VerdictKind_VERDICT_SETUP:
		if v.GetWords() == "" {
			c.add("words", "", "missing", "say what was advised, or to whom the player was sent")
		}
	}
	c.id("trial", v.GetTrial(), true)
	c.id("baseline", v.GetBaseline(), true)
	if v.GetTrial() != "" && v.GetTrial() == v.GetBaseline() {
		c.add("baseline", v.GetBaseline(), "the chosen trial itself", "name the trial that it was compared with")
	}
	c.text("words", v.GetWords(), longestText)
	c.build("build", v.GetBuild())
	for i, p := range v.GetPromises() {
		c.promise(fmt.Sprintf("promises[%d].", i), p)
	}
}

// huge bounds changes in any unit; an outcome's own range is not known here.
const huge = 1e6

func (c *visitCheck) promise(at string, p *Promise) {
	c.id(at+"outcome", p.GetOutcome(), false)
	before := len(c.faults)
	c.number(at+"change", p.GetChange(), -huge, huge, "")
	c.number(at+"low", p.GetLow(), -huge, huge, "")
	c.number(at+"high", p.GetHigh(), -huge, huge, "")
	c.number(at+"probability_better", p.GetProbabilityBetter(), 0, 1, "")
	if before == len(c.faults) && p.GetLow() > p.GetHigh() {
		c.add(at+"low", p.GetLow(), fmt.Sprintf("above the upper end of %g", p.GetHigh()), "exchange the two")
	}
	if p.GetPrior() != nil {
		c.prior(at+"prior.", p.GetPrior())
		c.number(at+"prior_held", p.GetPriorHeld(), 0, 1, "")
	}
}

func (c *visitCheck) taken(ev *VisitEvent, t *PriorTaken) {
	if ev.Session == "" {
		c.id("session", "", false)
	}
	c.id("pair", t.GetPair(), false)
	if len(t.GetPriors()) == 0 {
		c.add("priors", "", "missing", "say what is expected of at least one outcome")
	}
	for i, p := range t.GetPriors() {
		c.prior(fmt.Sprintf("priors[%d].", i), p)
	}
}

func (c *visitCheck) prior(at string, p *Prior) {
	c.id(at+"outcome", p.GetOutcome(), false)
	c.number(at+"mean", p.GetMean(), -huge, huge, "")
	before := len(c.faults)
	c.number(at+"sd", p.GetSd(), 0, huge, "")
	if before == len(c.faults) && p.GetSd() == 0 {
		c.add(at+"sd", p.GetSd(), "no doubt at all", "give the standard deviation of what is expected, more than 0")
	}
	before = len(c.faults)
	c.number(at+"doubt", p.GetDoubt(), 0, 1, "")
	if before == len(c.faults) && p.GetDoubt() == 1 {
		c.add(at+"doubt", p.GetDoubt(), "nothing but doubt", "leave the prior out")
	}
	c.id(at+"answer", p.GetAnswer(), true)
}

func (c *visitCheck) met(m *ClockMet) {
	if m.GetBoot() == "" || m.GetAheadNs() == 0 || m.GetErrorNs() < 0 {
		c.add("clock_met", m.GetBoot(), "does not say of which boot and how far the hub's clock was ahead", "leave it to the console")
	}
}
