package flight

import (
	"errors"
	"fmt"
	"strings"

	"fairlead/ingest/contract/unit"
)

// Weather is the air, the wind and the ground as a person writes them down, each
// with its unit. What is left out is as in standard conditions.
type Weather struct {
	Model    string      // of the aerodynamics
	Ground   string      // soft, medium or firm
	Wind     string      // SPEED@DIRECTION that it comes from
	Density  *unit.Value // instead of the next four
	Temp     *unit.Value
	Altitude *unit.Value
	Pressure *unit.Value // on the spot; instead of altitude
	Humidity *unit.Value
	Landing  *unit.Value // height of the ground where the ball lands above where it starts
}

// NewWeather is standard weather on level ground.
func NewWeather() *Weather {
	return &Weather{
		Model: Averages().Name, Ground: "medium",
		Density: unit.NewValue(unit.Density, 1.225), Temp: unit.NewValue(unit.Temperature, 15), Altitude: unit.NewValue(unit.Length, 0),
		Pressure: unit.NewValue(unit.Pressure, 101325), Humidity: unit.NewValue(unit.Ratio, 0), Landing: unit.NewValue(unit.Length, 0),
	}
}

// Conditions are those in which a ball flies in this weather.
func (w *Weather) Conditions() (Conditions, error) {
	c := Standard()
	var err error
	if c.Model, err = ModelNamed(w.Model); err != nil {
		return c, err
	}
	ground, ok := GroundNamed(w.Ground)
	if !ok {
		return c, fmt.Errorf("no ground %q: use soft, medium or firm", w.Ground)
	}
	c.Ground, c.LandingHeight = ground, w.Landing.V
	if c.Wind, err = ParseWind(w.Wind); err != nil {
		return c, err
	}
	weather := w.Temp.Given || w.Altitude.Given || w.Pressure.Given || w.Humidity.Given
	switch {
	case w.Density.Given && weather:
		return c, errors.New("give either --density or temperature, altitude, pressure and humidity")
	case w.Altitude.Given && w.Pressure.Given:
		return c, errors.New("give either --altitude or --pressure")
	case w.Density.Given:
		c.Air, err = AirOfDensity(w.Density.V)
	case weather:
		temp := w.Temp.V
		if !w.Temp.Given && !w.Pressure.Given {
			temp = TemperatureAt(w.Altitude.V)
		}
		if w.Pressure.Given {
			c.Air, err = AirAt(temp, w.Pressure.V, w.Humidity.V)
		} else {
			c.Air, err = AirAtAltitude(temp, w.Altitude.V, w.Humidity.V)
		}
	}
	if err == nil {
		err = c.Check()
	}
	return c, err
}

// ParseWind reads SPEED@DIRECTION; nothing is no wind.
func ParseWind(s string) (Wind, error) {
	if strings.TrimSpace(s) == "" {
		return Wind{}, nil
	}
	speed, from, ok := strings.Cut(s, "@")
	if !ok {
		return Wind{}, fmt.Errorf("wind %q has no direction: write it as 5m/s@0deg, 0 being against the player", s)
	}
	v, err := unit.Parse(unit.Speed, speed)
	if err != nil {
		return Wind{}, fmt.Errorf("wind: %w", err)
	}
	d, err := unit.Parse(unit.Angle, from)
	if err != nil {
		return Wind{}, fmt.Errorf("wind: %w", err)
	}
	return Wind{Speed: v, From: d}, nil
}
