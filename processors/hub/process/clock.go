package process

import (
	"context"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/steady"
	"fairlead/ingest/log/stream"
)

// serveClock gives the bays the hub's clock, and says how far the machine's wall
// clock was set against it: what people read as the time is off by that.
func serveClock(ctx context.Context, o *Options) error {
	if o.Clock == nil {
		o.Clock = steady.Alone(steady.System(), time.Now)
	}
	if _, err := stream.ServeClock(o.Conn, o.Clock.Now, o.Clock.Epoch()); err != nil {
		return err
	}
	off := prometheus.NewGaugeFunc(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "hub", Name: "wall_clock_ahead_seconds",
		Help: "The machine's wall clock less the hub's clock, which does not step: " +
			"how far the wall clock was set since the machine was started."},
		func() float64 { return o.Clock.Off().Seconds() })
	if err := o.Registry.Register(off); err != nil {
		return err
	}
	go o.Clock.Keep(ctx, o.Logger)
	return nil
}
