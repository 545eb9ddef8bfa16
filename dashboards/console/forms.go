package console

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/visit"
)

// form reads the fields of a posted form and collects what is wrong with them.
type form struct {
	r      *http.Request
	bay    string
	tl     *visit.Timeline
	faults []*event.Fault
}

func (f *form) text(name string) string { return strings.TrimSpace(f.r.PostFormValue(name)) }

func (f *form) bad(field, value, reason, hint string) {
	f.faults = append(f.faults, event.NewFault(field, value, reason, hint))
}

// number reads a quantity with its unit; absent gives nil.
func (f *form) number(name string, q unit.Quantity) *float64 {
	text := f.text(name)
	if text == "" {
		return nil
	}
	v, err := unit.Parse(q, text)
	if err != nil {
		f.bad(name, text, "can't be read", err.Error())
		return nil
	}
	return &v
}

// choice reads a word of an enumeration: 'keep_gamer' for VERDICT_KEEP_GAMER.
func (f *form) choice(name, prefix string, values map[string]int32) int32 {
	text := f.text(name)
	v, ok := values[prefix+strings.ToUpper(text)]
	if !ok {
		f.bad(name, text, "not known", "choose one of the list")
	}
	return v
}

// shots are the tapped ones.
func (f *form) shots() (ids [][]byte) {
	for _, text := range f.r.PostForm["shot"] {
		id, err := event.ParseShotID(text)
		if err != nil {
			f.bad("shot", text, "is no shot id", "tap the shots again")
			continue
		}
		ids = append(ids, id[:])
	}
	if len(ids) == 0 && len(f.faults) == 0 {
		f.bad("shots", "", "none is tapped", "tap the shots in the list first")
	}
	return ids
}

// event turns a posted form into an event.
func (f *form) event(act string) *event.VisitEvent {
	ev := &event.VisitEvent{Who: f.text("who")}
	if journal, seq, ok := strings.Cut(f.text("last_seen"), "/"); ok {
		if n, err := strconv.ParseUint(seq, 10, 64); err == nil && n > 0 {
			ev.LastSeen = &event.Seen{Journal: journal, Seq: n}
		}
	}
	switch act {
	case "open":
		ev.Body = &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{
			Player: f.text("player"), Hand: event.Hand(f.choice("hand", "HAND_", event.Hand_value)), Category: f.text("category"),
			Fitter: f.text("fitter"), Aim: f.text("aim"), PoolingConsent: f.text("consent") != "", Minor: f.text("minor") != "",
		}}
	case "close":
		ev.Body = &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}
	case "setting":
		ev.Body = &event.VisitEvent_SettingChanged{SettingChanged: f.setting()}
	case "trial":
		ev.Body = &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Build: f.build()}}
	case "amend":
		ev.Body = &event.VisitEvent_BuildAmended{BuildAmended: &event.BuildAmended{Trial: f.text("base"), Build: f.build()}}
	case "pause":
		ev.Body = &event.VisitEvent_TrialPaused{TrialPaused: &event.TrialPaused{}}
	case "resume":
		ev.Body = &event.VisitEvent_TrialResumed{TrialResumed: &event.TrialResumed{}}
	case "end":
		ev.Body = &event.VisitEvent_TrialEnded{TrialEnded: &event.TrialEnded{}}
	case "hitter":
		ev.Body = &event.VisitEvent_HitterChanged{HitterChanged: &event.HitterChanged{Kind: event.HitterKind(f.choice("hitter", "HITTER_", event.HitterKind_value))}}
	case "instruct":
		ev.Body = &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{
			Words: f.text("words"), Kind: event.InstructionKind(f.choice("kind", "INSTRUCTION_", event.InstructionKind_value))}}
	case "intent":
		ev.Body = &event.VisitEvent_IntentChanged{IntentChanged: &event.IntentChanged{Intent: event.Intent(f.choice("intent", "INTENT_", event.Intent_value))}}
	case "class":
		c := &event.ClassChanged{Class: event.ShotClass(f.choice("class", "CLASS_", event.ShotClass_value))}
		if n := f.number("length", unit.Length); n != nil {
			c.LengthM = *n
		}
		ev.Body = &event.VisitEvent_ClassChanged{ClassChanged: c}
	case "mark":
		ev.Body = &event.VisitEvent_ClassChanged{ClassChanged: &event.ClassChanged{
			Class: event.ShotClass(f.choice("class", "CLASS_", event.ShotClass_value)), ShotIds: f.shots()}}
	case "feel":
		liking, _ := strconv.ParseInt(f.text("liking"), 10, 32)
		ev.Body = &event.VisitEvent_FeelNoted{FeelNoted: &event.FeelNoted{Trial: f.text("trial"), Words: f.text("words"), Liking: int32(liking)}}
	case "move":
		to := f.text("trial")
		if to == "nobody" {
			to = ""
		} else if to == "" {
			f.bad("trial", "", "none is chosen", "choose where the shots belong")
		}
		ev.Body = &event.VisitEvent_ShotsMoved{ShotsMoved: &event.ShotsMoved{ShotIds: f.shots(), Trial: to}}
	case "exclude":
		ev.Body = &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: f.shots(), Reason: f.text("reason")}}
	case "restore":
		ev.Body = &event.VisitEvent_ShotsRestored{ShotsRestored: &event.ShotsRestored{ShotIds: f.shots(), Reason: f.text("reason")}}
	case "unpair":
		ev.Body = &event.VisitEvent_ShotsUnpaired{ShotsUnpaired: &event.ShotsUnpaired{ShotIds: f.shots()}}
	case "correct":
		c := &event.SessionCorrected{Player: f.text("player"), Bay: f.text("to_bay")}
		if f.text("hand") != "" {
			c.Hand = event.Hand(f.choice("hand", "HAND_", event.Hand_value))
		}
		if c.Bay == f.bay {
			c.Bay = ""
		}
		ev.Body = &event.VisitEvent_SessionCorrected{SessionCorrected: c}
	case "verdict":
		ev.Body = &event.VisitEvent_VerdictGiven{VerdictGiven: f.verdict()}
	case "undo":
		ev.Body = &event.VisitEvent_Voided{Voided: &event.Voided{Event: f.text("event"), Reason: f.text("reason")}}
	default:
		f.bad("act", act, "not known", "reload the page")
	}
	return ev
}

