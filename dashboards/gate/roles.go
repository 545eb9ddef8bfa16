package gate

import (
	"fmt"
	"slices"
	"strings"
)

// Role is what a person does in the studio.
type Role string

// The roles.
const (
	Guest    Role = "guest"    // a screen or visitor: a bay's picture, no names
	Fitter   Role = "fitter"   // bays, players, papers, orders
	Workshop Role = "workshop" // orders and build sheets
	Analyst  Role = "analyst"  // the fleet, by pseudonym
	Manager  Role = "manager"  // all of these, accounts, devices, the trail, erasing
	Ops      Role = "ops"      // the watch: whether everything runs
)

// Roles lists them all.
var Roles = []Role{Guest, Fitter, Workshop, Analyst, Manager, Ops}

// ParseRoles reads roles that are written with commas or blanks between them.
func ParseRoles(text string) ([]Role, error) {
	var out []Role
	for _, word := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return r == ',' || r == ' ' }) {
		if !slices.Contains(Roles, Role(word)) {
			return nil, fmt.Errorf("role %q: use %s", word, joined(Roles))
		}
		if !slices.Contains(out, Role(word)) {
			out = append(out, Role(word))
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("no role is named: use %s", joined(Roles))
	}
	return out, nil
}

func joined(roles []Role) string {
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = string(r)
	}
	return strings.Join(words, ", ")
}

// homes is where a role begins.
var homes = map[Role]string{Manager: "/", Fitter: "/", Workshop: "/orders/", Analyst: "/fleet/", Ops: "/ops", Guest: "/gate/home"}

// homeOf is where a person with these roles begins.
func homeOf(roles []Role) string {
	for _, r := range []Role{Manager, Fitter, Workshop, Ops, Analyst} {
		if slices.Contains(roles, r) {
			return homes[r]
		}
	}
	return homes[Guest]
}
