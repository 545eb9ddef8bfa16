package visit

import (
	"crypto/sha256"
	"encoding/hex"
	"strconv"

	"fairlead/ingest/contract/event"
)

// Number is a value that may be unknown.
type Number struct {
	Value float64
	Known bool
}

// Setting is where and with what balls the shots are hit. Empty texts and
// unknown numbers were never said. It is comparable.
type Setting struct {
	Place          string // indoor, outdoor
	Surface        string // mat, grass, tee
	TeeHeight      Number // m
	BallModel      string
	BallClass      string
	TargetBearing  Number // deg of the aim against the device's zero line, positive = right
	GreenSpeed     Number // m, run of a ball released at 1.83 m/s
	WindSpeed      Number // m/s
	WindToward     Number // deg it blows toward, 0 = down-range, positive = right
	TargetDistance Number // m
}

// ID names a setting by its contents: 16 hex digits; empty when nothing is known.
// Stored rows carry it, so what is hashed is written out below and never changes: a
// part that is added later goes behind the last one, and only when it is known.
func (s Setting) ID() string {
	if s == (Setting{}) {
		return ""
	}
	text := make([]byte, 0, 160)
	word := func(w string) { text = append(append(text, w...), ' ') }
	number := func(n Number) {
		text = strconv.AppendFloat(append(text, '{'), n.Value, 'g', -1, 64)
		text = append(strconv.AppendBool(append(text, ' '), n.Known), "} "...)
	}
	text = append(text, '{')
	word(s.Place)
	word(s.Surface)
	number(s.TeeHeight)
	word(s.BallModel)
	word(s.BallClass)
	number(s.TargetBearing)
	number(s.GreenSpeed)
	number(s.WindSpeed)
	number(s.WindToward)
	number(s.TargetDistance)
	text[len(text)-1] = '}' // the last blank
	sum := sha256.Sum256(strconv.AppendQuote(nil, string(text)))
	return hex.EncodeToString(sum[:8])
}

// with returns the setting after a change: what is forgotten goes, then what is
// given holds, and absent parts keep what they were.
func (s Setting) with(c *event.SettingChanged) Setting {
	text := func(to *string, from string) {
		if from != "" {
			*to = from
		}
	}
	number := func(to *Number, from *float64) {
		if from != nil {
			*to = Number{*from, true}
		}
	}
	for _, gone := range c.Forgotten {
		switch gone {
		case event.SettingPart_SETTING_TARGET:
			s.TargetDistance, s.TargetBearing = Number{}, Number{}
		case event.SettingPart_SETTING_WIND:
			s.WindSpeed, s.WindToward = Number{}, Number{}
		case event.SettingPart_SETTING_TEE:
			s.TeeHeight = Number{}
		case event.SettingPart_SETTING_GREEN:
			s.GreenSpeed = Number{}
		}
	}
	text(&s.Place, c.Place)
	text(&s.Surface, c.Surface)
	text(&s.BallModel, c.BallModel)
	text(&s.BallClass, c.BallClass)
	number(&s.TeeHeight, c.TeeHeightM)
	number(&s.TargetBearing, c.TargetBearingDeg)
	number(&s.GreenSpeed, c.GreenSpeedM)
	number(&s.WindSpeed, c.WindSpeedMps)
	number(&s.WindToward, c.WindTowardDeg)
	number(&s.TargetDistance, c.TargetDistanceM)
	return s
}
