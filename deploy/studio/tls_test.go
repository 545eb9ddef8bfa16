package studio

import (
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/dashboards/gate"
	"fairlead/deploy/proof"
	"fairlead/ingest/log/authority"
	"fairlead/ingest/log/stream"
)

var quiet = slog.New(slog.DiscardHandler)

// made is a studio's configuration in a folder of its own.
func made(t *testing.T, text string) *Config {
	t.Helper()
	c, err := parse([]byte("studio: harbour-row\nbays: [{name: north}]\n"+text), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// port is one that is free on every address.
func port(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "0.0.0.0:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	_, p, _ := net.SplitHostPort(l.Addr().String())
	return p
}

func TestListenersBeyondThisMachineWantAWord(t *testing.T) {
	for text, refused := range map[string]string{
		"":                                        "",
		"console: {listen: \"0.0.0.0:8080\"}":     "console.listen",
		"console: {listen: \":8080\"}":            "console.listen",
		"broker: {listen: \"192.0.2.10:4222\"}":   "broker.listen",
		"metrics: {listen: \"[::]:9310\"}":        "metrics.listen",
		"broker: {url: \"nats://192.0.2.10:42\"}": "",
		"broker: {listen: \"192.0.2.10:4222\"}\ntls: {by: studio}": "",
		"broker: {listen: \"192.0.2.10:4222\"}\ntls: {by: clear}":  "",
	} {
		err := made(t, text).RefuseClear()
		if (err != nil) != (refused != "") {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if refused == "" {
			continue
		}
		for _, want := range []string{refused, "tls: {by: studio}", "tls: {by: clear}", "key file over anew"} {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%s: %v lacks %q", text, err, want)
			}
		}
		if !errors.As(err, new(*ClearError)) {
			t.Errorf("%T", err)
		}
	}
}

func TestWordsOfTLSAreChecked(t *testing.T) {
	for text, want := range map[string]string{
		"tls: {by: magic}":                        "use studio, files, acme or clear",
		"tls: {by: files}":                        "tls.cert and tls.key",
		"tls: {by: acme}":                         "tls.names",
		"tls: {by: acme, names: [10.0.0.1]}":      "tls.names",
		"tls: {by: studio, cert: own.pem}":        "tls.by: files",
		"tls: {by: studio, names: [\"hub:443\"]}": "without port",
		"tls: {by: studio, http: \"80\"}":         "host:port",
	} {
		if _, err := parse([]byte("studio: harbour-row\n"+text), t.TempDir()); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// The hub's own processes reach a broker that others reach too, and so does a bay
// by the one file that it was brought; in clear nobody does.
func TestABrokerThatOthersReach(t *testing.T) {
	at := port(t)
	hub := made(t, "broker: {listen: \"0.0.0.0:"+at+"\"}\ntls: {by: studio}")
	if err := hub.prepare(quiet); err != nil {
		t.Fatal(err)
	}
	b, err := hub.StartBroker(t.Context(), prometheus.NewRegistry(), quiet)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Stop()
	nc, _, err := hub.ConnectTool(t.Context(), "test", quiet)
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	if _, err := nc.TLSConnectionState(); err != nil {
		t.Error(err)
	}
	key, err := os.ReadFile(hub.BayKeyFile("north"))
	if err != nil {
		t.Fatal(err)
	}
	bay := made(t, "broker: {url: \"nats://127.0.0.1:"+at+"\", seed: bay-north.seed}")
	if err := os.WriteFile(bay.Path("bay-north.seed"), key, 0o600); err != nil {
		t.Fatal(err)
	}
	reaches := func(c *Config) error {
		nc, _, err := stream.Connect(c.Link(stream.BayCredential("north"), c.Place("north")))
		if err != nil {
			return err
		}
		defer nc.Close()
		proof.Until(t, "an answer", func() bool { return nc.IsConnected() || nc.LastError() != nil })
		if nc.IsConnected() {
			return nil
		}
		return nc.LastError()
	}
	if err := reaches(bay); err != nil {
		t.Errorf("the bay: %v", err)
	}
	// A key's file of before: it says of no hub that it is its own.
	alone, _, _ := strings.Cut(string(key), "-----BEGIN")
	if err := os.WriteFile(bay.Path("bay-north.seed"), []byte(alone), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := reaches(bay); stream.Mistrust(err) == "" {
		t.Errorf("a bay that knows no authority: %v", err)
	}
	// Tools that know the folder of the authority.
	bay.TLS.Authority = hub.AuthorityDir()
	if err := reaches(bay); err != nil {
		t.Errorf("with the authority's folder: %v", err)
	}
}

// shownAt serves what a configuration's console shows, and says where.
func shownAt(t *testing.T, c *Config) {
	t.Helper()
	shown, err := c.ConsoleCertificate(prometheus.NewRegistry(), quiet)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", c.Console.Listen)
	if err != nil {
		t.Fatal(err)
	}
	secure, plain := gate.Split(l)
	pages := &http.Server{ErrorLog: slog.NewLogLogger(quiet.Handler(), slog.LevelDebug), TLSConfig: shown.TLS,
		Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, "pages") })}
	steps := &http.Server{Handler: shown.Plain}
	go pages.ServeTLS(secure, "", "")
	go steps.Serve(plain)
	t.Cleanup(func() { pages.Close(); steps.Close() })
}

func get(t *testing.T, client *http.Client, url string) (code int, body string) {
	t.Helper()
	resp, err := client.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(text)
}

func TestAConsoleThatTabletsReach(t *testing.T) {
	c := made(t, "console: {listen: \"0.0.0.0:"+port(t)+"\"}\ntls: {by: studio}")
	shownAt(t, c)
	if code, body := get(t, c.Client(5*time.Second), c.ConsoleURL()); code != 200 || body != "pages" {
		t.Errorf("this machine: %d %s", code, body)
	}
	plain := "http://" + strings.TrimPrefix(c.ConsoleURL(), "https://")
	a, err := c.Authority()
	if err != nil {
		t.Fatal(err)
	}
	code, body := get(t, http.DefaultClient, plain+"/bays/north")
	for _, want := range []string{a.Fingerprint(), c.ConsoleURL() + "/bays/north", "/authority.crt"} {
		if code != 200 || !strings.Contains(body, want) {
			t.Errorf("the page in clear, %d, lacks %q", code, want)
		}
	}
	if _, body := get(t, http.DefaultClient, plain+"/authority.crt"); body != string(a.DER()) {
		t.Error("the certificate is not to be had")
	}
	if resp, err := http.Post(plain+"/gate/in", "application/x-www-form-urlencoded", strings.NewReader("name=a&password=b")); err != nil ||
		resp.StatusCode != http.StatusForbidden {
		t.Errorf("a password in clear: %v %v", resp.StatusCode, err)
	}
	// Who was told of no authority is warned.
	if _, err := http.DefaultClient.Get(c.ConsoleURL()); err == nil {
		t.Error("a stranger trusts it")
	}
}

// Another certificate is shown under its names, and sent on to from there.
func TestACertificateOfOnesOwn(t *testing.T) {
	other, err := authority.Ensure(filepath.Join(t.TempDir(), "other"), "trade", []string{"desk.example"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := other.Leaf([]string{"desk.example"}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	c := made(t, "console: {listen: \"0.0.0.0:"+port(t)+"\"}\ntls: {by: files, cert: own.pem, key: own.key, names: [desk.example]}")
	if err := authority.WritePair(leaf, c.Path("own.pem"), c.Path("own.key")); err != nil {
		t.Fatal(err)
	}
	shownAt(t, c)
	if code, body := get(t, c.Client(5*time.Second), c.ConsoleURL()); code != 200 || body != "pages" {
		t.Errorf("this machine: %d %s", code, body)
	}
	pinned, err := authority.Pinned(other.PEM())
	if err != nil {
		t.Fatal(err)
	}
	at := strings.TrimPrefix(c.ConsoleURL(), "https://")
	under := func(name string) error {
		config := pinned.Clone()
		config.ServerName = name
		conn, err := tls.Dial("tcp", at, config)
		if err == nil {
			conn.Close()
		}
		return err
	}
	if err := under("desk.example"); err != nil {
		t.Errorf("under its name: %v", err)
	}
	if err := under("elsewhere.lan"); err == nil {
		t.Error("it is shown under a name that it is not for")
	}
	_, p, _ := net.SplitHostPort(at)
	r, err := http.NewRequest(http.MethodGet, "http://"+at+"/bays/north?x=1", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Host = "desk.example:" + p
	resp, err := http.DefaultTransport.RoundTrip(r)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if want := fmt.Sprintf("https://desk.example:%s/bays/north?x=1", p); resp.Header.Get("Location") != want {
		t.Errorf("sent to %q, not %q", resp.Header.Get("Location"), want)
	}
}

// Metrics and profiles beyond this machine want their token, by TLS.
func TestMetricsBeyondThisMachineWantTheirToken(t *testing.T) {
	c := made(t, "tls: {by: studio}")
	door, err := c.Door("0.0.0.0:0")
	if err != nil {
		t.Fatal(err)
	}
	at, err := door.Serve(t.Context(), "0.0.0.0:0", prometheus.NewRegistry(), quiet)
	if err != nil {
		t.Fatal(err)
	}
	if err := c.SayAddress(t.Context(), "process", at); err != nil {
		t.Fatal(err)
	}
	own := c.Client(5 * time.Second)
	bare := &http.Client{Transport: own.Transport.(shows).to, Timeout: 5 * time.Second}
	url := c.MetricsURL("process")
	if !strings.HasPrefix(url, "https://127.0.0.1:") {
		t.Fatal(url)
	}
	for path, want := range map[string]int{"/metrics": 401, "/debug/pprof/": 401, "/debug/pprof/profile?seconds=1": 401, "/healthz": 200} {
		if code, _ := get(t, bare, url+path); code != want {
			t.Errorf("%s without the token: %d", path, code)
		}
	}
	for _, path := range []string{"/metrics", "/debug/pprof/", "/healthz"} {
		if code, _ := get(t, own, url+path); code != 200 {
			t.Errorf("%s with it: %d", path, code)
		}
	}
	if _, err := made(t, "").Door("0.0.0.0:0"); !errors.As(err, new(*ClearError)) {
		t.Errorf("in clear, and nothing was said: %v", err)
	}
	if door, err := made(t, "tls: {by: clear}").Door("0.0.0.0:0"); err != nil || door.Token == "" || door.TLS != nil {
		t.Errorf("in clear by the studio's word: %+v, %v", door, err)
	}
}
