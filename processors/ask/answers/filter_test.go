package answers

import (
	"testing"

	"fairlead/processors/golf/fleet"
)

func TestBandsInWords(t *testing.T) {
	for text, want := range map[string]string{
		"speed_mps=40..45": "clubhead speed 40 to 45 m/s", "attack_deg=..-1.5": "attack below −1.5°",
		"strike_x_m=0.004..": "strike toward the toe from 4 mm",
	} {
		b, err := ParseBand(text)
		if err != nil || b.Words() != want || b.String() != text {
			t.Errorf("%s: %q instead of %q, written again %q (%v)", text, b.Words(), want, b, err)
		}
	}
	for _, name := range fleet.TraitNames {
		if traitWords[name].short == "" || traitWords[name].title == "" || traitWords[name].factor == 0 {
			t.Errorf("trait %s has no words", name)
		}
	}
}
