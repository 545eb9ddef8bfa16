package console

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// Each tool of the bench answers a form as its command does, says what is wrong
// with one, and takes bare numbers in the studio's units.
func TestTheBenchAnswers(t *testing.T) {
	r := newRig(t)
	tools := benchTools()
	for name, c := range map[string]struct {
		in, wrong url.Values
		says      string
	}{
		"swingweight": {url.Values{"length": {"37in"}, "head": {"270"}, "shaft": {"115 g"}, "grip": {"50"}, "add_head": {"2"}},
			url.Values{"length": {"far"}}, "swing weight"},
		"ladder": {url.Values{"fit": {"7i=37.25in\n5i=38.25in"}}, url.Values{"fit": {"7i"}}, "37.25"},
		"error":  {url.Values{"loft": {"36"}, "lie_error": {"1"}, "carry": {"130"}}, url.Values{"loft": {"36"}}, "left"},
		"check":  {url.Values{"rows": {"7i,loft,33deg,34deg"}}, url.Values{"rows": {"7i,weight,1,2"}}, "out"},
		"window": {url.Values{"ball_speed": {"70m/s"}, "attack": {"-1"}}, url.Values{"attack": {"-1"}}, "spin"},
		"impact": {url.Values{"head_speed": {"45m/s"}, "dynamic_loft": {"13.1"}}, url.Values{"head_speed": {"fast"}}, "launch"},
	} {
		for _, empty := range []bool{true, false} {
			in := c.in
			if empty {
				in = nil
			}
			code, text := r.visitPage("/bench/"+name+"?"+in.Encode(), nil)
			_, told, ok := strings.Cut(text, `id="told"`)
			if code != http.StatusOK || ok == empty || !empty && !strings.Contains(strings.ToLower(told), c.says) {
				t.Errorf("%s, empty %v: %d %.600s", name, empty, code, text[max(0, strings.Index(text, "refused")):])
			}
		}
		if code, text := r.visitPage("/bench/"+name+"?"+c.wrong.Encode(), nil); code != http.StatusUnprocessableEntity ||
			!strings.Contains(text, "be worked out") {
			t.Errorf("%s: a wrong form: %d", name, code)
		}
		tools = tools[1:]
	}
	if len(tools) != 0 {
		t.Errorf("%d tools are not tried", len(tools))
	}
	if code, _ := r.visitPage("/bench/anvil", nil); code != http.StatusNotFound {
		t.Errorf("a tool that there is not: %d", code)
	}
}
