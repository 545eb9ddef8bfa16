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
		RereadUnixNs: e.RereadUnixNs,
	}
	if !e.Valid() {
		kept.Faults = []*Fault{{Reason: "erased at the player's request"}}
	}
	return kept
}
