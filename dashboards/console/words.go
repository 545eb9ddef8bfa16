package console

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// describe says in words what an event did.
func (s *server) describe(tl *visit.Timeline, ev *event.VisitEvent) string {
	trial := func(id string) string {
		if t := tl.Trial(id); t != nil {
			return fmt.Sprintf("trial %d", t.Number)
		}
		if id == "" {
			return "no trial"
		}
		return "a trial"
	}
	switch b := ev.Body.(type) {
	case *event.VisitEvent_SessionOpened:
		return fmt.Sprintf("session opened for %s, %s", s.people.Name(b.SessionOpened.Player), b.SessionOpened.Category)
	case *event.VisitEvent_SessionClosed:
		return "session closed"
	case *event.VisitEvent_SettingChanged:
		return "setting changed"
	case *event.VisitEvent_TrialStarted:
		return fmt.Sprintf("%s started: %s", trial(b.TrialStarted.Trial), nonEmpty(b.TrialStarted.Build.GetName(), "unnamed build"))
	case *event.VisitEvent_TrialPaused:
		return "paused"
	case *event.VisitEvent_TrialResumed:
		return "resumed"
	case *event.VisitEvent_TrialEnded:
		return "trial ended"
	case *event.VisitEvent_BuildAmended:
		return "build of " + trial(b.BuildAmended.Trial) + " corrected"
	case *event.VisitEvent_HitterChanged:
		return "hitter: " + strings.ToLower(strings.TrimPrefix(b.HitterChanged.Kind.String(), "HITTER_"))
	case *event.VisitEvent_InstructionNoted:
		return fmt.Sprintf("instruction: “%s”", b.InstructionNoted.Words)
	case *event.VisitEvent_IntentChanged:
		return "intent: " + spaced(b.IntentChanged.Intent.String(), "INTENT_")
	case *event.VisitEvent_ClassChanged:
		class := spaced(b.ClassChanged.Class.String(), "CLASS_")
		if n := len(b.ClassChanged.ShotIds); n > 0 {
			return fmt.Sprintf("%s marked as %s", shots(n), class)
		}
		return "shots from here on: " + class
	case *event.VisitEvent_FeelNoted:
		return "feel of " + trial(b.FeelNoted.Trial) + " noted"
	case *event.VisitEvent_ShotsExcluded:
		return fmt.Sprintf("%s left out: %s", shots(len(b.ShotsExcluded.ShotIds)), b.ShotsExcluded.Reason)
	case *event.VisitEvent_ShotsRestored:
		return shots(len(b.ShotsRestored.ShotIds)) + " taken back in"
	case *event.VisitEvent_ShotsMoved:
		return fmt.Sprintf("%s moved to %s", shots(len(b.ShotsMoved.ShotIds)), trial(b.ShotsMoved.Trial))
	case *event.VisitEvent_ShotsUnpaired:
		return shots(len(b.ShotsUnpaired.ShotIds)) + " taken apart"
	case *event.VisitEvent_SessionCorrected:
		return "session corrected"
	case *event.VisitEvent_VerdictGiven:
		return "verdict: " + spaced(b.VerdictGiven.Kind.String(), "VERDICT_")
	case *event.VisitEvent_PriorTaken:
		return "what the fleet expects of a build taken down"
	case *event.VisitEvent_HitChecked:
		return "delivered club checked"
	case *event.VisitEvent_Voided:
		return "taken back"
	}
	return "event"
}

func spaced(name, prefix string) string {
	return strings.ReplaceAll(strings.ToLower(strings.TrimPrefix(name, prefix)), "_", " ")
}

func shots(n int) string {
	if n == 1 {
		return "1 shot"
	}
	return fmt.Sprintf("%d shots", n)
}

func nonEmpty(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}
