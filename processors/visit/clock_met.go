package visit

import "fairlead/ingest/contract/event"

// Written by the console by itself, so nobody enters it.
var _ = kind(Kind{
	Name: "clock_met", Bears: OnTrial, Keeps: []string{"boot", "ahead_ns", "error_ns"},
	check: func(c *event.Check, ev *event.VisitEvent) {
		if m := ev.GetClockMet(); m.GetBoot() == "" || m.GetAheadNs() == 0 || m.GetErrorNs() < 0 {
			c.Add("clock_met", m.GetBoot(), "does not say of which boot and how far the hub's clock was ahead", "leave it to the console")
		}
	},
	// The first word on a boot counts: its clock does not step.
	step: func(f *folder, ev *event.VisitEvent) {
		m := ev.GetClockMet()
		if f.t.met == nil {
			f.t.met = map[string]Met{}
		}
		if _, known := f.t.met[m.GetBoot()]; !known && m.GetBoot() != "" {
			f.t.met[m.GetBoot()] = Met{m.GetAheadNs(), m.GetErrorNs()}
		}
	},
	says: says("the bay's clock was met"),
})
