package console

import (
	"strings"
	"testing"
	"time"

	"fairlead/processors/visit/rolling"
)

func TestDevicesAreRemarkedOnWhereTheyDiffer(t *testing.T) {
	one, both, swapped := rolling.ShotRow{Device: "larch"}, rolling.ShotRow{Device: "larch", Second: "hazel"},
		rolling.ShotRow{Device: "larch", Second: "aspen"}
	for _, c := range []struct {
		shots []rolling.ShotRow
		want  string
	}{
		{nil, ""},
		{[]rolling.ShotRow{one, one}, ""},
		{[]rolling.ShotRow{both}, "larch and hazel"},
		{[]rolling.ShotRow{one, both, both, swapped}, "larch and hazel"},
		{[]rolling.ShotRow{one, one, both}, "larch only"},
	} {
		if got := seenBy(c.shots); got != c.want {
			t.Errorf("%+v: %q, want %q", c.shots, got, c.want)
		}
	}
	s := &server{units: unitsFor(false), now: time.Now}
	for row, want := range map[*rolling.ShotRow]string{&both: "", &one: "seen by larch only", &swapped: "seen by larch and aspen"} {
		row.Status = "counts"
		if v := s.shotView(&rolling.State{}, row, nil, "larch and hazel"); v.Notes != want {
			t.Errorf("%+v has the note %q, want %q", row, v.Notes, want)
		}
	}
	if v := s.shotView(&rolling.State{}, &one, nil, ""); v.Notes != "" {
		t.Errorf("in a bay with one device: %q", v.Notes)
	}
}

func TestWhatIsStillNeededInWords(t *testing.T) {
	for _, c := range []struct {
		p50, p90 int
		want     string
	}{{-1, -1, "not worth hitting for"}, {0, 0, ""}, {20, 60, "about 20 more shots, up to 60"},
		{60, 440, "about 60 more shots, maybe more than a day allows"},
		{60, -1, "about 60 more shots, maybe more than a day allows"}, {440, -1, "more than a day allows"}} {
		if got := needWord(rolling.Weighed{NeedP50: c.p50, NeedP90: c.p90}); got != c.want {
			t.Errorf("%d, %d: %q, want %q", c.p50, c.p90, got, c.want)
		}
	}
}

func TestPuttsHaveTheirOwnWords(t *testing.T) {
	c := &rolling.Comparison{Outcomes: []rolling.Weighed{{Name: "distance_control", Verdict: "better"}, {Name: "direction", Verdict: "worse"}}}
	if got := headline(c,
		true); got != "Speed scatter tighter; start line scatter wider. All that this kind of club is judged by is decided." {
		t.Errorf("%q", got)
	}
	c.Outcomes = []rolling.Weighed{{Name: "direction", Verdict: "better"}, {Name: "distance_control", Verdict: "better"},
		{Name: "area", Verdict: "better"}}
	if got := headline(c, false); !strings.HasPrefix(got, "Direction scatter, carry scatter and area tighter. ") {
		t.Errorf("what is said of several: %q", got)
	}
	if got := unitsFor(false).of("skid_distance_m").Text(0.55); got != "55\u00a0cm" {
		t.Errorf("skid %q", got)
	}
}
