package main

import (
	"time"

	"fairlead/ingest/log/steady"
)

// hubClock is the clock that the processes of the hub's machine share.
func hubClock(p *running) *steady.Hub {
	h, err := steady.OpenHub(p.config.ClockDir(), steady.System(), time.Now)
	if err != nil {
		p.log.Error("visit events and shots may be put into a wrong order when the machine's clock is set", "error", err)
	}
	if off := h.Off(); off.Abs() > 2*time.Second {
		p.log.Warn("the machine's clock was set since it was started; shots and events go by a clock that does not step, and their times show it until the next start of the machine", "ahead", off.Round(time.Millisecond))
	}
	return h
}
