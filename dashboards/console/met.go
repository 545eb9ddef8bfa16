package console

import (
	"context"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/health"
)

// meet writes down where the hub's clock stood against a boot of a bay's machine
// that took entries before it had any contact: by that their times are told
// backwards. A bay says so with each heartbeat; once is enough.
func (w *Writer) meet(ctx context.Context, b health.Bay) {
	h, bay := b.Heartbeat, b.Place.Bay
	if !h.Unmet || h.Boot == "" || h.BootAheadNs == 0 || b.Place.Studio != w.studio || w.Known(bay) != nil {
		return
	}
	if _, known := w.Timeline(bay).Met(h.Boot); known {
		return
	}
	_, err := w.Write(ctx, bay, &event.VisitEvent{Body: &event.VisitEvent_ClockMet{ClockMet: &event.ClockMet{
		Boot: h.Boot, AheadNs: h.BootAheadNs, ErrorNs: max(h.ClockRttNs/2, 1_000_000),
	}}})
	if err != nil {
		w.log.Warn("a bay's clock can't be noted; shots that it took before its first contact stay open", "bay", bay, "error", err)
	}
}
