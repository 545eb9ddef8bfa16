package impact

import (
	"fmt"

	"fairlead/processors/golf/flight"
)

// Club is an ordinary club of a bag with an ordinary delivery of it. Attack
// and dynamic loft are conventions of the trade for a sound player, not
// measurements of anybody; a good start for a simulator and nothing more.
type Club struct {
	Name        string
	Category    string
	SpeedShare  float64 // clubhead speed as a share of the player's driver speed
	Attack      float64 // deg
	DynamicLoft float64 // deg
}

// Bag lists the clubs that Typical knows, longest first.
func Bag() []Club {
	return []Club{
		{"driver", "driver", 1.00, -0.5, 13.5},
		{"3-wood", "wood", 0.95, -2.5, 14},
		{"5-wood", "wood", 0.93, -3, 16},
		{"4-hybrid", "hybrid", 0.90, -3.5, 17},
		{"5-iron", "iron", 0.84, -3.5, 18.5},
		{"6-iron", "iron", 0.82, -3.8, 21},
		{"7-iron", "iron", 0.80, -4, 24},
		{"8-iron", "iron", 0.78, -4.3, 27.5},
		{"9-iron", "iron", 0.76, -4.6, 31},
		{"pitching wedge", "wedge", 0.74, -4.8, 34.5},
		{"gap wedge", "wedge", 0.72, -5, 38.5},
		{"sand wedge", "wedge", 0.70, -5, 43},
		{"lob wedge", "wedge", 0.68, -5, 47},
	}
}

// Computed is one row of a table made by the models.
type Computed struct {
	Club     Club
	Delivery Delivery
	Impact   Result
	Flight   flight.Result
}

// Table computes launch, spin and carry through the bag for a player's driver
// clubhead speed in m/s under c. Label it as what it is wherever it is shown:
// computed from the models, not measured.
func Table(driverSpeed float64, c flight.Conditions) ([]Computed, error) {
	var rows []Computed
	for _, club := range Bag() {
		h, err := DefaultHead(club.Category)
		if err != nil {
			return nil, err
		}
		row := Computed{Club: club, Delivery: Delivery{
			HeadSpeed: driverSpeed * club.SpeedShare, Attack: club.Attack, DynamicLoft: club.DynamicLoft,
		}}
		if row.Impact, err = Strike(row.Delivery, h); err != nil {
			return nil, fmt.Errorf("%s: %w", club.Name, err)
		}
		if row.Flight, err = flight.Simulate(row.Impact.Launch, c); err != nil {
			return nil, fmt.Errorf("%s: %w", club.Name, err)
		}
		rows = append(rows, row)
	}
	return rows, nil
}
