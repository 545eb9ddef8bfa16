package compose

import (
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"fairlead/deploy/studio"
)

type service struct {
	Image     string
	Command   []string
	Ports     []string
	Volumes   []string
	DependsOn []string `yaml:"depends_on"`
	Build     struct{ Context, Dockerfile, Target string }
}

type file struct {
	Services map[string]service
	Volumes  map[string]any
}

func read(t *testing.T) file {
	t.Helper()
	text, err := os.ReadFile("compose.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var f file
	if err := yaml.Unmarshal(text, &f); err != nil {
		t.Fatal(err)
	}
	if len(f.Services) != 6 {
		t.Fatalf("%d services", len(f.Services))
	}
	return f
}

func TestComposeFits(t *testing.T) {
	f := read(t)
	text, err := os.ReadFile("Dockerfile")
	if err != nil {
		t.Fatal(err)
	}
	for name, s := range f.Services {
		for _, v := range s.Volumes {
			from, to, ok := strings.Cut(v, ":")
			if !ok || !strings.HasPrefix(to, "/") {
				t.Errorf("%s: volume %q", name, v)
			}
			if strings.HasPrefix(from, ".") {
				if _, err := os.Stat(from); err != nil {
					t.Errorf("%s: %v", name, err)
				}
			} else if _, ok := f.Volumes[from]; !ok && !filepath.IsAbs(from) {
				t.Errorf("%s: no volume %s", name, from)
			}
		}
		for _, d := range s.DependsOn {
			if _, ok := f.Services[d]; !ok {
				t.Errorf("%s waits for %s, which is not there", name, d)
			}
		}
		if s.Build.Target != "" && !strings.Contains(string(text), " AS "+s.Build.Target+"\n") {
			t.Errorf("%s: the Dockerfile has no target %s", name, s.Build.Target)
		}
	}
	// What the Dockerfile copies from the project is there.
	for _, m := range regexp.MustCompile(`(?m)^COPY (deploy/\S+) (deploy/\S+)`).FindAllStringSubmatch(string(text), -1) {
		for _, path := range m[1:] {
			if _, err := os.Stat(filepath.Join("../..", path)); err != nil {
				t.Error(err)
			}
		}
	}
}

// The configurations load, and name one another's services, keys and password.
func TestConfigurationsFit(t *testing.T) {
	f := read(t)
	broker, err := studio.Load("broker.yaml")
	if err != nil {
		t.Fatal(err)
	}
	hub, err := studio.Load("studio.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if broker.Studio != hub.Studio || len(broker.Bays) != len(hub.Bays) {
		t.Error("broker.yaml and studio.yaml name different bays")
	}
	for i := range hub.Bays {
		if hub.Bays[i].Name != broker.Bays[i].Name || len(hub.Bays[i].Feeds) > 0 {
			t.Errorf("bay %d is %s and %s", i, hub.Bays[i].Name, broker.Bays[i].Name)
		}
	}
	if keys := strings.TrimPrefix(broker.Keyring().Dir, broker.Data); hub.Broker.Keys != "/keys"+keys {
		t.Errorf("the hub's keys are at /keys%s, not %s", keys, hub.Broker.Keys)
	}
	dsn, err := url.Parse(hub.Store.DSN)
	if err != nil {
		t.Fatal(err)
	}
	env, err := os.ReadFile("clickhouse.env")
	if err != nil {
		t.Fatal(err)
	}
	password, _ := dsn.User.Password()
	for _, line := range []string{"CLICKHOUSE_DB=" + strings.TrimPrefix(dsn.Path, "/"), "CLICKHOUSE_USER=" + dsn.User.Username(),
		"CLICKHOUSE_PASSWORD=" + password} {
		if !strings.Contains(string(env), line+"\n") {
			t.Errorf("clickhouse.env has no %s", line)
		}
	}
	for _, address := range []string{hub.Broker.URL, hub.Store.DSN} {
		u, err := url.Parse(address)
		if _, ok := f.Services[u.Hostname()]; err != nil || !ok {
			t.Errorf("%s is no service", address)
		}
	}
}

// Prometheus scrapes what the services serve, and takes its configuration.
func TestPrometheusFits(t *testing.T) {
	f := read(t)
	text, err := os.ReadFile("prometheus.yml")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`"(\w+):(\d+)"`).FindAllStringSubmatch(string(text), -1) {
		command := strings.Join(f.Services[m[1]].Command, " ")
		if !strings.Contains(command, "--metrics 0.0.0.0:"+m[2]) {
			t.Errorf("%s serves no metrics on %s: %s", m[1], m[2], command)
		}
	}
	promtool, err := exec.LookPath("promtool")
	if err != nil {
		t.Fatal("promtool is not here: run  apt-get install -y prometheus")
	}
	dir := t.TempDir()
	rules, err := os.ReadFile("../../dashboards/prometheus/rules.yml")
	if err != nil {
		t.Fatal(err)
	}
	for name, body := range map[string][]byte{"prometheus.yml": text, "rules.yml": rules} {
		if err := os.WriteFile(filepath.Join(dir, name), body, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if out, err := exec.CommandContext(t.Context(), promtool, "check", "config", "--syntax-only", // keys are made there

		filepath.Join(dir, "prometheus.yml")).CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
