package main

import (
	"slices"
	"strings"
	"testing"

	"fairlead/cmd/frame"
)

// Too many arguments are wrong use of every command, exit code 2, but of those
// that take as many as there are.
func TestTooManyArgumentsAreWrongUse(t *testing.T) {
	many := []string{"club cautions", "feed guess", "feed try"}
	words := strings.Fields("one two three four five six seven eight nine")
	for _, path := range commandPaths(newRoot(), nil) {
		c, _, err := newRoot().Find(path)
		if err != nil {
			t.Fatal(path, err)
		}
		name := strings.Join(path, " ")
		switch err := c.Args(c, words); {
		case err == nil && !slices.Contains(many, name) && path[0] != "visit":
			t.Errorf("%s takes nine arguments", name)
		case err != nil && !frame.IsUse(err):
			t.Errorf("%s: %v is no wrong use", name, err)
		}
	}
}
