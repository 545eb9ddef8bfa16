package glossary

// spread is the scale of a standard deviation, everywhere the same: fifteen
// percent of it moves one shot in twenty across a fairway's edge.
var spread = in(Scale{0.15, 0.3}, Scale{0.15, 0.3}, Scale{0.15, 0.3}, Scale{0.15, 0.3}, Scale{0.15, 0.3}, Scale{0.15, 0.3})

// in gives scales in the order of Categories; fewer leave the last ones out.
func in(scales ...Scale) map[Category]Scale {
	out := map[Category]Scale{}
	for i, s := range scales {
		out[Categories()[i]] = s
	}
	return out
}

// with adds the putter's scale to those of clubs that are not one.
func with(putter Scale, rest map[Category]Scale) map[Category]Scale {
	rest[Putter] = putter
	return rest
}

func long(g Goal) map[Category]Goal { return map[Category]Goal{Driver: g, Wood: g} }

// table is the dictionary, in the order in which outcomes usually can be decided.
//
// Margins are declared before any shot is hit. They are what neither a player
// feels nor a hole notices, and no device repeats better than: half a degree of
// launch; 150 rpm with a driver, which is about a yard of carry, more for shorter
// clubs, which spin more; 3 m of driver carry is less than a third of a club,
// 1.5 m of wedge is a pace and a half; half a
// degree of start is 1.3 m at 150; 2 mm on the face is the width of an impact
// mark's edge; an area multiplies two spreads, hence 25 %.
//
// Prior sds are generous: twice what published comparisons of heads and shafts
// found between players (mean effects near zero, half of the individuals
// differing: MacKenzie & Boucher 2016; +1.8 m/s of ball speed for 100 mm of
// length: Kenny et al. 2008).
var table = []Outcome{
	{Name: Launch, Unit: "deg", Better: Goal{Way: Higher, Assumed: true},
		// A putt's launch of one to three degrees is a convention of the trade.
		But:   map[Category]Goal{Putter: {Way: Toward, Target: 2, Assumed: true}, Wedge: {Way: Lower, Assumed: true}},
		In:    with(Scale{0.3, 0.8}, in(Scale{0.5, 2}, Scale{0.5, 2}, Scale{0.5, 2}, Scale{0.5, 2}, Scale{0.7, 2})),
		Words: Words{Cell: "Launch", Paper: "Launch angle", Meaning: "how steeply the ball leaves the face"}},
	{Name: Spin, Unit: "rpm", Better: Goal{Way: Higher, Assumed: true}, // a long club wants run, a short one wants to stop
		But:   long(Goal{Way: Lower, Assumed: true}),
		In:    in(Scale{150, 500}, Scale{200, 550}, Scale{250, 700}, Scale{250, 800}, Scale{350, 900}),
		Words: Words{Cell: "Spin", Paper: "Spin", Meaning: "how fast the ball turns; more spin holds it up and stops it sooner"}},
	{Name: BallSpeed, Unit: "m/s", Better: Goal{Way: Higher, Assumed: true}, But: long(Goal{Way: Higher}),
		In:    with(Scale{0.05, 0.1}, in(Scale{0.5, 1.5}, Scale{0.5, 1.5}, Scale{0.4, 1.2}, Scale{0.4, 1.2}, Scale{0.3, 1})),
		Words: Words{Cell: "Ball speed", Paper: "Ball speed", Meaning: "how fast the ball leaves the face"}},
	{Name: Carry, Measure: "carry_m", Unit: "m", Better: Goal{Way: Higher, Assumed: true}, But: long(Goal{Way: Higher}),
		Second: []Category{Driver, Wood},
		In:     in(Scale{3, 7}, Scale{3, 7}, Scale{2.5, 6}, Scale{2, 5}, Scale{1.5, 4}),
		Words:  Words{Cell: "Carry", Paper: "Carry", Meaning: "how far the ball flies before it first lands"},
		Fleet:  &FleetTerm{Name: "carry", Rank: 4, Short: "carry", Title: "carry", Of: "m", Sign: 1, Margin: 1.8, LeastSD: 1}},
	{Name: Landing, Unit: "deg", Better: Goal{Way: Higher, Assumed: true}, But: long(Goal{Way: Lower, Assumed: true}),
		In:    in(Scale{1, 3}, Scale{1, 3}, Scale{1, 3}, Scale{1, 3}, Scale{1, 3}),
		Words: Words{Cell: "Landing angle", Paper: "Landing angle", Meaning: "how steeply the ball comes down; steeper stops sooner"}},
	{Name: Strike, Unit: "m", Better: Goal{Way: Lower},
		In: with(Scale{0.002, 0.004},
			in(Scale{0.002, 0.005}, Scale{0.002, 0.005}, Scale{0.002, 0.005}, Scale{0.002, 0.005}, Scale{0.002, 0.004})),
		Words: Words{Cell: "Strike off centre", Paper: "Strike", Meaning: "how far from the middle of the face the ball is met"}},
	// Where it goes: better is nearer to the aim. A start or a curve beside it may
	// be how a player likes to play, so that their aim is a convention; where the
	// ball comes down is not. Lie, face angle and a putter's neck move these.
	{Name: Start, Unit: "deg", Better: Goal{Way: Toward, Assumed: true}, But: map[Category]Goal{Putter: {Way: Toward}},
		In: with(Scale{0.2, 0.8}, in(Scale{0.5, 2}, Scale{0.5, 2}, Scale{0.5, 2}, Scale{0.5, 2}, Scale{0.5, 2})),
		Words: Words{Cell: "Start direction", Paper: "Start direction", Meaning: "to which side of the aim the ball sets off",
			Putts: &Words{Cell: "Start line", Paper: "Start line", Meaning: "to which side of the aim the putts set off on average"}}},
	{Name: Curve, Unit: "deg", Better: Goal{Way: Toward, Assumed: true},
		In:    in(Scale{0.7, 3}, Scale{0.7, 3}, Scale{0.7, 3}, Scale{0.7, 3}, Scale{0.7, 3}),
		Words: Words{Cell: "Curve", Paper: "Curve", Meaning: "to which side the ball bends on its way, as seen from the tee"}},
	{Name: Offline, Unit: "m", Better: Goal{Way: Toward},
		In:    in(Scale{4, 15}, Scale{4, 13}, Scale{3, 10}, Scale{2.5, 9}, Scale{1.5, 6}),
		Words: Words{Cell: "Offline", Paper: "Offline", Meaning: "how far to one side of the aim the shots come down on average"}},
	{Name: Skid, Unit: "ratio", Better: Goal{Way: Lower, Assumed: true},
		In:    map[Category]Scale{Putter: {0.02, 0.06}},
		Words: Words{Cell: "Skid", Paper: "Skid", Meaning: "the part of a putt's way on which the ball slides before it rolls"}},
	{Name: Direction, Measure: "direction_sd_deg", Putts: "start_sd_deg", Unit: "ln", Better: Goal{Way: Lower},
		First: []Category{Driver, Wood, Putter}, Second: []Category{Hybrid, Iron}, In: spread,
		Words: Words{Cell: "Direction scatter", Paper: "Direction scatter", Meaning: "how far shots spread to the left and right",
			Putts: &Words{Cell: "Start line scatter", Paper: "Start line scatter",
				Meaning: "how far the putts' start lines spread to the left and right"}},
		Fleet: &FleetTerm{Name: "direction", Rank: 1, Short: "direction", Title: "direction (standard deviation of start to finish, in degrees)",
			Of: "deg", Sign: -1, Percent: 5, LeastSD: 0.05}},
	{Name: DistanceControl, Measure: "carry_sd_pct", Putts: "speed_sd_pct", Unit: "ln", Better: Goal{Way: Lower},
		First: []Category{Hybrid, Iron, Wedge}, Second: []Category{Putter}, In: spread,
		Words: Words{Cell: "Carry scatter", Paper: "Distance scatter", Meaning: "how far shots spread short and long",
			Putts: &Words{Cell: "Speed scatter", Paper: "Speed scatter",
				Meaning: "how evenly fast putts of one length leave the face; it is what makes them stop short or long"}},
		Fleet: &FleetTerm{Name: "carry_control", Rank: 2, Short: "carry control",
			Title: "carry control (standard deviation of carry, in percent of carry)", Of: "%", Sign: -1, Percent: 5, LeastSD: 0.05}},
	{Name: Area, Unit: "ln", Better: Goal{Way: Lower},
		In: in(Scale{0.25, 0.45}, Scale{0.25, 0.45}, Scale{0.25, 0.45}, Scale{0.25, 0.45}, Scale{0.25, 0.45}, Scale{0.25, 0.45}),
		Words: Words{Cell: "Area", Paper: "Area", Meaning: "the patch that most shots land in, both ways together",
			Putts: &Words{Cell: "Line and speed", Paper: "Line and speed", Meaning: "how far start lines and speeds spread, both together"}},
		Fleet: &FleetTerm{Name: "area", Rank: 3, Short: "area",
			Title: "area (square root of the determinant of the scatter of carry and offline)", Of: "m²", Sign: -1, Percent: 10, LeastSD: 0.07}},
	{Name: Window, Unit: "windows", Better: Goal{Way: Lower},
		Words: Words{Cell: "Distance to the launch window", Paper: "Distance to the launch window",
			Meaning: "how far a launch lies from the one that carries farthest"},
		Fleet: &FleetTerm{Name: "window", Rank: 5, Short: "distance to the launch window", Title: "distance to the launch window",
			Of: "windows", Sign: -1, Margin: 0.1, Only: []Category{Driver, Wood}}},
}
