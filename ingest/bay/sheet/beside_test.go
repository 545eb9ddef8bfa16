package sheet

import (
	"strings"
	"testing"
)

// TestUnfold: lists beside one another are as many shots as they are long, what
// stands once is repeated where it is wanted, and lists that differ are refused.
func TestUnfold(t *testing.T) {
	keep := [][]string{{"day"}, {"v", "ball"}, {"carry"}}
	for in, want := range map[string]string{
		`{"day":"mon","n":2,"v":{"ball":[52.90,53]},"carry":[150.2,null],"path":[[0,1],[0,2]]}`://
		`{"carry":150.2,"day":"mon","path":[0,1],"v":{"ball":52.90}}` + "\n" + `{"carry":null,"day":"mon","path":[0,2],"v":{"ball":53}}` + "\n",
		`{"day":"mon","v":{"ball":[52.9]},"carry":[150.2]}`: `{"carry":150.2,"day":"mon","v":{"ball":52.9}}` + "\n",
		`{"day":"mon","v":{"ball":[]},"carry":[]}`:          "",
	} {
		if got, err := Unfold(strings.NewReader(in), keep); err != nil || string(got) != want {
			t.Errorf("%s: %q, %v", in, got, err)
		}
	}
	for in, want := range map[string]string{
		`{"v":{"ball":[52.9,53]},"carry":[150.2]}`: "belong to one shot",
		`{"speed":[1,2]}`:                          "none of the map's columns",
		`{"v":{"ball":[52.9`:                       "not whole JSON",
	} {
		if _, err := Unfold(strings.NewReader(in), keep); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", in, err)
		}
	}
}
