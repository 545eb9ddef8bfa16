package sim

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"sync"

	"google.golang.org/protobuf/encoding/protojson"

	"fairlead/ingest/contract/event"
)

// The truth is NDJSON: every line is one of the records below, told apart by
// its key "record".

// PlayerRecord is a player as drawn. Directions of the swing are handed.
type PlayerRecord struct {
	Record      string  `json:"record"` // player
	Player      string  `json:"player"`
	Name        string  `json:"name"`
	Hand        string  `json:"hand"` // right, left
	Skill       float64 `json:"skill"`
	DriverSpeed float64 `json:"driver_speed_mps"`
	Attack      float64 `json:"attack_offset_deg"`
	Path        float64 `json:"path_deg"`
	FaceToPath  float64 `json:"face_to_path_deg"`
	DynamicLoft float64 `json:"dynamic_loft_offset_deg"`
	StrikeX     float64 `json:"strike_x_m"`
	StrikeY     float64 `json:"strike_y_m"`
	Scatter     Scatter `json:"scatter"`
	Rhythm      Rhythm  `json:"rhythm"`
}

// ClubRecord is a club as it is, what the fitter knows of it, and what it does
// for the player.
type ClubRecord struct {
	Record   string             `json:"record"` // club
	Player   string             `json:"player"`
	Club     string             `json:"club"`
	Build    string             `json:"build"` // key as the store has it
	Name     string             `json:"name"`
	Category string             `json:"category"`
	Gamer    bool               `json:"gamer"`
	True     map[string]float64 `json:"true"` // by attribute, stored units
	Effects  []TrueOutcome      `json:"effects,omitempty"`
}

// LineRecord is one line of a device.
type LineRecord struct {
	Record     string  `json:"record"` // line
	Bay        string  `json:"bay"`
	Feed       string  `json:"feed"`
	Device     string  `json:"device"`
	Role       string  `json:"role"`
	File       string  `json:"file"`
	Kind       Kind    `json:"kind"`
	Valid      bool    `json:"valid"` // expected to be a shot
	ShotID     string  `json:"shot_id"`
	Written    int64   `json:"written_unix_ns"` // wall clock of the bay
	Hit        int64   `json:"hit_unix_ns"`
	Number     int     `json:"hit"` // of the bay, from 1; lines of one swing share it
	Visit      string  `json:"visit"`
	Session    string  `json:"session"`
	Player     string  `json:"player"` // whose session it is
	Hitter     string  `json:"hitter"` // who swung
	HitterKind string  `json:"hitter_kind"`
	Club       string  `json:"club"`  // really swung
	Build      string  `json:"build"` // its key
	Practice   bool    `json:"practice,omitempty"`
	Mishit     string  `json:"mishit,omitempty"`
	Misread    string  `json:"misread,omitempty"` // the field that is far off
	Dropped    int     `json:"dropped,omitempty"`
	Trial      string  `json:"trial"` // running at that moment, as the fitter had entered it; empty: nobody's
	Latent     *Latent `json:"latent,omitempty"`
}

// Latent is the swing itself: positive right of target, no device's error.
type Latent struct {
	HeadSpeed   float64 `json:"clubhead_speed_mps"`
	Attack      float64 `json:"attack_angle_deg"`
	Path        float64 `json:"club_path_deg"`
	Face        float64 `json:"face_angle_deg"`
	DynamicLoft float64 `json:"dynamic_loft_deg"`
	StrikeX     float64 `json:"strike_x_m"`
	StrikeY     float64 `json:"strike_y_m"`
	BallSpeed   float64 `json:"ball_speed_mps"`
	LaunchAngle float64 `json:"launch_angle_deg"`
	Direction   float64 `json:"launch_direction_deg"`
	Spin        float64 `json:"spin_rate_rpm"`
	SpinAxis    float64 `json:"spin_axis_deg"`
	Carry       float64 `json:"carry_m"`
	Offline     float64 `json:"offline_m"`
}

// EventRecord is what the fitter entered.
type EventRecord struct {
	Record    string          `json:"record"` // event
	Bay       string          `json:"bay"`
	ID        string          `json:"id"`
	Kind      string          `json:"kind"`
	Effective int64           `json:"effective_unix_ns"`
	Event     json.RawMessage `json:"event"` // the contract's JSON
}

// SlipRecord is something that the fitter forgot to enter.
type SlipRecord struct {
	Record  string `json:"record"` // slip
	Bay     string `json:"bay"`
	Session string `json:"session"`
	What    string `json:"what"`   // swap, hitter
	Mended  bool   `json:"mended"` // found and put right later
	Shots   int    `json:"shots"`  // hits that stood wrong until then, or for good
}

// truthLog writes records. It may be used by several goroutines.
type truthLog struct {
	mu  sync.Mutex
	w   io.Writer
	err error
}

func (t *truthLog) write(record any) {
	if t.w == nil {
		return
	}
	data, err := json.Marshal(record)
	t.mu.Lock()
	defer t.mu.Unlock()
	if err == nil {
		_, err = t.w.Write(append(data, '\n'))
	}
	if err != nil && t.err == nil {
		t.err = fmt.Errorf("write truth: %w", err)
	}
}

func (t *truthLog) failed() error {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.err
}

func eventRecord(ev *event.VisitEvent) EventRecord {
	r := EventRecord{Record: "event", Bay: ev.Bay, ID: ev.Id, Kind: event.KindOf(ev), Effective: ev.EffectiveUnixNs}
	// protojson varies its blanks on purpose; compact JSON is the same each time.
	if text, err := (protojson.MarshalOptions{UseProtoNames: true}).Marshal(ev); err == nil {
		var b bytes.Buffer
		if json.Compact(&b, text) == nil {
			r.Event = b.Bytes()
		}
	}
	return r
}

func playerRecord(p *Player) PlayerRecord {
	hand := "right"
	if p.Left {
		hand = "left"
	}
	return PlayerRecord{"player", p.ID, p.Name, hand, p.Skill, p.DriverSpeed, p.Attack, p.Path, p.FaceToPath, p.DynamicLoft, p.StrikeX,
		p.StrikeY, p.Scatter, p.Rhythm}
}

func clubRecord(p *Player, c *Club, effects []TrueOutcome) ClubRecord {
	r := ClubRecord{Record: "club", Player: p.ID, Club: c.ID, Build: c.Key(), Name: c.Build.Name, Category: c.Category, Gamer: c.Gamer,
		True: map[string]float64{}, Effects: effects}
	for a := range attributes {
		r.True[a.Info().Name] = c.True[a]
	}
	return r
}

func latent(h *Hit) *Latent {
	if p := h.Putt; p != nil {
		return &Latent{BallSpeed: p.Speed, LaunchAngle: p.Launch, Direction: p.Line, Carry: 0}
	}
	d, l, f := &h.Delivery, &h.Launch, &h.Flight
	return &Latent{d.HeadSpeed, d.Attack, d.Path, d.Face, d.DynamicLoft, d.StrikeX, d.StrikeY, l.BallSpeed, l.Angle, l.Direction, l.SpinRate,
		l.SpinAxis, f.Carry, f.Offline}
}
