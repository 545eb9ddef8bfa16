package main

import (
	"context"
	"log/slog"
	"net/http"
	"time"

	"fairlead/dashboards/console"
	"fairlead/dashboards/gate"
	"fairlead/deploy/studio"
	"fairlead/deploy/studio/bays"
	"fairlead/ingest/bay/desk"
)

// enrolment is what the console does for bays that come, and shows of them.
func enrolment(c *studio.Config, g *gate.Gate, log *slog.Logger) *console.Enrol {
	hub := bays.HubOf(c)
	may := func(r *http.Request) bool { return g.MayTry(r, "enrol") }
	return &console.Enrol{
		Join:    hub.Handler(may, log),
		Deliver: func(ctx context.Context, to desk.Client) { hub.Kept.Deliver(ctx, to, log) },
		List: func() ([]console.EnrolledBay, error) {
			list, err := hub.Kept.List()
			var out []console.EnrolledBay
			for _, l := range list {
				now := time.Now()
				out = append(out, console.EnrolledBay{Name: l.Bay, Enrolled: l.Enrolled(now), Goes: l.Goes(now),
					Bad: l.Version > 0 && l.Told.Refused == l.Version})
			}
			return out, err
		},
		Invite: func(bay, by string) (console.EnrolLine, error) {
			l, err := hub.Invite(bay, "", by, bays.ValidFor)
			return console.EnrolLine{Bay: l.Bay, Text: l.Text, Until: l.Until, Clear: l.Clear}, err
		},
		Versions: func(bay string) (out []console.BayVersion, err error) {
			list, err := hub.Kept.Versions(bay)
			for i, v := range list {
				b := console.BayVersion{Given: v.Given, At: v.At, By: v.By, Why: v.Why}
				if i+1 < len(list) {
					b.Changes = bays.Changes(list[i+1].Given, v.Given)
				}
				out = append(out, b)
			}
			return out, err
		},
		Keep: func(bay string, g desk.Given, was int, by, why string) error {
			_, err := hub.Kept.Put(bay, g, was, by, why)
			return err
		},
		Back: func(bay string, to int, by string) error {
			_, _, err := hub.Kept.Back(bay, to, by)
			return err
		},
	}
}
