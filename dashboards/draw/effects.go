package draw

import (
	"math"

	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// Effects draws an answer's effects for players who differ in one trait; with no
// trait for the average player alone. link, which may be nil, says where an
// attribute's numbers lead.
func Effects(s *answers.Stored, trait string, link func(attribute string) string) (*Picture, error) {
	var rows []Row
	row := func(e fleet.Effect, label string) {
		x := s.Show(e)
		r := Row{Group: e.Step, Label: label, Value: x.Value, Low: x.Low, High: x.High, PILow: x.PILow, PIHigh: x.PIHigh, Kind: e.Kind(),
			Says: e.Text(), Players: e.Players, Pairs: e.Sessions}
		if link != nil {
			r.Link = link(e.Attribute)
		}
		rows = append(rows, r)
	}
	if trait == "" {
		effects, err := s.Answer.Effects(fleet.Person{})
		if err != nil {
			return nil, err
		}
		for _, e := range effects {
			if e.Attribute != "" && e.Trait == "" {
				row(e, "average player")
			}
		}
	} else {
		cells, err := s.Cells(trait, answers.Profiles)
		if err != nil {
			return nil, err
		}
		for _, c := range cells {
			row(c.Effect, answers.TraitTitle(trait)+" "+answers.TraitText(trait, c.At))
		}
	}
	return Forest(s.Title(), s.Unit(), s.Answer.Outcome.Better, s.Margin(), rows), nil
}

// EffectsOver draws one step of every attribute over a trait, with links as in Effects.
func EffectsOver(s *answers.Stored, trait string, link func(attribute string) string) (*Picture, error) {
	cells, err := s.Cells(trait, answers.MapAt)
	if err != nil {
		return nil, err
	}
	var rows, columns []string
	var grid [][]Cell
	for i, c := range cells {
		if i < len(answers.MapAt) {
			columns = append(columns, answers.TraitText(trait, c.At))
		}
		if i%len(answers.MapAt) == 0 {
			rows, grid = append(rows, c.Effect.Step), append(grid, nil)
		}
		x := s.Show(c.Effect)
		cell := Cell{Value: x.Value, Low: x.Low, High: x.High, Kind: c.Effect.Kind(), Says: c.Effect.Text()}
		if half := (x.High - x.Low) / 2; half > 0 {
			cell.Sure = math.Abs(x.Value) / (2 * half)
		}
		if link != nil {
			cell.Link = link(c.Attribute)
		}
		grid[len(grid)-1] = append(grid[len(grid)-1], cell)
	}
	return Map(s.Title(), s.Unit(), answers.TraitTitle(trait), rows, columns, grid, 2*s.Margin()), nil
}
