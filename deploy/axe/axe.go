// Package axe is the checker with which tests look for what keeps people from
// using a page: contrast, names, roles, order. It is fetched by npm, for tests only.
package axe

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

// Script is the checker, to be run in a page.
func Script(t testing.TB) string {
	t.Helper()
	_, here, _, _ := runtime.Caller(0)
	here = filepath.Dir(here)
	if !filepath.IsAbs(here) { // built with trimmed paths: tests run in their package's folder
		for here = "deploy/axe"; ; here = filepath.Join("..", here) {
			if _, err := os.Stat(filepath.Join(here, "axe.go")); err == nil || len(here) > 60 {
				break
			}
		}
	}
	text, err := os.ReadFile(filepath.Join(here, "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatalf("the checker of pages is missing: deploy/setup.sh test (%v)", err)
	}
	return string(text)
}

// Look runs the checker over a part of the page that is shown, "document" for all
// of it, and leaves what it found in window.axeFound: a line for each element at fault.
func Look(part string) string { return `(window.axeFound = null, axe.run(` + part + look }

const look = `, {resultTypes: ['violations'], preload: false}).then(r => {
	window.axeFound = r.violations.flatMap(v => v.nodes.map(n => v.id + ': ' + n.target.join(' ') + ': ' + n.failureSummary.replace(/\s+/g, ' ').slice(0, 260)))
}, e => { window.axeFound = ['the checker failed: ' + e] }), true)`
