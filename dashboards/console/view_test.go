package console

import (
	"testing"

	"fairlead/processors/visit/rolling"
)

func TestDevicesAreRemarkedOnWhereTheyDiffer(t *testing.T) {
	one, both, swapped := rolling.ShotRow{Device: "larch"}, rolling.ShotRow{Device: "larch", Second: "hazel"}, rolling.ShotRow{Device: "larch", Second: "aspen"}
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
	s := &server{units: unitsFor(false)}
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
