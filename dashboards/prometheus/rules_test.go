package prometheus

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"fairlead/deploy/studio"
)

// tool finds a program of Debian's package prometheus.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Fatalf("%s is not here: run  apt-get install -y prometheus", name)
	}
	return path
}

func TestPromtool(t *testing.T) {
	promtool := tool(t, "promtool")
	for _, args := range [][]string{{"check", "config", "prometheus.yml"}, {"check", "rules", "rules.yml"},
		{"test", "rules", "rules_test.yml"}} {
		if out, err := exec.CommandContext(t.Context(), promtool, args...).CombinedOutput(); err != nil {
			t.Errorf("promtool %s: %v\n%s", strings.Join(args, " "), err, out)
		}
	}
}

type ruleFile struct {
	Groups []struct {
		Name  string
		Rules []rule
	}
}

type rule struct {
	Record, Alert, Expr, For string
	Labels, Annotations      map[string]string
}

func readYAML(t *testing.T, file string, into any) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err == nil {
		err = yaml.Unmarshal(text, into)
	}
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
}

func rules(t *testing.T) (out []rule) {
	t.Helper()
	var f ruleFile
	readYAML(t, "rules.yml", &f)
	for _, g := range f.Groups {
		out = append(out, g.Rules...)
	}
	if len(out) < 20 {
		t.Fatalf("only %d rules read", len(out))
	}
	return out
}

// Whoever is woken reads what is wrong, what it means and what to try; and each
// alert was seen to fire in rules_test.yml.
func TestEveryAlertIsExplainedAndTested(t *testing.T) {
	var tests struct {
		Tests []struct {
			Name string
			Expr []struct {
				Samples []struct{ Labels string } `yaml:"exp_samples"`
			} `yaml:"promql_expr_test"`
		}
	}
	readYAML(t, "rules_test.yml", &tests)
	fires, quiet, explained := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, test := range tests.Tests {
		for _, e := range test.Expr {
			if len(e.Samples) > 0 {
				fires[test.Name] = true
			} else {
				quiet[test.Name] = true
			}
		}
	}
	for _, r := range rules(t) {
		if r.Alert == "" {
			continue
		}
		for _, a := range []string{"summary", "description", "try"} {
			if len(r.Annotations[a]) < 10 {
				t.Errorf("%s has no %s", r.Alert, a)
			}
		}
		explained[r.Alert] = true
		book := runbook(t, r.Annotations["runbook_url"])
		for _, part := range []string{"# " + r.Alert + "\n", "\n## Look\n\n- ", "\n## Do\n\n1. ", "\n## Over when\n\n"} {
			if !strings.Contains(book, part) {
				t.Errorf("the runbook of %s has no %q", r.Alert, part)
			}
		}
		if !slices.Contains([]string{"critical", "warning"}, r.Labels["severity"]) || r.For == "" {
			t.Errorf("%s: severity %q for %q", r.Alert, r.Labels["severity"], r.For)
		}
		if !fires[r.Alert] || !quiet[r.Alert] {
			t.Errorf("rules_test.yml does not show when %s fires and when not", r.Alert)
		}
	}
	pages, err := filepath.Glob("../../deploy/runbooks/Fairlead*.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, page := range pages {
		if name := strings.TrimSuffix(filepath.Base(page), ".md"); !explained[name] {
			t.Errorf("%s is of no alert", page)
		}
	}
}

// runbook reads the page that an alert leads to, from the top of the repository.
func runbook(t *testing.T, at string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", at))
	if err != nil {
		t.Errorf("runbook_url %q: %v", at, err)
	}
	return string(text)
}

type scrapeConfig struct {
	Jobs []struct {
		Name    string `yaml:"job_name"`
		Statics []struct {
			Targets []string
			Labels  map[string]string
		} `yaml:"static_configs"`
	} `yaml:"scrape_configs"`
}

// The ports scraped are those that `fairlead up` gives to its processes.
func TestPortsAreThoseOfTheStudio(t *testing.T) {
	file := filepath.Join(t.TempDir(), "studio.yaml")
	text := "studio: harbour-row\nbays:\n"
	for _, bay := range []string{"north", "south", "quay", "pier"} {
		text += "- {name: " + bay + ", feeds: [{name: alder, map: alder.yaml, tail: shots.csv}]}\n"
	}
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	config, err := studio.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]string{"engine": config.Store.Listen}
	for _, c := range config.Children("fairlead") {
		if i := slices.Index(c.Args, "--metrics"); c.Name != "engine" && i >= 0 {
			want[c.Name] = c.Args[i+1]
		}
	}
	var f scrapeConfig
	readYAML(t, "prometheus.yml", &f)
	got := map[string]string{}
	for _, j := range f.Jobs {
		for _, s := range j.Statics {
			name := j.Name
			if bay := s.Labels["bay"]; bay != "" {
				name += "-" + bay
			}
			got[name] = strings.Join(s.Targets, " ")
			if s.Labels["studio"] != config.Studio {
				t.Errorf("%s: label studio is %q", name, s.Labels["studio"])
			}
		}
	}
	for name, address := range want {
		if got[name] != address {
			t.Errorf("%s is scraped at %q, and serves at %s", name, got[name], address)
		}
		delete(got, name)
	}
	for name, address := range got {
		t.Errorf("%s at %s is no process of the studio", name, address)
	}
}
