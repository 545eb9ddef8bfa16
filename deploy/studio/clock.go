package studio

import (
	"log/slog"
	"time"

	"fairlead/ingest/log/steady"
)

// HubClock is the clock that the processes of the hub's machine share.
func (c *Config) HubClock(log *slog.Logger) *steady.Hub {
	h, err := steady.OpenHub(c.ClockDir(), steady.System(), time.Now)
	if err != nil {
		log.Error("visit events and shots may be put into a wrong order when the machine's clock is set", "error", err)
	}
	if off := h.Off(); off.Abs() > 2*time.Second {
		log.Warn("the machine's clock was set since it was started; shots and events go by a clock that does not step, and their times show it "+
			"until the next start of the machine", "ahead", off.Round(time.Millisecond))
	}
	return h
}
