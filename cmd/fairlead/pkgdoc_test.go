package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// packageDocs counts the files of each package under root, and those of them
// that carry the package comment. Test files do not count.
func packageDocs(root string) (comments map[string][]string, texts map[string]string, err error) {
	comments, texts = map[string][]string{}, map[string]string{}
	err = filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			name := d.Name()
			if path != root && (strings.HasPrefix(name, ".") || strings.HasPrefix(name, "_") || name == "testdata" || name == "node_modules") {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.PackageClauseOnly|parser.ParseComments)
		if err != nil {
			return err
		}
		dir := filepath.Dir(path)
		if comments[dir] == nil {
			comments[dir] = []string{}
		}
		if file.Doc != nil {
			comments[dir] = append(comments[dir], filepath.Base(path))
			texts[dir] = file.Name.Name + "\n" + file.Doc.Text()
		}
		return nil
	})
	return comments, texts, err
}

func TestEveryPackageHasOneComment(t *testing.T) {
	root := filepath.Join("..", "..")
	if _, err := os.Stat(filepath.Join(root, "go.mod")); err != nil {
		t.Fatalf("this is not the module's root: %v", err)
	}
	comments, texts, err := packageDocs(root)
	if err != nil {
		t.Fatal(err)
	}
	if len(comments) < 3 {
		t.Fatalf("only %d packages found", len(comments))
	}
	for dir, files := range comments {
		switch len(files) {
		case 0:
			t.Errorf("%s has no package comment: put one into doc.go", dir)
		case 1:
			name, text, _ := strings.Cut(texts[dir], "\n")
			want := "Package " + name + " "
			if name == "main" {
				want = "Command "
			}
			if !strings.HasPrefix(text, want) {
				t.Errorf("%s/%s: the package comment starts %.30q, want %q", dir, files[0], text, want)
			}
		default:
			t.Errorf("%s has %d package comments (%s): keep one", dir, len(files), strings.Join(files, ", "))
		}
	}
}

// The check has to see a missing and a doubled comment.
func TestPackageDocsAreCounted(t *testing.T) {
	root := t.TempDir()
	for path, text := range map[string]string{
		"none/a.go": "package none\n", "two/a.go": "// Package two.\npackage two\n", "two/b.go": "// Package two again.\npackage two\n",
		"one/a.go": "// Package one is.\npackage one\n", "one/a_test.go": "// Package one tests.\npackage one\n",
		"one/loose.go": "// Not the package's.\n\npackage one\n", "testdata/x.go": "package x\n",
	} {
		full := filepath.Join(root, path)
		if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	comments, _, err := packageDocs(root)
	if err != nil {
		t.Fatal(err)
	}
	for dir, want := range map[string]int{"none": 0, "two": 2, "one": 1} {
		if got, ok := comments[filepath.Join(root, dir)]; !ok || len(got) != want {
			t.Errorf("%s: %v comments, want %d", dir, got, want)
		}
	}
	if len(comments) != 3 {
		t.Errorf("%d packages, want 3", len(comments))
	}
}
