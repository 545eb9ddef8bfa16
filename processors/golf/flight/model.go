package flight

import (
	"fmt"
	"strings"
)

// Model is an aerodynamic model of the ball: its drag and lift coefficients
// as functions of the spin ratio S = rω/V.
//
//	C_D = Drag[0] + Drag[1]·S + Drag[2]·S²
//	C_L = Lift[0] + Lift[1]·S + Lift[2]·S²   or   LiftScale·S^0.4
//
// A model may let the lift stay where it is from LiftPeak on, let drag grow with
// the square of that lift, and let both change with the speed V in m/s:
//
//	C_D + DragOfLift·C_L² + SlowDrag·R      C_L·(1 + SlowLift·R)
//	R = (x² + 0.09)^-½ - 1.09^-½, x = V / 47.6
//
// Outside SMin..SMax the coefficients are held at the edge, and the result is
// flagged. Below SMin the lift instead falls in proportion to S, because a
// ball without spin has no lift whatever a fitted line says at S = 0.
type Model struct {
	Name       string
	Source     string
	Use        string
	Drag, Lift [3]float64
	LiftScale  float64 // when above 0, C_L = LiftScale·S^0.4 and Lift is unused
	LiftPeak   float64 // spin ratio from which the lift stays as it is; 0 for none
	DragOfLift float64 // C_D for each C_L²
	SlowDrag   float64 // C_D for each R, so that a slower ball has more
	SlowLift   float64 // share of C_L for each R
	SMin, SMax float64
}

// Averages is fitted by us to what tour players hit on average, men and women,
// club by club: ball speed, launch and spin with the carry, apex and landing angle
// that are printed beside them (testdata/flight/averages.json, where it says which
// rows were kept out of the fit). On the rows that were kept out the mean errors are
// 2.9 yd of carry, 1.9 yd of apex and 1.2° of landing, where Ferguson's are 2.7, 0.8
// and 5.3. The form is that of a wing, drag by the square of lift, with lift that
// stays at its height as the spin ratio grows (Bearman and Harvey 1976, Smits and
// Smith 1994). That both are larger for a slower ball is what the averages ask for, and ours.
//
// These are effective coefficients: an average flight is not the flight of average
// numbers, and the air of the averages is not printed (25 °C at sea level is assumed).
// Averages can't tell a term in the Reynolds number from one in the speed. It is one
// in the speed, because the former would take away what thin air is known to add.
// TestTheFitOfAverages makes them anew.
func Averages() Model {
	return Model{
		Name: "averages", Source: "fit of ours to published averages of tour players, men and women, by club", Use: "whole bag",
		Drag: [3]float64{0.2237, 0, 0}, Lift: [3]float64{-0.0102, 2.023, -3.065}, LiftPeak: 0.33,
		DragOfLift: 0.942, SlowDrag: 0.1908, SlowLift: 0.4288,
		SMin: 0.02, SMax: 1.1, // at the top of the wedges' flights
	}
}

// Ferguson is fitted to flights of the whole bag; on flights held out of the
// fit the mean errors were 2.7 yd of carry, 1.7 yd offline and 1.3 yd of apex
// (Ferguson 2023, thesis, University of Waterloo, hdl 10012/19337).
func Ferguson() Model {
	return Model{
		Name: "ferguson", Source: "Ferguson 2023, thesis, University of Waterloo, hdl 10012/19337", Use: "whole bag",
		Drag: [3]float64{0.1304, 0.9287, -0.8259}, Lift: [3]float64{0.0504, 1.2031, -1.149},
		SMin: 0.02, SMax: 0.75,
	}
}

// Quintavalla is fitted to the range of drivers (Quintavalla 2002, Science and
// Golf IV). The source states no range of S; the one here holds its straight
// lines to where drivers fly and a little beyond.
func Quintavalla() Model {
	return Model{
		Name: "quintavalla", Source: "Quintavalla 2002, Science and Golf IV", Use: "driver range",
		Drag: [3]float64{0.171, 0.62, 0}, Lift: [3]float64{0.083, 0.885, 0},
		SMin: 0.02, SMax: 0.4,
	}
}

// SmitsSmith comes from wind-tunnel work (Smits and Smith 1994, Science and
// Golf II). Its lift is high at low S: a cross-check, not a first choice.
func SmitsSmith() Model {
	return Model{
		Name: "smits", Source: "Smits and Smith 1994, Science and Golf II", Use: "cross-check; lift high at low spin ratio",
		Drag: [3]float64{0.24, 0.18, 0}, LiftScale: 0.54,
		SMin: 0.02, SMax: 0.75,
	}
}

// BearmanHarvey is fitted by us, by least squares, to the wind-tunnel values of
// Bearman and Harvey (1976, Aeronaut. Q. 27:112, figures 7 and 8, as digitised in
// the open course material of NTNU's TKT4140): a ball with hexagonal dimples at
// 2000 to 6000 rpm and 21.6 to 88.1 m/s, which is Re 5.9e4 to 2.4e5 and S .05 to
// .6. The root mean square of what is left is .009 of C_D and .015 of C_L (at most .025 and .08, the
// latter near 30 m/s with little spin); a term in the Reynolds number takes away
// less than .002 of either, so there is none.
// A ball of that day drags more than one of now: a cross-check from below.
func BearmanHarvey() Model {
	return Model{
		Name: "bearman", Source: "fit of ours to Bearman and Harvey 1976, Aeronaut. Q. 27:112", Use: "cross-check; an older ball",
		Drag: [3]float64{0.2135, 0.4301, -0.0258}, Lift: [3]float64{0.0704, 1.0799, -0.8396},
		SMin: 0.05, SMax: 0.6,
	}
}

// Models lists the known models, the default first.
func Models() []Model {
	return []Model{Averages(), Ferguson(), Quintavalla(), SmitsSmith(), BearmanHarvey()}
}

// ModelNamed finds a model by its name, without regard to case.
func ModelNamed(name string) (Model, error) {
	var names []string
	for _, m := range Models() {
		if strings.EqualFold(m.Name, name) {
			return m, nil
		}
		names = append(names, m.Name)
	}
	return Model{}, fmt.Errorf("no aerodynamic model %q: use one of %s", name, strings.Join(names, ", "))
}

// check refuses a model that would not compute.
func (m *Model) check() error {
	if !(m.SMin > 0 && m.SMax > m.SMin && m.SMax <= 10) {
		return &InputError{"spin ratio range of the model", m.SMax, "", "a model from Models, or one with 0 < SMin < SMax ≤ 10"}
	}
	for _, c := range [...]float64{m.Drag[0], m.Drag[1], m.Drag[2], m.Lift[0], m.Lift[1], m.Lift[2], m.LiftScale,
		m.LiftPeak, m.DragOfLift, m.SlowDrag, m.SlowLift} {
		if !(c > -100 && c < 100) {
			return &InputError{"coefficient of the model", c, "", "a finite number of ordinary size"}
		}
	}
	return nil
}
