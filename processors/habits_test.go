package processors_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/scanner"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

// What the whole house keeps to: no context is stored, so that whoever calls says
// how long; no test sleeps (proof.Until waits for what is asked, proof.Pause is for
// the passing of time itself); no property is drawn by a seed of the day; no
// line is longer than 140 characters, less what stands in backquotes, which is another
// language; no statement of SQL stands away from the store, where one file is a
// question and a test asks it.
func TestTheHouseKeepsItsHabits(t *testing.T) {
	fset := token.NewFileSet()
	files := 0
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != ".." && (strings.HasPrefix(d.Name(), ".") || d.Name() == "bin" || d.Name() == "var") {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, ".pb.go") {
			return nil
		}
		file, err := parser.ParseFile(fset, path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		files++
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for _, fault := range append(badHabits(fset, file, path), longLines(text, path)...) {
			t.Error(fault)
		}
		return nil
	})
	if err != nil || files < 500 {
		t.Fatalf("%d files were read: %v", files, err)
	}
}

// badHabits are the places of a file that do otherwise.
func badHabits(fset *token.FileSet, file *ast.File, path string) (out []string) {
	test := strings.HasSuffix(path, "_test.go")
	say := func(n ast.Node, words string) { out = append(out, fset.Position(n.Pos()).String()+": "+words) }
	called := func(e ast.Expr) string {
		if s, ok := e.(*ast.SelectorExpr); ok {
			if p, ok := s.X.(*ast.Ident); ok {
				return p.Name + "." + s.Sel.Name
			}
		}
		return ""
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.StructType:
			for _, f := range n.Fields.List {
				if !test && called(f.Type) == "context.Context" {
					say(f, "a context is stored: pass it to what needs it")
				}
			}
		case *ast.BasicLit:
			if n.Kind == token.STRING && !test && !mayAsk.MatchString(filepath.ToSlash(path)) && statement.MatchString(n.Value) {
				say(n, "a statement of SQL: put it into a file of processors/hub/store/question")
			}
		case *ast.CallExpr:
			switch name := called(n.Fun); {
			case test && name == "time.Sleep":
				say(n, "a test sleeps: wait with proof.Until, or let time pass with proof.Pause")
			case name == "rapid.Check":
				if filepath.Base(filepath.Dir(path)) != "proof" {
					say(n, "a property with a seed of the day: use proof.Check")
				}
			}
		}
		return true
	})
	return out
}

// mayAsk are the rooms in which statements may stand: the store's, the engine's,
// which judges those of others, and where the database of a device is read.
var mayAsk = regexp.MustCompile(`^(\.\./)?(processors/)?(hub/store|deploy/engine|ingest/bay/sheet)/`)

// statement is the beginning of one, or of a select within one.
var statement = regexp.MustCompile("^[\"`(]\\s*(SELECT|INSERT INTO|DELETE FROM|ALTER TABLE|" +
	"(CREATE|DROP) (TABLE|DATABASE|VIEW)|WITH \\w+ AS) |\\(SELECT ")

// longLines are the lines of a source that are longer than 140 characters, without
// what they have of texts in backquotes.
func longLines(text []byte, path string) (out []string) {
	var s scanner.Scanner
	file := token.NewFileSet().AddFile(path, -1, len(text))
	s.Init(file, text, nil, scanner.ScanComments)
	quoted := map[int]int{} // line: characters
	for {
		pos, kind, lit := s.Scan()
		if kind == token.EOF {
			break
		}
		if kind == token.STRING && lit[0] == '`' {
			for i, part := range strings.Split(lit, "\n") {
				quoted[file.Line(pos)+i] += utf8.RuneCountInString(part)
			}
		}
	}
	for i, line := range strings.Split(string(text), "\n") {
		if n := utf8.RuneCountInString(line) - quoted[i+1]; n > 140 {
			out = append(out, fmt.Sprintf("%s:%d: %d characters: break the line after a comma, an operator or a word", path, i+1, n))
		}
	}
	return out
}

func TestLongLinesAreSeen(t *testing.T) {
	long := strings.Repeat("a", 141)
	text := "package p\n\n// " + long + "\nvar x = `\n" + long + "` + `" + long + "`\nvar y = \"" + long + "\"\n"
	got := longLines([]byte(text), "p.go")
	if len(got) != 2 || !strings.HasPrefix(got[0], "p.go:3: ") || !strings.HasPrefix(got[1], "p.go:6: ") {
		t.Errorf("long lines: %q", got)
	}
}

func TestBadHabitsAreSeen(t *testing.T) {
	for name, c := range map[string]struct {
		path, text string
		want       int
	}{
		"a stored context": {"a.go", "type a struct{ ctx context.Context }", 1},
		"a test's browser": {"a_test.go", "type a struct{ tab context.Context }", 0},
		"a nap":            {"a_test.go", "func f() { time.Sleep(1) }", 1},
		"a program's nap":  {"a.go", "func f() { time.Sleep(1) }", 0},
		"a property":       {"a_test.go", "func f() { rapid.Check(nil, nil) }", 1},
		"a question":       {"a.go", "const q = `\n\tSELECT count() FROM entries`", 1},
		"a part of one":    {"a.go", "const q = \"n IN (SELECT n FROM trials)\"", 1},
		"the store's":      {"../processors/hub/store/a.go", "const q = \"SELECT 1\"", 0},
		"words":            {"a.go", "const q = \"ask with 'SELECT count() FROM entries'\"", 0},
		"proof's own":      {"deploy/proof/a.go", "func f() { rapid.Check(nil, nil) }", 0},
	} {
		fset := token.NewFileSet()
		file, err := parser.ParseFile(fset, c.path, "package p\n"+c.text, 0)
		if err != nil {
			t.Fatal(err)
		}
		if got := badHabits(fset, file, c.path); len(got) != c.want {
			t.Errorf("%s: %d faults, not %d: %v", name, len(got), c.want, got)
		}
	}
}
