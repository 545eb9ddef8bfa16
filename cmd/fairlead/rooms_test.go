package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// rooms reads DEVELOPERS.md's table: a room, and the rooms it may import.
func rooms(t *testing.T, root string) map[string][]string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	row := regexp.MustCompile("(?m)^\\| `([a-z/]+)` \\|[^|]*\\|([^|]*)\\|$")
	name := regexp.MustCompile("`([a-z/]+)`")
	out := map[string][]string{}
	for _, m := range row.FindAllStringSubmatch(string(text), -1) {
		known := []string{m[1]}
		for _, n := range name.FindAllStringSubmatch(m[2], -1) {
			known = append(known, n[1])
		}
		out[m[1]] = known
	}
	return out
}

func within(folder, room string) bool { return folder == room || strings.HasPrefix(folder, room+"/") }

// roomOf is the longest row that fits a folder, "" without one.
func roomOf(folder string, table map[string][]string) string {
	for ; folder != "."; folder = path.Dir(folder) {
		if _, ok := table[folder]; ok {
			return folder
		}
	}
	return ""
}

// mayKnow says whether a package of one room may import a folder. A row does not
// open the rows that stand below it: the hub's room does not know its process.
func mayKnow(room, folder string, table map[string][]string) bool {
	of := roomOf(folder, table)
	for _, known := range table[room] {
		if within(folder, known) && (known != room || of == room) {
			return true
		}
	}
	return false
}

func TestRoomsKnowOnlyWhatTheTableSays(t *testing.T) {
	root := filepath.Join("..", "..")
	table := rooms(t, root)
	if len(table) < 10 {
		t.Fatalf("only %d rows were found in the table of DEVELOPERS.md", len(table))
	}
	for room := range table {
		if _, err := os.Stat(filepath.Join(root, room)); err != nil {
			t.Errorf("DEVELOPERS.md has a row for %s, which is not there", room)
		}
	}
	checked := 0
	for _, top := range []string{"cmd", "ingest", "processors", "dashboards", "deploy"} {
		err := filepath.WalkDir(filepath.Join(root, top), func(file string, d fs.DirEntry, err error) error {
			if err == nil && d.Name() == "node_modules" {
				return fs.SkipDir
			}
			if err != nil || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
				return err
			}
			folder, _ := filepath.Rel(root, filepath.Dir(file))
			folder = filepath.ToSlash(folder)
			parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
			if err != nil {
				return err
			}
			room := roomOf(folder, table)
			if room == "" && parsed.Name.Name != "processors" {
				t.Errorf("%s: no row of DEVELOPERS.md's table says which room this is", folder)
			}
			for _, spec := range parsed.Imports {
				imported, _ := strconv.Unquote(spec.Path.Value)
				other, ours := strings.CutPrefix(imported, "fairlead/")
				if !ours {
					continue
				}
				checked++
				if !mayKnow(room, other, table) {
					t.Errorf("%s imports %s: the row of %s in DEVELOPERS.md does not allow it", file, other, room)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if checked < 200 {
		t.Fatalf("only %d imports were checked", checked)
	}
}

func TestTheRoomsCheckSees(t *testing.T) {
	table := map[string][]string{"a": {"a", "b"}, "b": {"b"}, "b/run": {"b/run", "a", "b"}}
	for _, c := range []struct {
		room, folder string
		want         bool
	}{{"a", "a/x", true}, {"a", "b/x", true}, {"b", "a", false}, {"b", "b/run", false}, {"b/run", "b/x", true}, {"b/run", "a", true}} {
		if got := mayKnow(c.room, c.folder, table); got != c.want {
			t.Errorf("%s may know %s: %v, want %v", c.room, c.folder, got, c.want)
		}
	}
}
