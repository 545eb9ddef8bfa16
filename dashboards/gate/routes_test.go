package gate

import (
	"go/ast"
	"go/parser"
	"go/token"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Every pattern that a room of the console's address serves stands in the table,
// and the table names none that nobody serves.
func TestTheTableNamesEveryRoute(t *testing.T) {
	served := map[string]string{}
	for _, room := range []string{"console", "fleet", "sheets", "gate"} {
		dir := filepath.Join("..", room)
		files, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
				continue
			}
			for _, pattern := range patternsIn(t, filepath.Join(dir, f.Name())) {
				served[pattern] = f.Name()
			}
		}
	}
	known := map[string]bool{}
	for _, r := range Table {
		if known[r.Pattern] {
			t.Errorf("%s stands in the table twice", r.Pattern)
		}
		known[r.Pattern] = true
		if _, ok := served[r.Pattern]; !ok {
			t.Errorf("%s stands in the table, and no room serves it: take it out", r.Pattern)
		}
		if r.Public == (len(r.Who) > 0) {
			t.Errorf("%s: say who reaches it, or that it is public", r.Pattern)
		}
	}
	for pattern, file := range served {
		if !strings.Contains(pattern, " ") { // the mount of a room, whose own routes are named
			if !slices.ContainsFunc(Table, func(r Route) bool { return strings.Contains(r.Pattern, " "+pattern) }) {
				t.Errorf("%s mounts %s, and the table has no route below it", file, pattern)
			}
			continue
		}
		if !known[pattern] {
			t.Errorf("%s serves %s, and gate.Table does not say who reaches it, so nobody does: add a line there", file, pattern)
		}
	}
	if len(served) < 70 {
		t.Errorf("only %d routes were found in the sources: does this test still read them?", len(served))
	}
}

func patternsIn(t *testing.T, path string) (out []string) {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(file, func(n ast.Node) bool {
		call, ok := n.(*ast.CallExpr)
		if !ok || len(call.Args) != 2 {
			return true
		}
		method, ok := call.Fun.(*ast.SelectorExpr)
		if !ok || method.Sel.Name != "Handle" && method.Sel.Name != "HandleFunc" {
			return true
		}
		if text, ok := call.Args[0].(*ast.BasicLit); ok && text.Kind == token.STRING {
			pattern, _ := strconv.Unquote(text.Value)
			out = append(out, pattern)
		} else if path != filepath.Join("..", "gate", "routes.go") {
			t.Errorf("%s registers a route whose pattern is no literal: write it out, so that the table can be held against it", path)
		}
		return true
	})
	return out
}

var wildcard = regexp.MustCompile(`\{[^}]*\}`)

// addressOfRoute is a method and an address that a pattern matches.
func addressOfRoute(pattern string) (method, path string) {
	method, path, _ = strings.Cut(pattern, " ")
	path = wildcard.ReplaceAllString(strings.TrimSuffix(path, "{$}"), "x")
	if strings.HasSuffix(path, "/assets/") {
		path += "gate.css"
	}
	return method, path
}

// Each route with each role and with none: who may is let through, who may not is
// refused, and nobody else's handler runs.
func TestEachRouteWithEachRoleAndNone(t *testing.T) {
	r := newRig(t)
	visitors := map[Role]*browser{}
	for _, role := range Roles {
		name := "Person " + string(role)
		r.account(name, "", role)
		visitors[role] = r.browser()
		visitors[role].signIn(name)
	}
	stranger := r.browser()
	for _, route := range Table {
		method, path := addressOfRoute(route.Pattern)
		if method == http.MethodPost && (strings.HasPrefix(path, "/gate/")) {
			continue // they act on the accounts of this test; see those of each page
		}
		code, where, text := stranger.do(method, path, nil)
		reached := strings.HasPrefix(text, "reached by") || strings.HasSuffix(path, "/live") && code == http.StatusOK
		switch {
		case route.Public:
			if code != http.StatusOK && !strings.HasPrefix(path, "/gate/first") {
				t.Errorf("public %s: %d for a stranger", route.Pattern, code)
			}
		case reached || code != http.StatusUnauthorized && !(code == http.StatusSeeOther && strings.HasPrefix(where, "/gate/in?to=")):
			t.Errorf("%s: a stranger gets %d %s %.60s", route.Pattern, code, where, text)
		}
		for _, role := range Roles {
			code, where, text := visitors[role].do(method, path, nil)
			reached := code == http.StatusOK || code == http.StatusNoContent
			if want := route.allows([]Role{role}); want != reached && !strings.HasPrefix(path, "/gate/first") {
				t.Errorf("%s as %s: %d, want let through: %v; %s %.80s", route.Pattern, role, code, want, where, text)
			}
			if !reached && strings.HasPrefix(text, "reached by") {
				t.Errorf("%s as %s: refused, and yet served", route.Pattern, role)
			}
		}
	}
}

func TestWhatTheTableDoesNotNameReachesNobody(t *testing.T) {
	r := newRig(t)
	r.account("Jo Marsh", "", Manager)
	jo := r.browser()
	jo.signIn("Jo Marsh")
	for _, path := range []string{"/debug/pprof/", "/metrics", "/api/", "/api/bays/x/raw", "/gate", "/gate/accounts.json", "/bays/x/y/z",
		"//people", "/assets/../people", "/people/", "/%2e%2e/people"} {
		for _, method := range []string{http.MethodGet, http.MethodPost, http.MethodPut, http.MethodDelete, "TRACE", "PROPFIND"} {
			for _, b := range []*browser{jo, r.browser()} {
				if code, _, text := b.do(method, path, nil); strings.HasPrefix(text, "reached by") {
					t.Errorf("%s %s: %d %s", method, path, code, text)
				}
			}
		}
	}
	if code, _, _ := jo.do(http.MethodPut, "/people", nil); code != http.StatusMethodNotAllowed {
		t.Errorf("another method: %d", code)
	}
}
