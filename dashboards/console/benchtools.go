package console

import (
	"errors"
	"io"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/flight/window"
	"fairlead/processors/golf/impact"
)

// benchTools are the tools of the bench.
func benchTools() []benchTool {
	length, mass, angle := unit.Length, unit.Mass, unit.Angle
	return []benchTool{
		{Name: "swingweight", Title: "Swing weight", Command: "fairlead club swingweight",
			About: "Swing weight, balance and inertia of a club by its parts; what a change does; how to reach a target.",
			Fields: []toolField{{Name: "length", Label: "Playing length", Quantity: length}, {Name: "head", Label: "Head", Quantity: mass},
				{Name: "shaft", Label: "Shaft, as cut", Quantity: mass}, {Name: "grip", Label: "Grip with tape", Quantity: mass},
				{Name: "add_head", Label: "Change of the head", Quantity: mass}, {Name: "add_grip", Label: "Change of the grip", Quantity: mass},
				{Name: "add_length", Label: "Change of length", Quantity: length}, {Name: "to", Label: "Wanted, such as D3"}}, tell: tellHeft},
		{Name: "ladder", Title: "Length ladder", Command: "fairlead club ladder",
			About: "Lengths through a set from the clubs that were fitted, with heads matched to them.",
			Fields: []toolField{{Name: "fit", Label: "Fitted: CLUB=LENGTH, one a line", Long: true},
				{Name: "measured", Label: "Measured: CLUB=LENGTH, one a line", Long: true},
				{Name: "match", Label: "Match heads by", Choices: []string{"", "swingweight", "inertia"}},
				{Name: "head", Label: "Head of the 7-iron", Quantity: mass, Default: "270g"},
				{Name: "shaft", Label: "Its shaft", Quantity: mass, Default: "115g"},
				{Name: "grip", Label: "Its grip", Quantity: mass, Default: "50g"}},
			tell: tellLadder},
		{Name: "error", Title: "Length and lie", Command: "fairlead club error",
			About: "What a wrong lie or loft does at the target.",
			Fields: []toolField{{Name: "loft", Label: "Loft as delivered", Quantity: angle},
				{Name: "lie_error", Label: "Lie off by, upright positive", Quantity: angle},
				{Name: "loft_error", Label: "Loft off by, weak positive", Quantity: angle}, {Name: "carry", Label: "Carry", Quantity: length},
				{Name: "left", Label: "left-handed", Yes: true}}, tell: tellError},
		{Name: "check", Title: "Finished clubs", Command: "fairlead club check",
			About: "Measured figures against ordered ones, within tolerances.",
			Fields: []toolField{{Name: "rows", Label: "Lines of club,figure,wanted,built", Long: true},
				{Name: "tolerance", Label: "Own tolerances, such as lie=1.5deg, one a line", Long: true}}, tell: tellCheck},
		{Name: "window", Title: "Launch window", Command: "fairlead window",
			About: "The launch and spin that suit a ball speed and attack angle, computed by models: check a change by hitting it.",
			Fields: []toolField{{Name: "ball_speed", Label: "Ball speed", Quantity: unit.Speed},
				{Name: "attack", Label: "Attack angle", Quantity: angle},
				{Name: "launch", Label: "Launch now", Quantity: angle}, {Name: "spin", Label: "Spin now", Quantity: unit.Rotation},
				{Name: "goal", Label: "Goal", Choices: []string{"carry", "green"}},
				{Name: "category", Label: "Club", Choices: []string{"driver", "wood", "hybrid", "iron", "wedge"}}}, tell: tellWindow},
		{Name: "impact", Title: "Impact", Command: "fairlead impact",
			About: "Launch and spin from how the club met the ball, computed by models.",
			Fields: []toolField{{Name: "head_speed", Label: "Clubhead speed", Quantity: unit.Speed},
				{Name: "dynamic_loft", Label: "Dynamic loft", Quantity: angle}, {Name: "attack", Label: "Attack angle", Quantity: angle},
				{Name: "path", Label: "Club path", Quantity: angle}, {Name: "face", Label: "Face angle", Quantity: angle},
				{Name: "strike_x", Label: "Strike toward the toe", Quantity: length},
				{Name: "strike_y", Label: "Strike above the centre", Quantity: length},
				{Name: "category", Label: "Head", Choices: append([]string{impact.PlainHead}, glossary.CategoryNames()...)},
				{Name: "left", Label: "left-handed", Yes: true}}, tell: tellImpact},
	}
}

