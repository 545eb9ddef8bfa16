package prometheus

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/goccy/go-yaml"
)

// alertmanager finds a program of Debian's package prometheus-alertmanager.
func alertmanager(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Fatalf("%s is not here: run  apt-get install -y --no-install-recommends prometheus-alertmanager", name)
	}
	return path
}

// told is what Alertmanager posts to a webhook.
type told struct {
	Status string
	Alerts []struct {
		Status string
		Labels map[string]string
	}
}

func (m told) String() string {
	var names []string
	for _, a := range m.Alerts {
		names = append(names, a.Status+" "+a.Labels["alertname"])
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}

// The example tells what rings together in one message, leaves out what follows
// from another alert, and says when it is over: seen with the real Alertmanager.
func TestTheAlertmanagerExample(t *testing.T) {
	check := exec.CommandContext(t.Context(), alertmanager(t, "amtool"), "check-config", "alertmanager.yml")
	if out, err := check.CombinedOutput(); err != nil {
		t.Fatalf("amtool: %v\n%s", err, out)
	}
	heard := make(chan told, 10)
	hook := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		var m told
		if err := json.NewDecoder(r.Body).Decode(&m); err != nil {
			t.Error(err)
		}
		heard <- m
	}))
	defer hook.Close()
	base := exampleRuns(t, hook.URL)
	now := time.Now()
	down := alert(now, "FairleadProcessDown", "critical", map[string]string{"job": "broker"})
	silent := alert(now, "FairleadBaySilent", "critical", map[string]string{"bay": "north"})
	full := alert(now, "FairleadJournalFull", "critical", map[string]string{"bay": "south"})
	waitFor(t, "Alertmanager", func() error { return post(base, down, silent, full) })
	if got := (<-heard).String(); got != "firing FairleadJournalFull, firing FairleadProcessDown" {
		t.Errorf("told: %s", got)
	}
	down["endsAt"], full["endsAt"] = now.Add(time.Millisecond), now.Add(time.Millisecond)
	if err := post(base, down, full); err != nil {
		t.Fatal(err)
	}
	for over := map[string]bool{}; len(over) < 2; { // together or one after another, with the bay that is silent still
		for _, a := range (<-heard).Alerts {
			if a.Status == "resolved" {
				over[a.Labels["alertname"]] = true
			}
		}
	}
}

// exampleRuns runs the example, with a webhook that is here and less patience.
func exampleRuns(t *testing.T, hook string) string {
	t.Helper()
	var config map[string]any
	readYAML(t, "alertmanager.yml", &config)
	route := config["route"].(map[string]any)
	route["group_wait"], route["group_interval"] = "1s", "1s"
	people := config["receivers"].([]any)[0].(map[string]any)
	people["webhook_configs"].([]any)[0].(map[string]any)["url"] = hook
	delete(people, "email_configs") // no mail server is here; amtool read the settings
	text, err := yaml.Marshal(config)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "alertmanager.yml")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	address := free(t)
	c := exec.Command(alertmanager(t, "prometheus-alertmanager"), "--config.file="+file, "--storage.path="+filepath.Join(dir, "data"),
		"--web.listen-address="+address, "--cluster.listen-address=", "--log.level=warn")
	c.Stderr = os.Stderr
	run(t, c)
	return "http://" + address
}

func alert(begun time.Time, name, severity string, more map[string]string) map[string]any {
	labels := map[string]string{"alertname": name, "severity": severity, "studio": "harbour-row"}
	maps.Copy(labels, more)
	return map[string]any{"labels": labels, "startsAt": begun, "endsAt": begun.Add(time.Hour)}
}

func post(base string, alerts ...map[string]any) error {
	body, err := json.Marshal(alerts)
	if err != nil {
		return err
	}
	c := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	r, err := c.Post(base+"/api/v2/alerts", "application/json", strings.NewReader(string(body)))
	if err != nil {
		return err
	}
	defer discard(r.Body)
	if r.StatusCode != http.StatusOK {
		return fmt.Errorf("alerts were answered %s", r.Status)
	}
	return nil
}
