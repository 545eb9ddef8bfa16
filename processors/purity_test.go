package processors_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The computation is pure: the same input gives the same answer on any machine
// and at any time, so that an answer given to a player can be reproduced.
var pure = []string{"golf", "visit"}

// allowed are the only imports beside other pure packages: arithmetic, data,
// text, and readers and writers that a caller brings.
var allowed = []string{
	"bufio", "bytes", "cmp", "container/heap", "container/list", "encoding", "encoding/binary", "encoding/csv", "encoding/hex",
	"encoding/json", "encoding/xml", "errors", "fmt", "hash/fnv", "hash/crc32", "hash/maphash", "html", "io", "iter", "maps", "math",
	"math/big",
	"math/bits", "math/cmplx", "math/rand", "math/rand/v2", "reflect", "regexp", "slices", "sort", "strconv", "strings",
	"sync", "sync/atomic", "context", "runtime", "text/tabwriter", "time", "unicode", "unicode/utf8", "unsafe", "embed",
	"crypto/sha256", "encoding/base64",
	"fairlead/ingest/contract/unit", "fairlead/ingest/contract/unit/table", "fairlead/ingest/contract/glossary",
	"fairlead/ingest/contract/event", "google.golang.org/protobuf/proto",
	"google.golang.org/protobuf/reflect/protoreflect", "golang.org/x/sync/errgroup",
	"golang.org/x/text/unicode/norm", "golang.org/x/text/encoding/unicode", // letters, as they are written and stored
}

// callsTheWorld are the functions of allowed packages that are not pure: the
// clock, the process's output, and randomness that nobody seeded.
var callsTheWorld = map[string]func(name string) bool{
	"time":         oneOf("Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker"),
	"fmt":          oneOf("Print", "Printf", "Println", "Scan", "Scanf", "Scanln"),
	"math/rand":    func(n string) bool { return !strings.HasPrefix(n, "New") && !isType(n) },
	"math/rand/v2": func(n string) bool { return !strings.HasPrefix(n, "New") && !isType(n) },
}

func oneOf(names ...string) func(string) bool {
	return func(n string) bool { return slices.Contains(names, n) }
}

func isType(n string) bool {
	return slices.Contains([]string{"Rand", "Source", "Source64", "Zipf", "PCG", "ChaCha8"}, n)
}

// impurities returns what keeps one file from being pure.
func impurities(fset *token.FileSet, file *ast.File) []string {
	var out []string
	say := func(pos token.Pos, format string, args ...any) {
		out = append(out, fmt.Sprintf("%s: %s", fset.Position(pos), fmt.Sprintf(format, args...)))
	}
	local := map[string]string{} // name in the file: import path
	for _, spec := range file.Imports {
		path, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			say(spec.Pos(), "import %s cannot be read", spec.Path.Value)
			continue
		}
		if !pureImport(path) {
			say(spec.Pos(), "imports %s", path)
		}
		name := path[strings.LastIndex(path, "/")+1:]
		if name == "v2" {
			name = filepath.Base(filepath.Dir(path))
		}
		if spec.Name != nil {
			name = spec.Name.Name
		}
		if name == "." {
			say(spec.Pos(), "imports %s into its own names, where its use cannot be seen", path)
		}
		local[name] = path
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.SelectorExpr:
			if id, ok := x.X.(*ast.Ident); ok && id.Obj == nil {
				if bad := callsTheWorld[local[id.Name]]; bad != nil && bad(x.Sel.Name) {
					say(x.Pos(), "uses %s.%s", id.Name, x.Sel.Name)
				}
			}
		case *ast.CallExpr:
			if id, ok := x.Fun.(*ast.Ident); ok && id.Obj == nil && (id.Name == "print" || id.Name == "println") {
				say(x.Pos(), "writes with %s", id.Name)
			}
		}
		return true
	})
	return out
}

func pureImport(path string) bool {
	if slices.Contains(allowed, path) || strings.HasPrefix(path, "gonum.org/v1/gonum/") {
		return true
	}
	rest, ours := strings.CutPrefix(path, "fairlead/processors/")
	return ours && slices.Contains(pure, strings.SplitN(rest, "/", 2)[0])
}

func TestPurePackagesDoNoIO(t *testing.T) {
	checked := 0
	for _, name := range pure {
		if _, err := os.Stat(name); os.IsNotExist(err) {
			t.Errorf("processors/%s is not there: a pure room that was renamed has to be renamed in this test", name)
			continue
		}
		err := filepath.WalkDir(name, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			fset := token.NewFileSet()
			file, err := parser.ParseFile(fset, path, nil, 0)
			if err != nil {
				return err
			}
			checked++
			for _, bad := range impurities(fset, file) {
				t.Error(bad)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if checked == 0 {
		t.Fatal("no file of a pure package was found")
	}
}

// The check itself has to see what it is for.
func TestImpuritiesAreSeen(t *testing.T) {
	for name, c := range map[string]struct {
		body string
		want int
	}{
		"files":            {"import \"os\"\nvar _ = os.Args", 1},
		"network":          {"import \"net/http\"\nvar _ = http.Get", 1},
		"database":         {"import _ \"database/sql\"", 1},
		"file system":      {"import \"io/fs\"\nvar _ fs.FS", 1},
		"broker":           {"import \"github.com/nats-io/nats.go\"\nvar _ nats.Conn", 1},
		"store":            {"import \"github.com/ClickHouse/clickhouse-go/v2\"\nvar _ = clickhouse.Open", 1},
		"unclean room":     {"import \"fairlead/processors/hub/store\"\nvar _ = store.X", 1},
		"other room":       {"import \"fairlead/dashboards/console\"\nvar _ = console.X", 1},
		"log":              {"import \"log/slog\"\nvar _ = slog.Info", 1},
		"clock":            {"import \"time\"\nvar now = time.Now()", 1},
		"clock as value":   {"import \"time\"\nvar now = time.Now", 1},
		"renamed clock":    {"import t \"time\"\nvar now = t.Now()", 1},
		"dot import":       {"import . \"time\"\nvar now = Now()", 1},
		"sleep":            {"import \"time\"\nfunc f() { time.Sleep(1) }", 1},
		"output":           {"import \"fmt\"\nfunc f() { fmt.Println(); println() }", 2},
		"unseeded":         {"import \"math/rand/v2\"\nvar x = rand.Float64()", 1},
		"seeded":           {"import \"math/rand/v2\"\nfunc f(r *rand.Rand) *rand.Rand { return rand.New(rand.NewPCG(1, 2)) }", 0},
		"durations":        {"import \"time\"\nconst d = 3 * time.Second", 0},
		"readers, writers": {"import (\"fmt\"; \"io\")\nfunc f(w io.Writer) { fmt.Fprintln(w) }", 0},
		"pure neighbours":  {"import (\"fairlead/processors/golf/club\"; \"gonum.org/v1/gonum/mat\")\nvar _, _ = club.Inch, mat.Dense{}", 0},
	} {
		fset := token.NewFileSet()
		file, err := parser.ParseFile(fset, "x.go", "package x\n"+c.body, 0)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got := impurities(fset, file); len(got) != c.want {
			t.Errorf("%s: %d found (%v), want %d", name, len(got), got, c.want)
		}
	}
}
