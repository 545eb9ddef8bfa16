package cell

import "testing"

func TestFormulasAreTexts(t *testing.T) {
	for text, want := range map[string]string{
		"":           "",
		"lighter":    "lighter",
		"-2.5":       "-2.5",
		"+1e-3":      "+1e-3",
		"-Inf":       "-Inf",
		"=1+1":       "'=1+1",
		"+cmd|' /C'": "'+cmd|' /C'",
		"-2.5 deg":   "'-2.5 deg",
		"@SUM(A1)":   "'@SUM(A1)",
		"\t=1":       "'\t=1",
		"\r=1":       "'\r=1",
		"＝1":         "'＝1",
		"'=1":        "'=1",
		"½ in":       "½ in",
	} {
		if got := Harmless(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
