package flight

import "math"

// Air is what the ball flies through.
type Air struct {
	Density   float64 // kg/m³
	Viscosity float64 // dynamic, Pa·s; enters only through the Reynolds number
}

// Standard sea-level air (ISO 2533): 15 °C, 101,325 Pa, dry.
const (
	standardPressure    = 101325.0
	standardTemperature = 15.0
	standardDensity     = 1.225
	standardViscosity   = 1.7894e-5
)

var (
	boundTemperature = bound{"air temperature", "°C", "-40 to 60 °C", -40, 60}
	boundPressure    = bound{"air pressure", "Pa", "40000 to 120000 Pa at the place itself, not reduced to sea level", 40000, 120000}
	boundHumidity    = bound{"relative humidity", "", "a fraction of 0 to 1", 0, 1}
	boundAltitude    = bound{"altitude", "m", "-500 to 6000 m", -500, 6000}
	boundDensity     = bound{"air density", "kg/m³", "0.3 to 2 kg/m³", 0.3, 2}
	boundViscosity   = bound{"air viscosity", "Pa·s", "1e-5 to 3e-5 Pa·s", 1e-5, 3e-5}
)

// StandardAir is the air that standard-air carry refers to: 15 °C, sea level,
// dry, 1.225 kg/m³.
func StandardAir() Air { return Air{Density: standardDensity, Viscosity: standardViscosity} }

// AirOfDensity is air of a given density in kg/m³ with the standard viscosity.
func AirOfDensity(density float64) (Air, error) {
	if err := boundDensity.check(density); err != nil {
		return Air{}, err
	}
	return Air{Density: density, Viscosity: standardViscosity}, nil
}

// AirAt is the air at a temperature in °C, the pressure in Pa that a barometer
// shows on the spot (not reduced to sea level) and a relative humidity of 0 to 1.
//
// Density is that of dry air and water vapour by their gas constants, with the
// vapour pressure by Magnus' formula (coefficients of Sonntag 1990, Z.
// Meteorologie 70:340). Viscosity is by Sutherland's formula.
func AirAt(temperature, pressure, humidity float64) (Air, error) {
	if err := boundTemperature.check(temperature); err != nil {
		return Air{}, err
	}
	if err := boundPressure.check(pressure); err != nil {
		return Air{}, err
	}
	if err := boundHumidity.check(humidity); err != nil {
		return Air{}, err
	}
	const gasDry, gasVapour = 287.058, 461.495
	kelvin := temperature + 273.15
	vapour := humidity * 611.2 * math.Exp(17.62*temperature/(243.12+temperature))
	return Air{
		Density:   (pressure-vapour)/(gasDry*kelvin) + vapour/(gasVapour*kelvin),
		Viscosity: 1.458e-6 * kelvin * math.Sqrt(kelvin) / (kelvin + 110.4),
	}, nil
}

// AirAtAltitude is AirAt with the standard atmosphere's pressure at an
// altitude in m above the sea.
func AirAtAltitude(temperature, altitude, humidity float64) (Air, error) {
	if err := boundAltitude.check(altitude); err != nil {
		return Air{}, err
	}
	return AirAt(temperature, PressureAt(altitude), humidity)
}

// PressureAt is the standard atmosphere's pressure in Pa at an altitude in m.
func PressureAt(altitude float64) float64 {
	return standardPressure * math.Pow(1-0.0065*altitude/288.15, 5.2559)
}

// TemperatureAt is the standard atmosphere's temperature in °C at an altitude
// in m, for when none was measured.
func TemperatureAt(altitude float64) float64 { return standardTemperature - 0.0065*altitude }
