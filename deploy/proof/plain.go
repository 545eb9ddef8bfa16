package proof

import (
	"html"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var (
	unshown = regexp.MustCompile(`(?s)<(script|style|code)\b[^>]*>.*?</(script|style|code)>|<!--.*?-->`)
	spoken  = regexp.MustCompile(`\s(?:title|aria-label|placeholder|alt)="([^"]*)"`)
	anyTag  = regexp.MustCompile(`(?s)<[^>]*>`)
	ofCode  = map[string]*regexp.Regexp{
		"a raw name":                 regexp.MustCompile(`\b[a-z][a-z0-9]*(?:_[a-z0-9]+)+\b`),
		"a constant":                 regexp.MustCompile(`\b[A-Z]{2,}(?:_[A-Z0-9]+)+\b`),
		"a type or a call":           regexp.MustCompile(`\b[a-z]{2,}\.[A-Z][A-Za-z]+\b|\b[A-Z][a-z]+[A-Z][a-z]+\.[A-Z]|\b[a-zA-Z]+\(\)`),
		"a value as Go prints it":    regexp.MustCompile(`%!|<nil>|\bnil\b|map\[|&\{|\[\]string|\bNaN\b|[+-]?\bInf\b|0x[0-9a-f]{4}|e[+-]\d\d\b`),
		"a unit of the store":        regexp.MustCompile(`\d\s*mps\b|\bmps\b|\bdeg\b|\bunix\b`),
		"an identity":                regexp.MustCompile(`\b[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}\b|\b[0-9a-f]{16,}\b|\b[0-9A-HJKMNP-TV-Z]{26}\b`),
		"a zero with a sign":         regexp.MustCompile(`(?:^|[\s(])[-−]0(?:[.,]0+)?(?:[^0-9.,]|$)`),
		"a slot that was not filled": regexp.MustCompile(`\{\{|\}\}|undefined`),
	}
)

// PlainWords finds what only the program's makers understand in what a page shows
// and reads out: names of columns and types, identities, unformatted values. What
// stands in <code> is meant to be copied and may be so; so may the words of except.
func PlainWords(t testing.TB, what, page string, except ...string) {
	t.Helper()
	page = unshown.ReplaceAllString(page, " ")
	var b strings.Builder
	for _, m := range spoken.FindAllStringSubmatch(page, -1) {
		b.WriteString(m[1] + "\n")
	}
	b.WriteString(anyTag.ReplaceAllString(page, " \n"))
	text := html.UnescapeString(b.String())
	for kind, found := range ofCode {
		for _, at := range found.FindAllStringIndex(text, -1) {
			word := text[at[0]:at[1]]
			if slices.Contains(except, strings.TrimSpace(word)) {
				continue
			}
			around := text[max(0, at[0]-60):min(len(text), at[1]+40)]
			t.Errorf("%s shows %s, %q: …%s…", what, kind, word, strings.Join(strings.Fields(around), " "))
		}
	}
}
