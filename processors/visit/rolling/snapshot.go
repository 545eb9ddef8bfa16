package rolling

import (
	"fairlead/processors/visit"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

// Shot is one entry with what is known of it. Tag and values are shared with
// whoever holds the entry, for reading: a session may have many thousands.
type Shot struct {
	Key      tag.Key
	Tag      *tag.Tag
	Values   *shot.Values
	Received int64 // wall clock of the bay, Unix ns
	Device   string
	Second   string // the other device that saw the hit; empty: none
}

// Snapshot is what the live state of a bay is computed from. It is not changed
// after it was made.
type Snapshot struct {
	Studio, Bay string
	Timeline    *visit.Timeline
	Session     string   // the session to show: the open one, else the last; empty: none yet
	Shots       []Shot   // of that session, in its order
	Loose       []Shot   // the latest entries that are nobody's or were set aside, oldest first
	Open        []Shot   // of that session, between two builds: someone has to say
	At          int64    // Unix ns, hub clock
	Sensors     []Sensor // devices that do not agree with the flight of what they measure
	Alarms      []string // faults of the entries that no rule can mend
	// List bounds the shots that the state lists, the latest of the session; 0: all.
	// Its numbers are of all of them.
	List int
}

// Sensor is a device whose measurements have moved away from the flight model.
type Sensor struct {
	Device   string  `json:"device"`
	Category string  `json:"category"`
	Field    string  `json:"field"`    // carry, apex, landing_angle
	Status   string  `json:"status"`   // drifting, offset
	Average  float64 `json:"average"`  // recent residual: percent for carry and apex, deg for landing_angle
	Ordinary float64 `json:"ordinary"` // what it was when the chart learned
}
