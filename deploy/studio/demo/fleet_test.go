package demo

import (
	"slices"
	"testing"
	"time"

	"fairlead/processors/sim"
)

// TestTheFleetIsOfThePast: no player of the demo's fleet has a visit that is yet to come.
func TestTheFleetIsOfThePast(t *testing.T) {
	now := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	of := demoFleet
	of.Start = fleetBegan(now)
	f, err := sim.NewFleet(of)
	if err != nil {
		t.Fatal(err)
	}
	var last int64
	for n := range f.Studios() {
		for _, block := range f.Rows(n).Entries {
			for _, c := range block.Columns {
				if c.Name == "effective" {
					last = max(last, slices.Max(c.Data.([]int64)))
				}
			}
		}
	}
	if ago := now.Sub(time.Unix(0, last)); ago < 0 || ago > 60*24*time.Hour {
		t.Errorf("the fleet's last session is %s ago, want some weeks", ago)
	}
}
