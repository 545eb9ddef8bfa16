package flight

// Landing holds what a device says of the flight, or what we compute in its
// place; nil where nothing is known. Units and signs are those of Result.
type Landing struct {
	Carry        *float64
	Offline      *float64
	Apex         *float64
	HangTime     *float64
	LandingAngle *float64
	LandingSpeed *float64
	Total        *float64
}

// Fill computes what the device left out: each field of the answer is nil
// where measured has it, so that computed values can only ever be stored
// beside measured ones, never in their place. Errors are those of Simulate.
func Fill(l Launch, c Conditions, measured Landing) (Landing, error) {
	r, err := Simulate(l, c)
	if err != nil {
		return Landing{}, err
	}
	missing := func(have *float64, computed float64) *float64 {
		if have != nil {
			return nil
		}
		return &computed
	}
	return Landing{
		Carry:        missing(measured.Carry, r.Carry),
		Offline:      missing(measured.Offline, r.Offline),
		Apex:         missing(measured.Apex, r.Apex),
		HangTime:     missing(measured.HangTime, r.HangTime),
		LandingAngle: missing(measured.LandingAngle, r.LandingAngle),
		LandingSpeed: missing(measured.LandingSpeed, r.LandingSpeed),
		Total:        missing(measured.Total, r.Total),
	}, nil
}
