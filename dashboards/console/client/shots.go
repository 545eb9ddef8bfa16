package client

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/rolling"
)

// shotIDs turns arguments into shot ids: an id as `fairlead tail` and `visit
// show --json` print it, or a shot's number in the session, or a range of them.
// Numbers are looked up now, and the event names ids.
func (v *Client) shotIDs(ctx context.Context, args []string) ([]string, error) {
	var state *rolling.State
	var out []string
	for _, a := range args {
		if id, err := event.ParseShotID(a); err == nil {
			out = append(out, id.String())
			continue
		}
		from, to, err := numberRange(a)
		if err != nil {
			return nil, err
		}
		if state == nil {
			if state, _, err = v.State(ctx); err != nil {
				return nil, err
			}
		}
		for n := from; n <= to; n++ {
			i := slices.IndexFunc(state.Shots, func(s rolling.ShotRow) bool { return s.Number == n })
			if i < 0 {
				return nil, fmt.Errorf("no shot %d in the session: `fairlead visit show` lists them", n)
			}
			out = append(out, state.Shots[i].ID)
		}
	}
	return out, nil
}

func numberRange(a string) (from, to int, err error) {
	bad := fmt.Errorf("%q is neither a shot id nor a shot's number in the session, such as 12 or 12-14", a)
	for i := 1; i < len(a); i++ {
		if a[i] == '-' {
			from, err1 := strconv.Atoi(a[:i])
			to, err2 := strconv.Atoi(a[i+1:])
			if err1 != nil || err2 != nil || from < 1 || to < from || to-from > 2000 {
				return 0, 0, bad
			}
			return from, to, nil
		}
	}
	if from, err = strconv.Atoi(a); err != nil || from < 1 {
		return 0, 0, bad
	}
	return from, from, nil
}
