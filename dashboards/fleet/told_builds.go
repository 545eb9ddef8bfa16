package fleet

import (
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"fairlead/processors/ask/answers"
)

// Tried is a build that the fleet tried.
type Tried struct {
	Key     string `json:"build"`
	Name    string `json:"name"`
	Players uint64 `json:"players"`
	Trials  uint64 `json:"trials"`
}

// Builds is a list of builds that the fleet tried.
type Builds []Tried

// ListBuilds makes the list.
func ListBuilds(builds []answers.Build) Builds {
	out := Builds{}
	for _, b := range builds {
		out = append(out, Tried{b.Key, b.Name, b.Players, b.Trials})
	}
	return out
}

// WriteCSV writes a row for each build.
func (l Builds) WriteCSV(w io.Writer) error {
	var rows [][]string
	for _, b := range l {
		rows = append(rows, []string{b.Key, b.Name, strconv.FormatUint(b.Players, 10), strconv.FormatUint(b.Trials, 10)})
	}
	return writeCSV(w, []string{"build", "name", "players", "trials"}, rows)
}

// WriteText writes a line for each build.
func (l Builds) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "build\tname\tplayers\ttrials")
	for _, b := range l {
		fmt.Fprintf(t, "%s\t%s\t%d\t%d\n", b.Key, b.Name, b.Players, b.Trials)
	}
	return t.Flush()
}
