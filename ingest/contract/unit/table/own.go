package table

import (
	"slices"
	"strings"
)

// own says of the program's own export of shots which of its rows count: such a
// file has a shot's id and its status, and holds every entry.
type own struct{ status int }

// ownOf looks for the columns of an export; of other tables every row counts.
func ownOf(header []string) own {
	at := func(name string) int {
		return slices.IndexFunc(header, func(h string) bool { return strings.TrimSpace(strings.TrimPrefix(h, "\ufeff")) == name })
	}
	if at("shot_id") < 0 {
		return own{-1}
	}
	return own{at("status")}
}

// counts says whether a row counts; why not is its status.
func (o own) counts(record []string) (yes bool, status string) {
	if o.status < 0 || o.status >= len(record) {
		return true, ""
	}
	status = strings.TrimSpace(record[o.status])
	return status == "counts" || status == "", status
}

// absent is how the store writes what is not known.
const absent = `\N`
