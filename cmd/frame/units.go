package frame

import (
	"github.com/spf13/cobra"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

// AirFlags adds the flags of every command that lets a ball fly.
func AirFlags(c *cobra.Command, w *flight.Weather) {
	f := c.Flags()
	f.StringVar(&w.Model, "model", w.Model, "aerodynamic model: averages or ferguson (whole bag), "+
		"quintavalla (driver), smits or bearman (cross-checks)")
	f.StringVar(&w.Wind, "wind", "", "wind as SPEED@DIRECTION it comes from: 5m/s@0deg blows against the player, 90deg from the right, "+
		"180deg from behind")
	f.Var(w.Density, "density", "air density; instead of temperature, altitude, pressure and humidity")
	f.Var(w.Temp, "temp", "air temperature, such as 20C or 68F (at an altitude, the standard atmosphere's when left out)")
	f.Var(w.Altitude, "altitude", "altitude above the sea; gives the standard atmosphere's pressure")
	f.Var(w.Pressure, "pressure", "barometric pressure on the spot, not reduced to sea level; instead of altitude")
	f.Var(w.Humidity, "humidity", "relative humidity, such as 50%")
	f.StringVar(&w.Ground, "ground", w.Ground, "ground for the run-out: soft, medium or firm")
	f.Var(w.Landing, "landing-height", "height of the ground where the ball lands above where it starts; negative downhill")
}

// UnitFlags are flags of one command that carry units.
type UnitFlags struct{ Command *cobra.Command }

// Add adds a flag of a quantity; def is in its stored unit.
func (f UnitFlags) Add(q unit.Quantity, name string, def float64, usage string) *unit.Value {
	v := unit.NewValue(q, def)
	f.Command.Flags().Var(v, name, usage)
	return v
}

// ShownUnits adds the flag of commands that write for people.
func ShownUnits(c *cobra.Command, u *unit.Shown) {
	c.Flags().BoolVar(&u.Imperial, "imperial", false, "show yards and mph instead of m and m/s (JSON stays SI)")
}
