package sheet

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
)

// RecordsBeside is what a map calls records whose columns are a list each, beside
// one another in an object.
const RecordsBeside = "@lists"

// BesideOf is how many shots an object has that holds a list for each column: as
// many as at least three of its lists, or four fifths of them, are long; 0 where
// it is none.
func BesideOf(object map[string]any) int {
	lengths, all := map[int]int{}, 0
	count(object, lengths, &all)
	best := 0
	for n, times := range lengths {
		if n > 1 && (times > lengths[best] || times == lengths[best] && n > best) {
			best = n
		}
	}
	if lengths[best] < 3 || lengths[best]*5 < all*4 {
		return 0
	}
	return best
}

// count counts the lists of plain values by their length.
func count(v map[string]any, lengths map[int]int, all *int) {
	for _, inner := range v {
		switch inner := inner.(type) {
		case map[string]any:
			count(inner, lengths, all)
		case []any:
			*all++
			if !slices.ContainsFunc(inner, func(item any) bool { _, is := item.(map[string]any); return is }) {
				lengths[len(inner)]++
			}
		}
	}
}

// Beside is the kth shot of n: of each list of that length its value; what stands
// once beside the lists is left out unless all is wanted, for it may change (how
// many there are, when it was written) and is no part of the shot.
func Beside(object map[string]any, n, k int, all bool) map[string]any {
	out := map[string]any{}
	for key, v := range object {
		switch v := v.(type) {
		case map[string]any:
			if inner := Beside(v, n, k, all); len(inner) > 0 {
				out[key] = inner
			}
		case []any:
			if len(v) == n {
				out[key] = v[k]
			}
		default:
			if all {
				out[key] = v
			}
		}
	}
	return out
}

// Unfold writes a file of such objects as one object a shot, a line each. Of what
// stands once beside the lists it keeps what keep says, by its path.
func Unfold(in io.Reader, keep [][]string) ([]byte, error) {
	d := json.NewDecoder(in)
	d.UseNumber()
	var out bytes.Buffer
	for {
		var object map[string]any
		if err := d.Decode(&object); errors.Is(err, io.EOF) {
			return out.Bytes(), nil
		} else if err != nil {
			return nil, fmt.Errorf("is not whole JSON with a list for each column: %w", err)
		}
		n, err := lengthOf(object, keep)
		if err != nil {
			return nil, err
		}
		for k := range n {
			shot := Beside(object, n, k, false)
			for _, path := range keep {
				put(shot, object, path)
			}
			line, err := json.Marshal(shot)
			if err != nil {
				return nil, fmt.Errorf("write a shot anew: %w", err)
			}
			out.Write(append(line, '\n'))
		}
	}
}

// lengthOf is how many shots an object has: as many as each of the lists that the
// paths lead to is long.
func lengthOf(object map[string]any, paths [][]string) (int, error) {
	n := -1
	for _, path := range paths {
		var at any = object
		for _, key := range path {
			inner, _ := at.(map[string]any)
			at = inner[key]
		}
		list, ok := at.([]any)
		if !ok {
			continue
		}
		if n >= 0 && len(list) != n {
			return 0, fmt.Errorf("has lists of %d and of %d values, so that nothing says which belong to one shot", n, len(list))
		}
		n = len(list)
	}
	if n < 0 {
		return 0, errors.New("has none of the map's columns as a list: the records of this map are " + RecordsBeside)
	}
	return n, nil
}

// put copies one plain value from an object to another.
func put(to, from map[string]any, path []string) {
	switch v := from[path[0]].(type) {
	case map[string]any:
		if len(path) < 2 {
			return
		}
		inner, _ := to[path[0]].(map[string]any)
		if inner == nil {
			inner = map[string]any{}
			to[path[0]] = inner
		}
		put(inner, v, path[1:])
	case []any, nil:
	default:
		if len(path) == 1 {
			to[path[0]] = v
		}
	}
}
