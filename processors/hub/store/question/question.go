// Package question holds what is asked of the store across players, one file a
// question: SQL in which {{…}} are numbers of fields, attributes of builds and the
// caller's narrowing, so that a table of the contract is named once.
package question

import (
	"embed"
	"fmt"
	"regexp"
	"strings"
	"text/template"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/flight"
)

//go:embed *.sql
var files embed.FS

var questions = template.Must(template.New("").Option("missingkey=error").Funcs(template.FuncMap{
	"field": field, "mean": mean, "shift": shift, "flex": flex, "traits": traits, "attributes": attributes,
	"names": names, "spans": spans, "floats": floats, "measures": measures, "present": present,
}).ParseFS(files, "*.sql"))

// asked is what callers put into a question.
type asked struct {
	Snapshot               uint64
	Where                  string // conditions; of profiles and trials each followed by AND
	Profiles               string // a select
	Player                 string // as whom a trial's player is told of
	LeastShots, Describing int
	Days                   int
	Measured               bool
	Resolution             float64

	Table, From, Columns, Order, Choice string // as they stand in SQL
	Builds, After                       string // literals
	Parameter                           string // name of a parameter
	Most, Least                         int
}

// text writes a question. The files are the program's own: what can't be written
// is a fault of the program, which its tests find.
func text(file string, a asked) string {
	var b strings.Builder
	if err := questions.ExecuteTemplate(&b, file, a); err != nil {
		panic(err)
	}
	return strings.TrimSuffix(notes.ReplaceAllString(b.String(), ""), "\n")
}

// notes are the lines that say to the reader of a file what it asks.
var notes = regexp.MustCompile(`(?m)^--.*\n`)

// present is the condition that no other flight model than the program's had a part in
// a row of entries or trials.
func present() string { return "flight_model IN ('', '" + flight.Stamp() + "')" }

// field is the number of a field in trials.fields.
func field(name string) (int32, error) {
	n, ok := event.Field_value["FIELD_"+name]
	if !ok {
		return 0, fmt.Errorf("no field %s", name)
	}
	return n, nil
}

func mean(name string) (string, error) {
	n, err := field(name)
	return fmt.Sprintf("mean_of(%d)", n), err
}
