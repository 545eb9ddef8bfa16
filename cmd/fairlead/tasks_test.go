package main

import (
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"testing"

	"fairlead/dashboards/gate"
)

// What the table of tasks names is there: each command with its subcommands and
// flags, and each page.
func TestTasksNameWhatIsThere(t *testing.T) {
	text, err := os.ReadFile("../../deploy/TASKS.md")
	if err != nil {
		t.Fatal(err)
	}
	commands, pages := 0, 0
	for _, code := range regexp.MustCompile("`([^`]+)`").FindAllStringSubmatch(string(text), -1) {
		for _, part := range strings.Split(strings.ReplaceAll(code[1], `\|`, "|"), " | ") {
			words := strings.Fields(part)
			switch {
			case words[0] == "fairlead":
				commands++
				c, rest, err := newRoot().Find(words[1:])
				if err != nil || c.HasSubCommands() && len(rest) > 0 {
					t.Errorf("%s: there is no such command (%v)", part, err)
					continue
				}
				for _, w := range rest {
					if name, is := strings.CutPrefix(w, "--"); is && c.Flag(name) == nil {
						t.Errorf("%s: there is no flag --%s", part, name)
					}
				}
			case strings.HasPrefix(words[0], "/"):
				pages++
				path := strings.NewReplacer("BAY", "north", "NUMBER", "2", "VISIT", "v", "VERDICT", "v").Replace(words[0])
				if !gate.Known(httptest.NewRequest("GET", path, nil)) {
					t.Errorf("%s: there is no such page", words[0])
				}
			}
		}
	}
	if commands < 30 || pages < 15 {
		t.Errorf("%d commands and %d pages read: the table is not what this reads", commands, pages)
	}
}
