package event

import "google.golang.org/protobuf/proto"

// EraseEntry returns what is kept of an entry whose player asked to be
// forgotten: its identity, its times, and what tagging needs to give the same
// answer as before (device, role, revision, whether it was a valid shot, and a
// hash of its line). The line itself, every measure, the device's own id and
// club, the name of its file and the words of its faults are not in it. The
// entry given is not changed; erasing twice gives the same.
func EraseEntry(e *Entry) *Entry {
	kept := &Entry{
		Contract: e.Contract, Studio: e.Studio, Bay: e.Bay, Journal: e.Journal, Seq: e.Seq, ShotId: e.ShotId,
		Device: e.Device, Role: e.Role, Feed: e.Feed, Firmware: e.Firmware,
		ReceivedUnixNs: e.ReceivedUnixNs, EffectiveUnixNs: e.EffectiveUnixNs, Certainty: e.Certainty,
		Revision: e.Revision, Deleted: e.Deleted, ErasedContent: proto.Uint64(e.Content()),
		Boot: e.Boot, ReadMonoNs: e.ReadMonoNs, SeenMonoNs: e.SeenMonoNs, EarliestUnixNs: e.EarliestUnixNs, LatestUnixNs: e.LatestUnixNs,
	}
	if !e.Valid() {
		kept.Faults = []*Fault{{Reason: "erased at the player's request"}}
	}
	return kept
}

// EraseEvent returns what is kept of an event of a session that was erased:
// that it happened, when, and what the order of other facts needs (ids of
// trials, of shots, of events that are taken back). Words, builds, promises,
// the player and the player's hand are not in it. The event given is not
// changed; erasing twice gives the same. An erasure itself is kept as it is.
func EraseEvent(ev *VisitEvent) *VisitEvent {
	if ev.GetSessionErased() != nil || ev.GetErased() {
		return ev
	}
	kept := proto.Clone(ev).(*VisitEvent)
	kept.Erased = true
	switch b := kept.Body.(type) {
	case *VisitEvent_SessionOpened:
		b.SessionOpened = &SessionOpened{Category: b.SessionOpened.GetCategory(), Fitter: b.SessionOpened.GetFitter()}
	case *VisitEvent_TrialStarted:
		b.TrialStarted = &TrialStarted{Trial: b.TrialStarted.GetTrial()}
	case *VisitEvent_BuildAmended:
		b.BuildAmended = &BuildAmended{Trial: b.BuildAmended.GetTrial()}
	case *VisitEvent_HitterChanged:
		b.HitterChanged = &HitterChanged{Kind: b.HitterChanged.GetKind()}
	case *VisitEvent_InstructionNoted:
		b.InstructionNoted = &InstructionNoted{Kind: b.InstructionNoted.GetKind()}
	case *VisitEvent_FeelNoted:
		b.FeelNoted = &FeelNoted{Trial: b.FeelNoted.GetTrial()}
	case *VisitEvent_ShotsExcluded:
		b.ShotsExcluded.Reason = ""
	case *VisitEvent_ShotsRestored:
		b.ShotsRestored.Reason = ""
	case *VisitEvent_SessionCorrected:
		b.SessionCorrected = &SessionCorrected{Bay: b.SessionCorrected.GetBay()}
	case *VisitEvent_VerdictGiven:
		b.VerdictGiven = &VerdictGiven{Kind: b.VerdictGiven.GetKind()}
	case *VisitEvent_HitChecked:
		b.HitChecked = &HitChecked{Verdict: b.HitChecked.GetVerdict(), Trial: b.HitChecked.GetTrial()}
	case *VisitEvent_PriorTaken:
		b.PriorTaken = &PriorTaken{}
	case *VisitEvent_Voided:
		b.Voided.Reason = ""
	}
	return kept
}
