package window

import (
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

// Asked is a player and a goal as somebody writes them down.
type Asked struct {
	BallSpeed, Attack *unit.Value
	Launch, Spin      *unit.Value // present ones, where known
	Carry             *unit.Value // wanted, for Green
	Category, Goal    string
}

// Find computes the window. Whatever is wrong but ErrOutOfReach another command
// line mends.
func (a *Asked) Find(c flight.Conditions) (*Window, error) {
	switch {
	case !a.BallSpeed.Given:
		return nil, &flight.AskedError{Reason: "a window needs --ball-speed"}
	case a.Launch.Given != a.Spin.Given:
		return nil, &flight.AskedError{Reason: "the present launch needs both --launch and --spin"}
	case a.Category == string(glossary.Putter):
		return nil, &flight.AskedError{Reason: "a putter has no launch window: use driver, wood, hybrid, iron or wedge"}
	case a.Carry.Given && a.Goal != string(Green):
		return nil, &flight.AskedError{Reason: "--carry is for --goal green"}
	}
	return Find(Player{
		BallSpeed: a.BallSpeed.V, Attack: a.Attack.V, Category: a.Category,
		Launch: a.Launch.V, Spin: a.Spin.V, WantedCarry: a.Carry.V,
	}, Goal(a.Goal), c)
}
