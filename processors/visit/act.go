package visit

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

// Act is one way in which a person enters an event: a form of the page, a
// subcommand, both read by the same reader.
type Act struct {
	Name    string // of the form and of the subcommand
	Short   string // one line of help
	Example string // of the subcommand, as printed after `fairlead visit`
	Fields  []Field
	Page    bool // a form only, no subcommand

	read func(r *Reader, ev *event.VisitEvent)
}

// Field is one thing that is asked for.
type Field struct {
	Name     string        // of the form's field, and with '-' for '_' of the flag
	Flag     string        // of the flag, where it is another
	Help     string        // for the command line
	Default  string        // of the flag
	Choices  []string      // words that it may be; nil: any
	Quantity unit.Quantity // of a number with a unit; empty: words
	Yes      bool          // yes or no
	Many     bool          // may be given more than once
	Shots    bool          // ids of shots
	Arg      int           // place among the command's arguments, from 1; 0: a flag
	Word     string        // the argument in the command's usage; empty: its name
	Rest     bool          // takes the arguments from its place on
	Optional bool          // an argument that may be left out
}

// Acts lists all ways to enter events, in the order of the contract.
func Acts() (all []Act) {
	for _, k := range Kinds() {
		all = append(all, k.Acts...)
	}
	return all
}

// words are those of an enumeration for people, in the order of their numbers:
// full-effort for INTENT_FULL_EFFORT.
func words(prefix string, names map[int32]string) []string {
	out := make([]string, len(names))
	for n, name := range names {
		out[n] = strings.ReplaceAll(strings.ToLower(strings.TrimPrefix(name, prefix)), "_", "-")
	}
	return out
}

// Input is what was entered, by the names of the fields: a posted form, or the
// flags of a command.
type Input map[string][]string

// Reader turns what was entered into an event, and collects what is wrong.
type Reader struct {
	In     Input
	Place  *Place
	Faults []*event.Fault
}

// Read turns what was entered into an event of a bay. It is not completed nor
// validated; where there are faults, it is not to be used.
func Read(act string, in Input, at *Place) (*event.VisitEvent, []*event.Fault) {
	r := &Reader{In: in, Place: at}
	ev := &event.VisitEvent{}
	if r.showing(); len(r.Faults) > 0 {
		return ev, r.Faults
	}
	for _, a := range Acts() {
		if a.Name == act {
			a.read(r, ev)
			return ev, r.Faults
		}
	}
	r.Bad("act", act, "not known", "reload the page")
	return ev, r.Faults
}

// showing refuses signs that do not show but turn the direction of writing: what is
// read would not be what was entered. Events that are stored keep theirs.
func (r *Reader) showing() {
	for _, name := range slices.Sorted(maps.Keys(r.In)) {
		for _, text := range r.In[name] {
			if strings.ContainsFunc(text, func(c rune) bool { return unicode.Is(unicode.Bidi_Control, c) }) {
				r.Bad(name, strconv.QuoteToASCII(text), "holds signs that turn the direction of writing", "write it again without them")
			}
		}
	}
}

// Bad notes a fault of a field.
func (r *Reader) Bad(field, value, reason, hint string) {
	r.Faults = append(r.Faults, event.NewFault(field, value, reason, hint))
}

// Text is what was entered in a field; empty when nothing was.
func (r *Reader) Text(name string) string {
	if all := r.In[name]; len(all) > 0 {
		return strings.TrimSpace(all[0])
	}
	return ""
}

// Texts are all entries of a field that may be given more than once.
func (r *Reader) Texts(name string) (all []string) {
	for _, text := range r.In[name] {
		if text = strings.TrimSpace(text); text != "" {
			all = append(all, text)
		}
	}
	return all
}

// Yes says whether a field was ticked.
func (r *Reader) Yes(name string) bool {
	text := r.Text(name)
	return text != "" && text != "no" && text != "false"
}

// instant reads Unix nanoseconds; absent gives 0.
func (r *Reader) instant(name string) int64 {
	text := r.Text(name)
	if text == "" {
		return 0
	}
	at, err := strconv.ParseInt(text, 10, 64)
	if err != nil || at <= 0 {
		r.Bad(name, text, "is no time in Unix nanoseconds", "take one that was offered, or leave it out")
	}
	return at
}

