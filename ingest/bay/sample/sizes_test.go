package sample

import (
	"fmt"
	"strings"
	"testing"
)

// TestOddSizesEnd: files that are deep, wide or long in the wrong way are looked
// at within a bound; what grew with the square of their size did not come back.
func TestOddSizesEnd(t *testing.T) {
	var params, lists strings.Builder
	for i := range 4000 {
		fmt.Fprintf(&params, `<p name="n%d" value="1"/>`, i)
		fmt.Fprintf(&lists, `"k%d":[1,2,3],`, i)
	}
	for name, text := range map[string]string{
		"deep elements":       strings.Repeat(`<r a="1" b="2">`, 20000),
		"many named elements": "<r>" + params.String() + "</r>",
		"many lists":          "{" + lists.String() + `"z":[1,2,3]}`,
	} {
		table, err := Read([]File{{Name: "f", Data: []byte(text)}})
		if err == nil && (len(table.Columns) > maxColumns || table.Rows > maxRows) {
			t.Errorf("%s: %d columns, %d rows", name, len(table.Columns), table.Rows)
		}
	}
}
