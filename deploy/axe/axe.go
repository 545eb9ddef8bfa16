// Package axe is the checker with which tests look for what keeps people from
// using a page: contrast, names, roles, order. It is fetched by npm, for tests only.
package axe

import (
	"context"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"fairlead/deploy/proof"
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

// Faults looks over the page that a tab shows, as by day or by night, and returns a line for each element at fault.
func Faults(t testing.TB, ctx context.Context, scheme string) (faults []string) {
	t.Helper()
	err := chromedp.Do(ctx, func(ctx context.Context, target *chromedp.Target) (v chromedp.Void, err error) {
		_, err = cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return v, err
	})
	if err == nil {
		_, err = chromedp.Run(ctx, chromedp.Evaluate[bool](Script(t)+`;`+Look("document")))
	}
	if err != nil {
		t.Fatalf("the checker of pages: %v", err)
	}
	proof.Until(t, "the page is checked", func() bool {
		faults, err = chromedp.Run(ctx, chromedp.Evaluate[[]string](`window.axeFound || ['']`))
		return err == nil && (len(faults) == 0 || faults[0] != "")
	})
	return faults
}

// Look runs the checker over a part of the page that is shown, "document" for all
// of it, and leaves what it found in window.axeFound: a line for each element at fault.
func Look(part string) string { return `(window.axeFound = null, axe.run(` + part + look }

const look = `, {resultTypes: ['violations'], preload: false}).then(r => {
	window.axeFound = r.violations.flatMap(v => v.nodes.map(n => v.id + ': ' + n.target.join(' ') + ': ' + n.failureSummary.replace(/\s+/g, ' ').slice(0, 260)))
}, e => { window.axeFound = ['the checker failed: ' + e] }), true)`