// number reads a quantity as the parts of a club are read: with its unit, or bare in that
// of the field; absent gives nil.
func (r *Reader) number(name string, q unit.Quantity) *float64 {
	text := r.Text(name)
	if text == "" {
		return nil
	}
	f := club.Figure{Name: name, Quantity: q, Was: new(float64), Min: math.Inf(-1), Max: math.Inf(1)}
	if r.Place.Shown != nil {
		f.Prefer = r.Place.Shown(name, q)
	}
	v, err := club.ParseFigure(text, f)
	if err != nil {
		if _, plain := unit.Parse(q, text); plain != nil {
			err = plain // its examples are of this quantity, not of a club's
		}
		r.Bad(name, text, "can't be read", err.Error())
		return nil
	}
	return &v
}

// choice reads a word of an enumeration, 'keep_gamer' or 'keep-gamer' for
// VERDICT_KEEP_GAMER. Where nothing was entered it gives otherwise, or, where
// that is negative, notes that something has to be.
func (r *Reader) choice(name, prefix string, values map[string]int32, otherwise int32) int32 {
	text := r.Text(name)
	if text == "" && otherwise >= 0 {
		return otherwise
	}
	return r.wordOf(name, text, prefix, values)
}

func (r *Reader) wordOf(name, text, prefix string, values map[string]int32) int32 {
	if v, ok := values[prefix+strings.ToUpper(strings.ReplaceAll(text, "-", "_"))]; ok {
		return v
	}
	names := map[int32]string{}
	for n, v := range values {
		names[v] = n
	}
	r.Bad(name, text, "not known", "use "+strings.Join(words(prefix, names), ", "))
	return 0
}

// shots are the named ones, at least one.
func (r *Reader) shots() [][]byte {
	ids := r.someShots()
	if len(ids) == 0 && len(r.Faults) == 0 {
		r.Bad("shots", "", "none is named", "tap the shots in the list first, or name them")
	}
	return ids
}

func (r *Reader) someShots() (ids [][]byte) {
	for _, text := range r.Texts("shot") {
		id, err := event.ParseShotID(text)
		if err != nil {
			r.Bad("shot", text, "is no shot id", "tap the shots again")
			continue
		}
		ids = append(ids, slices.Clone(id[:]))
	}
	return ids
}

// buildOf is the build of a trial as it is known now; nil for no trial.
func (r *Reader) buildOf(field, trial string) *event.Build {
	if trial == "" {
		return nil
	}
	t := r.Place.Timeline.Trial(trial)
	if t == nil {
		r.Bad(field, trial, "is no trial of bay "+r.Place.Bay, "choose one of the list; `fairlead visit show` names them")
		return nil
	}
	return t.Build
}

// Title is what a field is called on the command line.
func (f Field) Title() string {
	switch {
	case f.Word != "":
		return f.Word
	case f.Flag != "":
		return f.Flag
	case f.Arg > 0 && len(f.Choices) > 0:
		return strings.Join(f.Choices, "|")
	case f.Arg > 0:
		return strings.ToUpper(f.Name)
	}
	return strings.ReplaceAll(f.Name, "_", "-")
}

// Usage is the act as a subcommand: its name and arguments.
func (a Act) Usage() string {
	out := a.Name
	for _, f := range a.Arguments() {
		word := f.Title()
		if f.Rest && f.Shots {
			word += "..."
		}
		if f.Optional {
			word = "[" + word + "]"
		}
		out += " " + word
	}
	return out
}

// Arguments are the fields that are arguments of the subcommand, in order.
func (a Act) Arguments() (args []Field) {
	for _, f := range a.Fields {
		if f.Arg > 0 {
			args = append(args, f)
		}
	}
	slices.SortFunc(args, func(x, y Field) int { return x.Arg - y.Arg })
	return args
}

// Fill puts the subcommand's arguments into its fields.
func (a Act) Fill(in Input, args []string) error {
	fields := a.Arguments()
	for i, f := range fields {
		if i >= len(args) {
			if !f.Optional {
				return fmt.Errorf("%s is missing", f.Title())
			}
			return nil
		}
		switch {
		case f.Rest && (f.Shots || f.Many):
			in[f.Name] = append(in[f.Name], args[i:]...)
			return nil
		case f.Rest:
			in[f.Name] = []string{strings.Join(args[i:], " ")}
			return nil
		}
		in[f.Name] = []string{args[i]}
	}
	if len(args) > len(fields) {
		return fmt.Errorf("%q is one argument too many", args[len(fields)])
	}
	return nil
}
