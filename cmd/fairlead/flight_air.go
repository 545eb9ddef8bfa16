package main

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

// airFlags are the flags of every command that lets a ball fly.
type airFlags struct {
	model, ground, wind                      string
	density, temp, altitude, pressure, humid *unit.Value
	landing                                  *unit.Value
}

func (a *airFlags) register(c *cobra.Command) {
	a.density = unit.NewValue(unit.Density, 1.225)
	a.temp = unit.NewValue(unit.Temperature, 15)
	a.altitude = unit.NewValue(unit.Length, 0)
	a.pressure = unit.NewValue(unit.Pressure, 101325)
	a.humid = unit.NewValue(unit.Ratio, 0)
	a.landing = unit.NewValue(unit.Length, 0)
	f := c.Flags()
	f.StringVar(&a.model, "model", "ferguson", "aerodynamic model: ferguson (whole bag), quintavalla (driver) or smits (cross-check)")
	f.StringVar(&a.wind, "wind", "", "wind as SPEED@DIRECTION it comes from: 5m/s@0deg blows against the player, 90deg from the right, 180deg from behind")
	f.Var(a.density, "density", "air density; instead of temperature, altitude, pressure and humidity")
	f.Var(a.temp, "temp", "air temperature, such as 20C or 68F (at an altitude, the standard atmosphere's when left out)")
	f.Var(a.altitude, "altitude", "altitude above the sea; gives the standard atmosphere's pressure")
	f.Var(a.pressure, "pressure", "barometric pressure on the spot, not reduced to sea level; instead of altitude")
	f.Var(a.humid, "humidity", "relative humidity, such as 50%")
	f.StringVar(&a.ground, "ground", "medium", "ground for the run-out: soft, medium or firm")
	f.Var(a.landing, "landing-height", "height of the ground where the ball lands above where it starts; negative downhill")
}

// conditions turns the flags into flight conditions.
func (a *airFlags) conditions() (flight.Conditions, error) {
	c := flight.Standard()
	var err error
	if c.Model, err = flight.ModelNamed(a.model); err != nil {
		return c, &usageError{err}
	}
	ground, ok := flight.GroundNamed(a.ground)
	if !ok {
		return c, &usageError{fmt.Errorf("no ground %q: use soft, medium or firm", a.ground)}
	}
	c.Ground, c.LandingHeight = ground, a.landing.V
	if c.Wind, err = parseWind(a.wind); err != nil {
		return c, &usageError{err}
	}
	weather := a.temp.Given || a.altitude.Given || a.pressure.Given || a.humid.Given
	switch {
	case a.density.Given && weather:
		return c, &usageError{errors.New("give either --density or temperature, altitude, pressure and humidity")}
	case a.altitude.Given && a.pressure.Given:
		return c, &usageError{errors.New("give either --altitude or --pressure")}
	case a.density.Given:
		c.Air, err = flight.AirOfDensity(a.density.V)
	case weather:
		temp := a.temp.V
		if !a.temp.Given && !a.pressure.Given {
			temp = flight.TemperatureAt(a.altitude.V)
		}
		if a.pressure.Given {
			c.Air, err = flight.AirAt(temp, a.pressure.V, a.humid.V)
		} else {
			c.Air, err = flight.AirAtAltitude(temp, a.altitude.V, a.humid.V)
		}
	}
	if err == nil {
		err = c.Check()
	}
	if err != nil {
		return c, &usageError{err}
	}
	return c, nil
}

// parseWind reads SPEED@DIRECTION; nothing is no wind.
func parseWind(s string) (flight.Wind, error) {
	if strings.TrimSpace(s) == "" {
		return flight.Wind{}, nil
	}
	speed, from, ok := strings.Cut(s, "@")
	if !ok {
		return flight.Wind{}, fmt.Errorf("wind %q has no direction: write it as 5m/s@0deg, 0 being against the player", s)
	}
	v, err := unit.Parse(unit.Speed, speed)
	if err != nil {
		return flight.Wind{}, fmt.Errorf("wind: %w", err)
	}
	d, err := unit.Parse(unit.Angle, from)
	if err != nil {
		return flight.Wind{}, fmt.Errorf("wind: %w", err)
	}
	return flight.Wind{Speed: v, From: d}, nil
}

// digits rounds to six decimals, far below what any input is known to, and
// turns -0 into 0.
func digits(v float64) float64 { return math.Round(v*1e6)/1e6 + 0 }
