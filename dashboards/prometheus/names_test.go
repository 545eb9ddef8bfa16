package prometheus

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	client "github.com/prometheus/client_golang/prometheus"
)

// asked is an expression of a rule or of a dashboard, and where it stands.
type asked struct{ where, expr string }

// dashboards reads every expression of the Grafana dashboards.
func dashboards(t *testing.T) (out []asked) {
	t.Helper()
	files, err := filepath.Glob("../grafana/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no dashboards: %v", err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var d struct {
			UID    string
			Panels []struct {
				Title, Type string
				Targets     []struct{ Expr string }
			}
			Templating struct{ List []struct{ Query string } }
		}
		if err := json.Unmarshal(text, &d); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		if d.UID == "" {
			t.Errorf("%s has no uid: links to it would break", file)
		}
		for _, p := range d.Panels {
			if p.Type != "row" && len(p.Targets) == 0 {
				t.Errorf("%s: %s asks nothing", file, p.Title)
			}
			for _, target := range p.Targets {
				out = append(out, asked{filepath.Base(file) + ": " + p.Title, target.Expr})
			}
		}
		for _, v := range d.Templating.List {
			out = append(out, asked{filepath.Base(file) + ": variables",
				strings.TrimPrefix(v.Query[:strings.LastIndex(v.Query, ",")], "label_values(")})
		}
	}
	replace := strings.NewReplacer("$studio", "harbour-row", "$bay", ".*")
	for i := range out {
		out[i].expr = replace.Replace(out[i].expr)
	}
	return out
}

var metricName = regexp.MustCompile(`\b(?:[a-z]+:)?fairlead_[a-z0-9_]+(?::[a-z0-9_]+)?`)

// described lists every metric of a registry, those without a sample so far too.
func described(r *client.Registry) map[string]bool {
	out := map[string]bool{}
	ch := make(chan *client.Desc)
	go func() {
		r.Describe(ch)
		close(ch)
	}()
	name := regexp.MustCompile(`fqName: "([^"]+)"`)
	for d := range ch {
		out[name.FindStringSubmatch(d.String())[1]] = true
	}
	return out
}

