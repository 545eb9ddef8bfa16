package visit

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
)

// Measured is what was measured of a player.
type Measured struct {
	Event string
	At    int64
	Who   string
	Given *event.PlayerMeasured
}

// PlayerSize is one measure of a player, and what it may be, m.
type PlayerSize struct {
	Name, Label string
	Low, High   float64
}

// PlayerSizes are the measures in the order in which they are taken. Wide: juniors
// and people in wheelchairs are fitted too.
var PlayerSizes = []PlayerSize{
	{"height", "Height", 0.6, 2.4}, {"wrist_floor", "Wrist to floor", 0.25, 1.3}, {"hand_span", "Hand, wrist to fingertip", 0.08, 0.3},
}

// Of is the measure's value; nil where it was not taken.
func (p PlayerSize) Of(m *event.PlayerMeasured) *float64 {
	switch p.Name {
	case "height":
		return m.HeightM
	case "wrist_floor":
		return m.WristFloorM
	}
	return m.HandSpanM
}

var _ = kind(Kind{
	Name: "player_measured", Bears: OnPages, Apart: true, needs: needsLatest,
	Acts: []Act{{
		Name: "measures", Short: "Say what was measured of the player's body",
		Example: "measures --bay north --wrist-floor 33.5in --glove 'ML, cadet'",
		Fields: []Field{
			{Name: "height", Help: "height, with its unit: 1.80m, 71in"},
			{Name: "wrist_floor", Help: "from the crease of the wrist to the floor, standing, arm hanging"},
			{Name: "hand_span", Help: "from the crease of the wrist to the tip of the middle finger"},
			{Name: "glove", Help: "size of the glove"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			m := &event.PlayerMeasured{Glove: r.Text("glove")}
			m.HeightM, m.WristFloorM, m.HandSpanM = r.size(PlayerSizes[0]), r.size(PlayerSizes[1]), r.size(PlayerSizes[2])
			ev.Session = r.Text("session")
			ev.Body = &event.VisitEvent_PlayerMeasured{PlayerMeasured: m}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		m := ev.GetPlayerMeasured()
		needSession(c, ev)
		said := m.GetGlove() != ""
		for _, p := range PlayerSizes {
			c.Optional(p.Name, p.Of(m), p.Low, p.High, "m")
			said = said || p.Of(m) != nil
		}
		c.Text("glove", m.GetGlove(), event.LongestLabel)
		if !said {
			c.Add("wrist_floor", "", "nothing was measured", "write at least one measure")
		}
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		if s := f.sessionOf(ev); s != nil {
			s.Measured = append(s.Measured, Measured{ev.Id, ev.EffectiveUnixNs, ev.Who, ev.GetPlayerMeasured()})
		}
	},
	says: says("the player was measured"),
})

// size reads a measure of a body in any notation of the trade.
func (r *Reader) size(p PlayerSize) *float64 {
	text := r.Text(p.Name)
	if text == "" {
		return nil
	}
	info, _ := event.BuildFieldNamed("length")
	v, err := club.ParseFigure(text, club.Figure{Name: p.Name, Quantity: info.Quantity, Min: p.Low, Max: p.High, Prefer: r.prefer(info)})
	if err == nil && (v < p.Low || v > p.High) {
		err = fmt.Errorf("%s is outside of %.2f to %.2f m: measure it again", strings.ToLower(p.Label), p.Low, p.High)
	}
	if err != nil {
		r.Bad(p.Name, text, "can't be read", err.Error())
		return nil
	}
	return &v
}
