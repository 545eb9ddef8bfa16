package order

import (
	"fmt"
	"slices"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
)

// RulesAsOf is the edition of the rules of golf and of the equipment rules that
// the reminder below knows.
const RulesAsOf = "January 2023"

const (
	longest   = 48 * club.Inch // equipment rules: no club but a putter may be longer
	shortest  = 18 * club.Inch // equipment rules: no club may be shorter
	localCap  = 46 * club.Inch // a model local rule that a committee may set, putters excepted
	mostClubs = 14             // rule 4.1b
)

// Reminder is what to ask the rules bodies about before a player competes.
type Reminder struct {
	Club string
	Text string
	Over bool // a measured figure is beyond a limit
}

// Conformity reminds of the limits that a bench can measure, as of RulesAsOf. It
// is no ruling: the rules bodies' current rules and lists decide. owned is how
// many clubs the player carries beside those ordered, less those replaced;
// negative: not known.
func Conformity(rows []Row, owned int) (out []Reminder) {
	add := func(name string, over bool, format string, args ...any) {
		out = append(out, Reminder{name, fmt.Sprintf(format, args...), over})
	}
	for _, r := range rows {
		length, ok := r.Number(Length)
		switch {
		case !ok:
		case length < shortest:
			add(r.Name, true, "%s is shorter than 18 in, the least that the rules allow.", say(Length, length))
		case r.Category == glossary.Putter:
		case length > longest:
			add(r.Name, true, "%s is longer than 48 in, the most that the rules allow.", say(Length, length))
		case length > localCap:
			add(r.Name, true, "%s is longer than 46 in: a committee may forbid it by local rule.", say(Length, length))
		}
	}
	if len(rows) > mostClubs || owned >= 0 && owned+len(rows) > mostClubs {
		add("", true, "With this order the bag holds %d clubs; a round is begun with at most fourteen.", max(owned, 0)+len(rows))
	} else if owned < 0 {
		add("", false, "At most fourteen clubs start a round: count those that stay in the bag.")
	}
	add("", false, "%s can’t be judged at this bench: look the head up in the rules bodies’ list, and ask the maker for the grip.",
		unjudged(rows))
	return out
}

// unjudged are the properties that a bench can't measure and that the rules bound
// for clubs like these.
func unjudged(rows []Row) string {
	var out []string
	has := func(cs ...glossary.Category) bool {
		return slices.ContainsFunc(rows, func(r Row) bool { return slices.Contains(cs, r.Category) })
	}
	if has(glossary.Driver, glossary.Wood, glossary.Hybrid) {
		out = append(out, "head volume (460 cm³, 10 cm³ of tolerance)", "spring effect")
	}
	if has(glossary.Wood, glossary.Hybrid, glossary.Iron, glossary.Wedge) {
		out = append(out, "grooves")
	}
	if has(glossary.Putter) {
		out = append(out, "the shape of the head")
	}
	text := "grips"
	if len(out) > 0 {
		text = strings.Join(out, ", ") + " and grips"
	}
	return strings.ToUpper(text[:1]) + text[1:]
}