// lint has promtool judge what a process exposes: names, types, units, help.
func lint(t *testing.T, job, address string) {
	t.Helper()
	c := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	page, err := c.Get("http://" + address + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	defer discard(page.Body)
	check := exec.CommandContext(t.Context(), tool(t, "promtool"), "check", "metrics")
	check.Stdin = page.Body
	if said, err := check.CombinedOutput(); err != nil || len(said) > 0 {
		t.Errorf("the metrics of %s: %v\n%s", job, err, said)
	}
}

// server runs a real Prometheus with the configuration at hand, on the
// addresses of the running studio, and scrapes each second.
func server(t *testing.T, r *running) string {
	t.Helper()
	dir := t.TempDir()
	var config map[string]any
	readYAML(t, "prometheus.yml", &config)
	config["global"] = map[string]string{"scrape_interval": "1s", "evaluation_interval": "1s"}
	for _, j := range config["scrape_configs"].([]any) {
		job := j.(map[string]any)
		statics := job["static_configs"].([]any)[:1] // of the collectors one is enough
		address := r.addresses[job["job_name"].(string)]
		if address == "" {
			t.Fatalf("job %s: nothing serves it", job["job_name"])
		}
		statics[0].(map[string]any)["targets"] = []string{address}
		job["static_configs"] = statics
	}
	text, err := yaml.Marshal(config)
	if err != nil {
		t.Fatal(err)
	}
	ruleText, err := os.ReadFile("rules.yml")
	if err != nil {
		t.Fatal(err)
	}
	for name, body := range map[string][]byte{"prometheus.yml": text, "rules.yml": ruleText} {
		if err := os.WriteFile(filepath.Join(dir, name), body, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	address := free(t)
	c := exec.Command(tool(t, "prometheus"), "--config.file="+filepath.Join(dir, "prometheus.yml"),
		"--storage.tsdb.path="+filepath.Join(dir, "data"),
		"--web.listen-address="+address, "--log.level=warn")
	c.Stderr = os.Stderr
	run(t, c)
	return "http://" + address
}

// ask calls Prometheus' API and reads data of the answer.
func ask(base, path string, into any) error {
	c := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	response, err := c.Get(base + path)
	if err != nil {
		return err
	}
	defer discard(response.Body)
	var answer struct {
		Status, Error string
		Data          json.RawMessage
	}
	if err := json.NewDecoder(response.Body).Decode(&answer); err != nil {
		return err
	}
	if answer.Status != "success" {
		return errors.New(answer.Error)
	}
	return json.Unmarshal(answer.Data, into)
}

type vector struct {
	Result []struct{ Metric map[string]string }
}

// Every metric that a rule or a dashboard asks for is exposed by the real
// processes, and a real Prometheus with the shipped configuration understands
// every rule and every panel.
func TestEveryNameIsExposed(t *testing.T) {
	r := start(t)
	base := server(t, r)
	// Until everything was scraped and the bay's word came through the hub.
	for _, want := range []string{`count(up == 1) == 6`, `fairlead_bay_alarm{job="process",studio="harbour-row",bay="north",what="skew"}`,
		`fairlead_collect_feed_up{job="process",studio="harbour-row",bay="north",feed="alder"}`,
		`bay:fairlead_heard_seconds:min{studio="harbour-row",bay="north"}`, `fairlead_process_consume_lag_entries{studio="harbour-row",bay="north"}`} {
		waitFor(t, want, func() error {
			var v vector
			if err := ask(base, "/api/v1/query?query="+url.QueryEscape(want), &v); err != nil {
				return err
			}
			if len(v.Result) == 0 {
				var up vector
				_ = ask(base, "/api/v1/query?query=up", &up)
				return fmt.Errorf("no such sample; up: %v", up.Result)
			}
			return nil
		})
	}
	for job, address := range r.addresses {
		lint(t, job, address)
	}
	var scraped []string
	if err := ask(base, "/api/v1/label/__name__/values", &scraped); err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{}
	for _, name := range scraped {
		known[name] = true
	}
	for _, registry := range r.registries {
		for name := range described(registry) {
			known[name] = true
		}
	}
	asks := dashboards(t)
	for _, rule := range rules(t) {
		known[rule.Record] = true
		asks = append(asks, asked{rule.Record + rule.Alert, rule.Expr})
	}
	for _, a := range asks {
		for _, name := range metricName.FindAllString(a.expr, -1) {
			plain := name
			for _, suffix := range []string{"_bucket", "_sum", "_count"} {
				plain = strings.TrimSuffix(plain, suffix)
			}
			if !known[name] && !known[plain] {
				t.Errorf("%s asks for %s, which nothing exposes", a.where, name)
			}
		}
		var v json.RawMessage
		if err := ask(base, "/api/v1/query?query="+url.QueryEscape(a.expr), &v); err != nil {
			t.Errorf("%s: %v\n%s", a.where, err, a.expr)
		}
	}

	// What the hub shows of a bay is not counted twice by scraping the bay too.
	var twice vector
	if err := ask(base, "/api/v1/query?query="+url.QueryEscape(`count by (bay) (fairlead_collect_entries_published_total) > 1`), &twice); err != nil || len(twice.Result) > 0 {
		t.Errorf("counted twice: %v, %v", twice.Result, err)
	}
	var loaded struct {
		Groups []struct {
			Rules []struct{ Name, Health, LastError string }
		}
	}
	if err := ask(base, "/api/v1/rules", &loaded); err != nil || len(loaded.Groups) == 0 {
		t.Fatalf("%d groups of rules, %v", len(loaded.Groups), err)
	}
	for _, g := range loaded.Groups {
		for _, x := range g.Rules {
			if x.Health == "err" {
				t.Errorf("%s: %s", x.Name, x.LastError)
			}
		}
	}
}
