package studio

import (
	"os"
	"strings"
	"testing"
	"time"

	"fairlead/ingest/log/authority"
)

func TestACertificateThatEndsIsToldInTime(t *testing.T) {
	c := made(t, "console: {listen: \"0.0.0.0:8080\"}\ntls: {by: files, cert: own.pem, key: own.key}")
	if got := c.certificateAlarms(time.Now()); len(got) > 0 {
		t.Errorf("nothing is made yet: %v", got)
	}
	a, err := c.Authority()
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := a.Leaf(nil, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if err := authority.WritePair(leaf, c.Path("own.pem"), c.Path("own.key")); err != nil {
		t.Fatal(err)
	}
	for in, want := range map[time.Duration]string{0: "", 60: "", 70: "ends on", 91: "ended on"} {
		got := c.certificateAlarms(time.Now().Add(in * 24 * time.Hour))
		if (len(got) > 0) != (want != "") || len(got) > 0 && !strings.Contains(got[0].Text, "tls.cert "+want) {
			t.Errorf("in %d days: %v", in, got)
		}
	}
	if got := c.certificateAlarms(a.Ends()); len(got) != 2 {
		t.Errorf("at the authority's end: %v", got)
	}
	if err := os.WriteFile(c.Path("own.pem"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got := c.certificateAlarms(time.Now()); len(got) != 1 || !strings.Contains(got[0].Text, "no certificate") {
		t.Errorf("damaged: %v", got)
	}
}

func TestTheDoctorSaysWhatOthersHear(t *testing.T) {
	for text, want := range map[string]string{
		"":                                    "",
		"console: {listen: \"0.0.0.0:8080\"}": Bad,
		"console: {listen: \"0.0.0.0:8080\"}\ntls: {by: clear}":    Warn,
		"broker: {listen: \"192.0.2.10:4222\"}\ntls: {by: clear}":  Warn,
		"console: {listen: \"127.0.0.1:8080\"}\ntls: {by: clear}":  "",
		"broker: {listen: \"192.0.2.10:4222\"}\ntls: {by: studio}": "",
	} {
		d := &doctor{c: made(t, text)}
		d.network()
		got := ""
		for _, f := range d.findings {
			got += f.State
		}
		if got != want {
			t.Errorf("%s: %v", text, d.findings)
		}
	}
}
