package fleet

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"fairlead/deploy/proof"

	"go.uber.org/goleak"
	"pgregory.net/rapid"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// Whatever stands in a file, the answer is an error that says something or a
// fit without NaN or Inf; never a panic.
func TestAnyFileGivesAnAnswerOrAReason(t *testing.T) {
	value := rapid.OneOf(
		rapid.SampledFrom([]float64{0, 1, 1, 1, 2, -1, 1e-300, 1e300, 1e-9, 1e9, 1e16}),
		rapid.Float64Range(-3, 3),
	)
	proof.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("player,session,y,v,v0,a,b,m\n")
		one := rapid.Bool().Draw(t, "plain") // an ordinary file, so that fits happen
		for i := range rapid.IntRange(0, 25).Draw(t, "rows") {
			cell := func(name string) string {
				if one {
					return fmt.Sprint(rapid.Float64Range(-3, 3).Draw(t, name))
				}
				if rapid.IntRange(0, 30).Draw(t, name+" missing") == 0 {
					return rapid.SampledFrom([]string{"", "NA"}).Draw(t, name)
				}
				return fmt.Sprint(value.Draw(t, name))
			}
			v := math.Abs(rapid.Float64Range(1e-6, 4).Draw(t, "v"))
			p := i / 4
			if !one {
				p = rapid.IntRange(0, 3).Draw(t, "player")
			}
			fmt.Fprintf(&b, "p%d,s%d,%s,%v,%v,%s,%s,%s\n", p, p*2+i%2, cell("y"), v, v*rapid.Float64Range(0, 1).Draw(t, "share")*float64(i%2),
				cell("a"), cell("b"), cell("m"))
		}
		spec := Spec{
			Fixed: rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"a", "b", "a:m", "m", "a:a", "1"}), 1, 4, rapid.ID[string]).Draw(t,
				"fixed"),
			Random:         rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"a", "b", "1", "a:m"}), 0, 3, rapid.ID[string]).Draw(t, "random"),
			Intercept:      rapid.Bool().Draw(t, "intercept"),
			FullCovariance: rapid.Bool().Draw(t, "full"),
			SessionLevel:   rapid.Bool().Draw(t, "level"),
			Variance:       Variance(rapid.SampledFrom([]int{0, 0, 2}).Draw(t, "variance")),
		}
		tab, err := ReadCSV(strings.NewReader(b.String()),
			CSVColumns{Player: "player", Session: "session", Y: "y", V: "v", Used: []string{"a", "b", "m"}})
		if err != nil {
			t.Fatalf("a well-formed file was refused: %v\n%s", err, b.String())
		}
		d, _, err := tab.Data(spec)
		var f *Fit
		if err == nil {
			f, err = d.Fit(context.Background(), Options{Test: Test(rapid.IntRange(0, 1).Draw(t, "test"))})
		}
		if err != nil {
			if len(err.Error()) < 20 {
				t.Fatalf("an error that says nothing: %v", err)
			}
			return
		}
		// encoding/json refuses NaN and Inf.
		if _, err := json.Marshal(f); err != nil {
			t.Fatalf("%v\n%s", err, b.String())
		}
		for _, e := range f.Terms {
			if e.SE <= 0 || e.P < 0 || e.P > 1 || e.CILow > e.Value || e.CIHigh < e.Value {
				t.Fatalf("%+v", e)
			}
		}
		for j := range min(d.Players(), 2) {
			own, err := f.Own(d.ids[j])
			if err != nil {
				t.Fatal(err)
			}
			for c, m := range own.Mean {
				if !finite(m) || !finite(own.Cov[c][c]) {
					t.Fatalf("own belief of %s: %v ± %v", own.Columns[c], m, own.Cov[c][c])
				}
			}
		}
	})
}
