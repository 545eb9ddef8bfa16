package visit

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"fairlead/ingest/contract/event"
)

// Kind is all that the program knows of one kind of visit event. Each stands in
// a file of its own, named as the contract names the kind; nothing else of the
// program lists kinds.
type Kind struct {
	Name string // as the contract names it: feel_noted
	// Acts are how a person enters it; none: programs write it by themselves.
	Acts []Act
	// Keeps are the fields of its message that stay when its session is erased.
	// What is not named here goes, whoever adds it.
	Keeps []string
	// Bears says what it changes.
	Bears Bearing
	// Abroad: what it says may be about another bay of the studio.
	Abroad bool
	// Studio: it is a fact of the studio, kept in a bay's log and of no session: no
	// session's end, correction or erasure bears on it.
	Studio bool
	// Apart: it is entered on a page of its own and taken back there. Undo in the bay
	// passes it over, whose hand it may not have been.
	Apart bool

	check func(c *event.Check, ev *event.VisitEvent)            // is it good by itself
	step  func(f *folder, ev *event.VisitEvent)                 // what holds from its time on
	later func(f *folder, ev *event.VisitEvent, said Said)      // what it says of things whenever they were
	trial func(ev *event.VisitEvent) string                     // the trial that it speaks of, which has to be known
	needs need                                                  // what has to hold when it is entered
	fits  func(p *Place, ev *event.VisitEvent) (f *event.Fault) // what the bay's events contradict
	says  func(t *Teller, ev *event.VisitEvent) string          // in words

	number protoreflect.FieldNumber
	body   protoreflect.FieldDescriptor
}

// Bearing says what an event of a kind changes.
type Bearing uint8

// What an event may bear on.
const (
	OnSpan  Bearing = 1 << iota // the tags of what is hit from its time on
	OnShots                     // the tags of the shots that it names
	OnTrial                     // the tags of a whole trial or session, whenever it was
	OnRows                      // rows beside the tags: of trials, of verdicts
	OnPages                     // what pages and papers say, no row
)

// need is what has to hold in the bay when an event is entered.
type need uint8

const (
	needsNothing need = iota
	needsOpen         // a session is open, and it is the event's
	needsTrial        // and a trial runs
	needsPause        // and it is paused
	needsSession      // a session is named that the bay knows
	needsLatest       // the open session or, without one, the bay's latest
)

var (
	kinds  = map[reflect.Type]*Kind{}
	bodies = (&event.VisitEvent{}).ProtoReflect().Descriptor().Oneofs().ByName("body").Fields()
)

// kind registers what is known of a kind. It panics where the contract does not
// know it, or not a field that it keeps.
func kind(k Kind) *Kind {
	k.body = bodies.ByName(protoreflect.Name(k.Name))
	if k.body == nil {
		panic("no kind of visit event in the contract: " + k.Name)
	}
	for _, name := range k.Keeps {
		if k.body.Message().Fields().ByName(protoreflect.Name(name)) == nil {
			panic(fmt.Sprintf("%s has no field %s to keep", k.Name, name))
		}
	}
	k.number = k.body.Number()
	kinds[reflect.TypeOf(k.empty().Body)] = &k
	return &k
}

// empty makes an event of the kind that says nothing.
func (k *Kind) empty() *event.VisitEvent {
	ev := &event.VisitEvent{}
	m := ev.ProtoReflect()
	m.Set(k.body, protoreflect.ValueOfMessage(m.NewField(k.body).Message()))
	return ev
}

// KindOf is what is known of an event's kind; nil for one that this program
// does not know.
func KindOf(ev *event.VisitEvent) *Kind { return kinds[reflect.TypeOf(ev.GetBody())] }

// Kinds lists all kinds in the order of the contract.
func Kinds() []*Kind {
	all := make([]*Kind, 0, len(kinds))
	for _, k := range kinds {
		all = append(all, k)
	}
	slices.SortFunc(all, func(a, b *Kind) int { return int(a.number) - int(b.number) })
	return all
}

// Named is the trial that an event speaks of, empty when it names none. The
// trial that an event begins is not meant.
func Named(ev *event.VisitEvent) string {
	if k := KindOf(ev); k != nil && k.trial != nil {
		return k.trial(ev)
	}
	return ""
}

// Teller knows what words need.
type Teller struct {
	Timeline *Timeline
	Name     func(id string) string // of a person
}

// Says tells in words what an event did.
func (t *Teller) Says(ev *event.VisitEvent) string {
	if k := KindOf(ev); k != nil {
		return k.says(t, ev)
	}
	return "event of a later version"
}

// trial names a trial for people.
func (t *Teller) trial(id string) string {
	if known := t.Timeline.Trial(id); known != nil {
		return fmt.Sprintf("trial %d", known.Number)
	}
	if id == "" {
		return "no trial"
	}
	return "a trial"
}

// says makes words that are the same for every event of a kind.
func says(words string) func(*Teller, *event.VisitEvent) string {
	return func(*Teller, *event.VisitEvent) string { return words }
}

// spaced is the word of an enumeration for people: full effort.
func spaced(name, prefix string) string {
	return strings.ReplaceAll(strings.ToLower(strings.TrimPrefix(name, prefix)), "_", " ")
}

func shotCount(n int) string { return counted(n, "shot") }

// counted is so many of what has a plural in s.
func counted(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

func nonEmpty(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}
