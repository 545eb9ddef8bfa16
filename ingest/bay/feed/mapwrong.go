package feed

import (
	"cmp"
	"errors"
	"slices"
	"strings"
)

// wrongs gathers what is wrong with a map. What was found is read as if it were
// not there, and the rest is looked at again, until nothing more is found.
type wrongs struct {
	without map[string]bool // shared with the nodes, see node
	said    []*MapError
}

// take notes errors. It returns false where looking again finds nothing new:
// nothing of the map can be left out for them.
func (w *wrongs) take(err error) (again bool) {
	for _, e := range flat(err) {
		if w.without[e.Key] {
			continue // what is missing was left out because it is wrong
		}
		if !w.follows(e) {
			w.said = append(w.said, e)
		}
		if e.Key != "" && e.Line > 0 {
			w.without[e.Key], again = true, true
		}
	}
	return again
}

// follows says whether an error is of something that lacks a part only because
// the part was wrong itself.
func (w *wrongs) follows(e *MapError) bool {
	for key := range w.without {
		if e.Key == "" || strings.HasPrefix(key, e.Key+".") {
			return true
		}
	}
	return false
}

// joined is one error of all, in the order of the file.
func (w *wrongs) joined() error {
	slices.SortStableFunc(w.said, func(a, b *MapError) int { return cmp.Compare(a.Line, b.Line) })
	var all []error
	for _, e := range w.said {
		all = append(all, e)
	}
	if len(all) == 1 {
		return all[0]
	}
	return errors.Join(all...)
}

// flat lists the map errors within a joined one.
func flat(err error) (out []*MapError) {
	if several, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range several.Unwrap() {
			out = append(out, flat(e)...)
		}
		return out
	}
	if e, ok := err.(*MapError); ok {
		out = append(out, e)
	}
	return out
}
