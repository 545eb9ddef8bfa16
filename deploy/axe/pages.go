package axe

import (
	"html"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fairlead/dashboards/gate"
)

// noPages says of routes that are read and are no pages what they are.
var noPages = map[string]string{
	"GET /healthz":              "a word for programs",
	"GET /targets":              "a list for Prometheus",
	"GET /calendar/{token}":     "a calendar",
	"GET /enrol/authority":      "a certificate",
	"GET /fleet/answers/{file}": "a file to take along",
	"GET /fleet/jobs/{id}":      "the page of a question, while it is worked on",
	"GET /gate/still":           "a word for the page's script",
	"GET /players/{id}/swing":   "a part of the player's page",
}

// pagePatterns lists the routes of the gate's table that are pages.
func pagePatterns() (out []string) {
	part := regexp.MustCompile(`^GET /api/|/assets/|\.csv$|/paper\.(pdf|txt|json)$|/(live|events)$`)
	for _, r := range gate.Table {
		if strings.HasPrefix(r.Pattern, "GET ") && !part.MatchString(r.Pattern) && noPages[r.Pattern] == "" {
			out = append(out, r.Pattern)
		}
	}
	return out
}

// patterns finds the route of an address, as the console does.
func patterns() func(path string) string {
	mux := http.NewServeMux()
	for _, r := range gate.Table {
		mux.Handle(r.Pattern, r)
	}
	return func(path string) string {
		_, pattern := mux.Handler(httptest.NewRequest(http.MethodGet, path, nil))
		return pattern
	}
}

// Unseen lists the pages below some folders ("/fleet/") that none of the paths
// is of, so that a new page can't be forgotten by those who look at all.
func Unseen(paths []string, folders ...string) []string {
	of, seen := patterns(), map[string]bool{}
	for _, p := range paths {
		seen[of(p)] = true
	}
	return slices.DeleteFunc(pagePatterns(), func(pattern string) bool {
		return seen[pattern] || !slices.ContainsFunc(folders, func(f string) bool {
			return strings.HasPrefix(strings.TrimSuffix(pattern, "{$}"), "GET "+f)
		})
	})
}

var link = regexp.MustCompile(`href="(/[^"#]*)`)

// Crawl follows the links of a running console from some addresses and from
// every route that needs no name, and returns up to most pages of each route in
// the order in which it came by them. read answers with a page's source, or "" where
// there is none.
func Crawl(read func(path string) string, most int, begin ...string) (pages []string) {
	of, known := patterns(), pagePatterns()
	queue := slices.Clone(begin)
	for _, pattern := range known {
		if path := strings.TrimPrefix(strings.TrimSuffix(pattern, "{$}"), "GET "); !strings.Contains(path, "{") {
			queue = append(queue, path)
		}
	}
	seen, count := map[string]bool{}, map[string]int{}
	for len(queue) > 0 {
		path := queue[0]
		queue = queue[1:]
		pattern := of(path)
		if seen[path] || !slices.Contains(known, pattern) || count[pattern] >= most {
			continue
		}
		seen[path] = true
		source := read(path)
		if !strings.Contains(source, "<main") {
			continue
		}
		count[pattern]++
		pages = append(pages, path)
		for _, m := range link.FindAllStringSubmatch(source, -1) {
			queue = append(queue, html.UnescapeString(m[1]))
		}
	}
	return pages
}

// View is how a page is looked at.
type View struct {
	Scheme string // light or dark
	Wide   int64  // px
}

// Views are those in which the page of a number is looked over: every page by
// each run in one, in turn, and by make prove in all.
func Views(page int) []View {
	all := []View{{"light", 390}, {"dark", 1024}, {"dark", 390}, {"light", 1024}}
	if os.Getenv("FAIRLEAD_PROVE") != "" {
		return all
	}
	return all[page%len(all) : page%len(all)+1]
}

// Demand fails for each page that was not come by.
func Demand(t testing.TB, paths []string, folders ...string) {
	t.Helper()
	for _, pattern := range Unseen(paths, folders...) {
		t.Errorf("no page of %q is looked at: link to one, or say in deploy/axe/pages.go that it is none", pattern)
	}
}
