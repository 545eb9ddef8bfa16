package proof

import (
	"testing"
)

// heard keeps what a check says instead of failing by it.
type heard struct {
	testing.TB
	n int
}

func (h *heard) Helper()               {}
func (h *heard) Errorf(string, ...any) { h.n++ }

func TestPlainWords(t *testing.T) {
	for page, wrong := range map[string]int{
		`<p title="Lie">62° <code>part.lie_deg</code></p><script>a_b = NaN</script>`: 0,
		`<p>carry_m</p>`: 1, `<button aria-label="Take back t_1"></button>`: 1, `<p>figure.Unit decides</p>`: 1, `<td>NaN</td>`: 1,
		`<td>%!d(string=x)</td>`: 1, `<td>VERDICT_BUILD</td>`: 1, `<td>52 mps</td>`: 1, `<td>-0.0 m</td>`: 1, `<td>−0 m, −0.4 m, 10-0</td>`: 1,
		`<p>0189aa00bb11cc22</p>`: 1, `<p>9 &lt;nil&gt;</p>`: 1,
	} {
		h := &heard{TB: t}
		if PlainWords(h, "page", page); h.n != wrong {
			t.Errorf("%s: %d words, not %d", page, h.n, wrong)
		}
	}
}
