package tag

import (
	"fmt"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

// The ways in which a shot may belong are told in the order of time, each once,
// with the last instant at which it may have been hit so.
func TestChoicesAreTold(t *testing.T) {
	var d bayDay
	d.open(0, "s")
	d.event(10, "", startOf("a"))
	d.event(20, "", func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{Words: "slower"}}
	})
	d.event(30, "", func(ev *event.VisitEvent) { ev.Body = &event.VisitEvent_TrialPaused{} })
	d.event(40, "", func(ev *event.VisitEvent) { ev.Body = &event.VisitEvent_TrialResumed{} })
	d.event(50, "", startOf("b"))
	d.event(60, "", func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_HitterChanged{HitterChanged: &event.HitterChanged{Kind: event.HitterKind_HITTER_FITTER}}
	})
	d.event(70, "", func(ev *event.VisitEvent) { ev.Body = &event.VisitEvent_SessionClosed{} })
	tl := d.log.Timeline()
	// The last instant before a change is a time of its own.
	if at := morning + 10*aSecond; len(Choices(tl, at-1, at)) != 2 || len(Choices(tl, at-1, at-1)) != 1 {
		t.Errorf("at the last instant before the trial: %v", Choices(tl, at-1, at))
	}
	for _, c := range []struct {
		from, to int64
		want     string
	}{
		{-5, -1, "nobody's: no session until -1"},
		{-5, 5, "nobody's: no session until 5"}, // whether before the session or before its trial
		{2, 5, "nobody's: no trial until 5"},
		{9, 12, "nobody's: no trial until 9; trial 1 until 12"},
		{12, 18, "trial 1 until 18"},
		{12, 22, "trial 1 until 19; trial 1, part 2 until 22"},
		{25, 33, "trial 1, part 2 until 29; nobody's: paused until 33"},
		{25, 45, "trial 1, part 2 until 45; nobody's: paused until 39"},
		{45, 65, "trial 1, part 2 until 49; trial 2 until 59; trial 2, hit by the fitter until 65"},
		{65, 75, "trial 2, hit by the fitter until 69; nobody's: no session until 75"},
		{50, 50, "trial 2 until 50"},
	} {
		from, to := morning+c.from*aSecond, morning+(c.to+1)*aSecond-1
		var told []string
		for _, x := range Choices(tl, from, to) {
			told = append(told, fmt.Sprintf("%s until %d", x.Text, (x.At-morning-aSecond+1)/aSecond))
			if nobody := strings.HasPrefix(x.Text, "nobody's"); nobody != (x.Trial == "") || nobody != (x.Build == "") ||
				(x.Session == "") != strings.HasSuffix(x.Text, "no session") {
				t.Errorf("%+v", x)
			}
		}
		if got := strings.Join(told, "; "); got != c.want {
			t.Errorf("%d to %d: %s, not %s", c.from, c.to, got, c.want)
		}
		if want := strings.Contains(c.want, ";"); doubtful(tl, from, to) != want {
			t.Errorf("%d to %d: doubtful: %v", c.from, c.to, !want)
		}
	}
}