func tellHeft(b *benchAsked) (func(io.Writer) error, error) {
	length, head, shaft, grip := b.value("length"), b.value("head"), b.value("shaft"), b.value("grip")
	addHead, addGrip, addLength := b.value("add_head"), b.value("add_grip"), b.value("add_length")
	changed := unit.AnyGiven(addHead, addGrip, addLength)
	out, err := club.TellHeft(club.Club{Length: length.V, HeadMass: head.V, ShaftMass: shaft.V, ShaftBalance: 0.5, GripMass: grip.V,
		GripCentre: 4 * club.Inch}, club.Change{Head: addHead.V, Grip: addGrip.V, Length: addLength.V}, changed, b.text("to"))
	return out.WriteText, err
}

func tellLadder(b *benchAsked) (func(io.Writer) error, error) {
	q := club.LadderQuestion{Match: club.MatchBy(b.text("match")), Tolerance: club.Inch / 16,
		Model: club.Club{HeadMass: b.value("head").V, ShaftMass: b.value("shaft").V, GripMass: b.value("grip").V}}
	var err error
	if q.Spec.Lengths, err = club.ParseLengths(strings.Fields(b.text("fit"))); err != nil {
		return nil, err
	}
	if q.Measured, err = club.ParseLengths(strings.Fields(b.text("measured"))); err != nil {
		return nil, err
	}
	out, err := club.TellLadder(q)
	return out.WriteText, err
}

func tellError(b *benchAsked) (func(io.Writer) error, error) {
	lie, loft := b.value("lie_error"), b.value("loft_error")
	if !lie.Given && !loft.Given {
		return nil, errors.New("say by how much the lie or the loft is off")
	}
	out, err := club.Fault{Loft: b.value("loft").V, LieError: lie.V, LoftError: loft.V, Carry: b.value("carry").V,
		Left: b.text("left") != ""}.Tell()
	return func(w io.Writer) error { return out.WriteText(w, b.show) }, err
}

func tellCheck(b *benchAsked) (func(io.Writer) error, error) {
	tolerances, err := club.ParseTolerances(strings.Fields(b.text("tolerance")))
	if err != nil {
		return nil, err
	}
	rows := b.text("rows")
	if !strings.HasPrefix(rows, "club,") {
		rows = "club,figure,wanted,built\n" + rows
	}
	out, err := club.ReadFinished(strings.NewReader(rows), "your lines", tolerances)
	return func(w io.Writer) error { return club.WriteFinished(w, out) }, err
}

func tellWindow(b *benchAsked) (func(io.Writer) error, error) {
	a := window.Asked{BallSpeed: b.value("ball_speed"), Attack: b.value("attack"), Launch: b.value("launch"), Spin: b.value("spin"),
		Carry: unit.NewValue(unit.Length, 0), Goal: nonEmpty(b.text("goal"), "carry"), Category: nonEmpty(b.text("category"), "driver")}
	conditions, err := flight.NewWeather().Conditions()
	if err != nil {
		return nil, err
	}
	out, err := a.Find(conditions)
	if err != nil {
		return nil, err
	}
	return out.WriteText, nil
}

func tellImpact(b *benchAsked) (func(io.Writer) error, error) {
	a := impact.Asked{HeadSpeed: b.value("head_speed"), Attack: b.value("attack"), DynamicLoft: b.value("dynamic_loft"),
		Path: b.value("path"), Face: b.value("face"), StrikeX: b.value("strike_x"), StrikeY: b.value("strike_y"),
		Left: b.text("left") != "", Head: impact.NewWrittenHead()}
	a.Head.Category = nonEmpty(b.text("category"), impact.PlainHead)
	conditions, err := flight.NewWeather().Conditions()
	if err != nil {
		return nil, err
	}
	out, err := a.Strike(conditions)
	if err != nil {
		return nil, err
	}
	return out.WriteText, nil
}