func (f *form) setting() *event.SettingChanged {
	return &event.SettingChanged{
		Place: f.text("place"), Surface: f.text("surface"), BallModel: f.text("ball_model"), BallClass: f.text("ball_class"),
		TeeHeightM: f.number("tee_height", unit.Length), TargetDistanceM: f.number("target_distance", unit.Length),
		TargetBearingDeg: f.number("target_bearing", unit.Angle), GreenSpeedM: f.number("green_speed", unit.Length),
		WindSpeedMps: f.number("wind_speed", unit.Speed), WindTowardDeg: f.number("wind_toward", unit.Angle),
	}
}

// build starts from another trial's build and applies what changed; an empty
// value takes the part out: unknown.
func (f *form) build() *event.Build {
	b := &event.Build{}
	if t := f.tl.Trial(f.text("base")); t != nil {
		b = proto.Clone(t.Build).(*event.Build)
	} else if f.text("base") != "" {
		f.bad("base", f.text("base"), "is no trial of this bay", "choose one of the list")
	}
	fields, values, knowledge := f.r.PostForm["field"], f.r.PostForm["value"], f.r.PostForm["knowledge"]
	changed := 0
	for i, name := range fields {
		if name == "" {
			continue
		}
		changed++
		value := ""
		if i < len(values) {
			value = strings.TrimSpace(values[i])
		}
		measured := i < len(knowledge) && knowledge[i] == "measured"
		if err := SetSpec(b, name, value, measured); err != nil {
			f.bad(name, value, "can't be read", err.Error())
		}
	}
	name := f.text("name")
	if f.text("gamer") != "" {
		b.Gamer = true
	} else if changed > 0 || name != "" && name != b.Name {
		b.Gamer = false // another club than the player's own
	}
	switch {
	case name != "":
		b.Name = name
	case changed > 0 && b.Name != "":
		b.Name = changedName(b, fields, values)
	}
	if len(b.Name) > 200 {
		b.Name = strings.ToValidUTF8(b.Name[:200], "")
	}
	if b.Name == "" && b.Gamer {
		b.Name = "own club"
	}
	return b
}

// changedName names a build by what was changed last, as fitters do.
func changedName(b *event.Build, fields, values []string) string {
	var parts []string
	for i, name := range fields {
		info, ok := event.BuildFieldNamed(name)
		if !ok || i >= len(values) {
			continue
		}
		value := strings.TrimSpace(values[i])
		if info.Text {
			parts = append(parts, nonEmpty(value, info.Label+" unknown"))
		} else {
			parts = append(parts, info.Label+" "+nonEmpty(value, "unknown"))
		}
	}
	return strings.Join(parts, ", ")
}

// SetSpec sets one part of a build by name from what a person wrote: words, or
// a number with its unit. An empty value makes the part unknown.
func SetSpec(b *event.Build, name, value string, measured bool) error {
	info, ok := event.BuildFieldNamed(name)
	if !ok {
		return fmt.Errorf("no part %q of a build: `fairlead visit trial --help` lists them", name)
	}
	kept := b.Specs[:0:0]
	for _, s := range b.Specs {
		if s.Field != info.Field {
			kept = append(kept, s)
		}
	}
	b.Specs = kept
	value = strings.TrimSpace(value)
	if value == "" || value == "unknown" {
		return nil
	}
	spec := &event.Spec{Field: info.Field}
	if measured {
		spec.Knowledge = event.Knowledge_KNOWLEDGE_MEASURED
	}
	if info.Text {
		spec.Text = value
	} else {
		v, err := parseSpec(info, value)
		if err != nil {
			return fmt.Errorf("%s: %w", info.Label, err)
		}
		spec.Number = v
	}
	b.Specs = append(b.Specs, spec)
	return nil
}

// parseSpec reads a part's number. A swing weight may be written on the trade's
// scale, D2; other bare numbers are in the stored unit.
func parseSpec(info event.BuildFieldInfo, value string) (float64, error) {
	if info.Quantity == unit.Moment {
		if w, err := club.ParseSwingWeight(value); err == nil {
			return w.Moment(), nil
		}
	}
	return unit.Parse(info.Quantity, value)
}

func (f *form) verdict() *event.VerdictGiven {
	v := &event.VerdictGiven{Kind: event.VerdictKind(f.choice("verdict", "VERDICT_", event.VerdictKind_value)), Trial: f.text("trial"), Words: f.text("words")}
	if t := f.tl.Trial(v.Trial); t != nil {
		v.Build = t.Build
	}
	return v
}
