package client

import (
	"strings"
	"testing"
)

// The checks of bays are read as the console writes them, and told bay by bay.
func TestMorningsAreTold(t *testing.T) {
	m, err := readMornings([]byte(`[{"bay":"north","at_unix_ns":1,"word":"go","check":{"club_id":"REF-7","ball":"Harbour"}},
		{"bay":"north","at_unix_ns":2,"word":"stop","check":{"club_id":"REF-7","ball":"Harbour","fields":[{"field":"launch_angle_deg",
		"shots":10,"mean":19.1,"bias":1.9,"bias_sd":0.4,"judgement":"CHECK_STOP"}]}}]`))
	if err != nil || len(m.All) != 2 || m.All[1].Check.GetFields()[0].GetShots() != 10 {
		t.Fatalf("%+v, %v", m, err)
	}
	var text strings.Builder
	if err := m.WriteText(&text); err != nil || strings.Count(text.String(), "north") != 1 ||
		!strings.Contains(text.String(), "+1.9 ± 0.78") || !strings.Contains(text.String(), "stop") {
		t.Errorf("%v\n%s", err, text.String())
	}
	if _, err := readMornings([]byte(`{}`)); err == nil {
		t.Error("what is no list is read")
	}
}
