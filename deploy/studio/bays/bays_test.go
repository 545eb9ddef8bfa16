package bays

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"log/slog"

	"github.com/nats-io/nkeys"

	"fairlead/deploy/studio"
	"fairlead/ingest/bay/desk"
)

// hubOf is a hub whose console listens at the loopback.
func hubOf(t *testing.T) Hub {
	t.Helper()
	file := filepath.Join(t.TempDir(), "studio.yaml")
	if err := os.WriteFile(file, []byte("studio: harbour-row\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	c, err := studio.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	return HubOf(c)
}

func publicKey(t *testing.T) string {
	t.Helper()
	pair, err := nkeys.CreateUser()
	if err != nil {
		t.Fatal(err)
	}
	key, err := pair.PublicKey()
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// TestACodeIsGoodOnce: for one machine, which may ask again, until its time is over;
// and whoever tries too many is told to wait.
func TestACodeIsGoodOnce(t *testing.T) {
	h := hubOf(t)
	now := time.Now()
	h.Kept.Now = func() time.Time { return now }
	line, err := h.Invite("north", "", "hub", time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	i, err := readLine(strings.TrimPrefix(line.Text, "fairlead bay join "))
	if err != nil || i.bay != "north" {
		t.Fatalf("%+v, %v", i, err)
	}
	allowed := true
	web := httptest.NewServer(h.Handler(func(*http.Request) bool { return allowed }, slog.New(slog.DiscardHandler)))
	defer web.Close()
	ask := func(bay, code, key string) (int, Admitted) {
		t.Helper()
		body, _ := json.Marshal(Asks{Bay: bay, Code: code, Key: key})
		resp, err := http.Post(web.URL+"/enrol/join", "application/json", bytes.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		var a Admitted
		if err := json.NewDecoder(resp.Body).Decode(&a); err != nil {
			t.Fatal(err)
		}
		return resp.StatusCode, a
	}
	one, two := publicKey(t), publicKey(t)
	for _, wrong := range [][3]string{{"north", "AAAA", one}, {"south", i.code, one}, {"north", i.code, "no key"}, {"../north", i.code, one},
		{"", "", ""}} {
		if code, a := ask(wrong[0], wrong[1], wrong[2]); code != http.StatusForbidden || a.Bay != "" || a.Error != errCode.Error() {
			t.Errorf("%v: %d, %+v", wrong, code, a)
		}
	}
	for range 2 { // the answer may have been lost on the way
		if code, a := ask("north", i.code, one); code != http.StatusOK || a.Studio != "harbour-row" || !strings.HasPrefix(a.Broker, "nats://") {
			t.Errorf("%d, %+v", code, a)
		}
	}
	if code, _ := ask("north", i.code, two); code != http.StatusForbidden {
		t.Errorf("a second machine: %d", code)
	}
	grants, err := h.Config.Keyring().Grants(now)
	if err != nil || len(grants) != 1 || grants[0].Key != one || grants[0].Bay != "north" {
		t.Errorf("%+v, %v", grants, err)
	}
	again, err := h.Invite("north", "", "hub", time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	i, _ = readLine(strings.TrimPrefix(again.Text, "fairlead bay join "))
	now = now.Add(time.Hour)
	if code, _ := ask("north", i.code, two); code != http.StatusForbidden {
		t.Errorf("after its time: %d", code)
	}
	allowed = false
	if code, _ := ask("north", i.code, two); code != http.StatusTooManyRequests {
		t.Errorf("too many: %d", code)
	}
}

// TestVersionsAreKept: checked, numbered, never changed; who changes what another
// changed meanwhile is told so; to go back is a version of its own.
func TestVersionsAreKept(t *testing.T) {
	k := hubOf(t).Kept
	const m = "map: 1\ndevice: willow\nrole: ball\nformat: csv\nshot_id: {column: No}\nfields:\n  ball_speed: {column: Ball, unit: mph}\n"
	one := desk.Given{Text: "feeds:\n  - {name: willow, map: w.yaml, tail: /srv/w.csv}\n", Maps: map[string]string{"w.yaml": m}}
	two := desk.Given{Text: strings.Replace(one.Text, "/srv/w.csv", "/srv/w2.csv", 1), Maps: one.Maps}
	for name, bad := range map[string]desk.Given{
		"no map":      {Text: one.Text},
		"a bad map":   {Text: one.Text, Maps: map[string]string{"w.yaml": "map: 9\n"}},
		"a bad key":   {Text: "feed: []\n"},
		"an odd name": {Text: one.Text, Maps: map[string]string{"w.yaml": m, "../w.yaml": m}},
		"too much":    {Text: one.Text, Maps: map[string]string{"w.yaml": m + strings.Repeat("#", 400_000)}},
	} {
		if v, err := k.Put("north", bad, 0, "hub", ""); err == nil {
			t.Errorf("%s was kept as %d", name, v.Version)
		}
	}
	for was, g := range []desk.Given{one, two} {
		if v, err := k.Put("north", g, was, "hub", ""); err != nil || v.Version != was+1 {
			t.Fatalf("%d, %v", v.Version, err)
		}
	}
	if _, err := k.Put("north", one, 1, "hub", ""); err == nil || !strings.Contains(err.Error(), "look at it again") {
		t.Errorf("over another's change: %v", err)
	}
	if v, err := k.Put("north", two, 2, "hub", ""); err != nil || v.Version != 2 {
		t.Errorf("the same again: %d, %v", v.Version, err)
	}
	was, v, err := k.Back("north", 0, "hub")
	if err != nil || was.Version != 2 || v.Version != 3 || !v.Same(one) {
		t.Errorf("back: %d, %+v, %v", was.Version, v, err)
	}
	if got := Changes(two, one); len(got) != 1 || got[0] != `feed willow: tail is "/srv/w.csv", was "/srv/w2.csv"` {
		t.Errorf("%q", got)
	}
}

// TestALineIsForOneHub: whoever has the hub's address and not its certificate is told nothing.
func TestALineIsForOneHub(t *testing.T) {
	asked := false
	rogue := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked = asked || r.Method == http.MethodPost
		w.Write([]byte("-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n"))
	}))
	defer rogue.Close()
	i, err := readLine("'" + rogue.URL + "/north/CODE#" + pin([]byte("the hub's")) + "'")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := i.post(context.Background(), []byte("{}")); err == nil || asked || !strings.Contains(err.Error(), "was told nothing") {
		t.Errorf("%v, asked %v", err, asked)
	}
	for _, line := range []string{"", "north", rogue.URL, rogue.URL + "/north/CODE", "http://h:1/north"} {
		if _, err := readLine(line); err == nil {
			t.Errorf("%q is a line", line)
		}
	}
}
