package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Site is one small change of the source that a test should notice.
type Site struct {
	File   string // path from the top of the repository
	Line   int
	Source string // the line as it is, without blanks around it
	Change string // what is done to it
	from   int    // bytes of the file that are replaced
	to     int
	text   string
}

// Key names a site by what is written there, so that it is found again when lines
// move.
func (s Site) Key() string { return s.File + " | " + s.Source + " | " + s.Change }

// swapped are operators and what they become.
var swapped = map[token.Token]token.Token{
	token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR, token.EQL: token.NEQ, token.NEQ: token.EQL,
	token.ADD: token.SUB, token.SUB: token.ADD, token.MUL: token.QUO, token.QUO: token.MUL, token.LAND: token.LOR, token.LOR: token.LAND,
}

// sites are those of a package's files, tests and generated code left out.
func sites(dir string) ([]Site, error) {
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		return nil, err
	}
	var out []Site
	for _, path := range files {
		if strings.HasSuffix(path, "_test.go") || strings.HasSuffix(path, ".pb.go") {
			continue
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, text, parser.SkipObjectResolution)
		if err != nil {
			return nil, fmt.Errorf("mutate: %w", err)
		}
		lines := strings.Split(string(text), "\n")
		add := func(from, to token.Pos, with, change string) {
			at := set.Position(from)
			out = append(out, Site{filepath.ToSlash(path), at.Line, strings.TrimSpace(lines[at.Line-1]), change,
				set.Position(from).Offset, set.Position(to).Offset, with})
		}
		ast.Inspect(file, func(n ast.Node) bool { return visit(n, add) })
	}
	slices.SortFunc(out, func(a, b Site) int {
		return strings.Compare(fmt.Sprintf("%s%9d", a.File, a.from), fmt.Sprintf("%s%9d", b.File, b.from))
	})
	return out, nil
}

// visit adds what can be changed at a node.
func visit(n ast.Node, add func(from, to token.Pos, with, change string)) bool {
	switch x := n.(type) {
	case *ast.GenDecl:
		return x.Tok != token.IMPORT
	case *ast.BinaryExpr:
		if to, ok := swapped[x.Op]; ok {
			add(x.OpPos, x.OpPos+token.Pos(len(x.Op.String())), to.String(), fmt.Sprintf("%s becomes %s", x.Op, to))
		}
	case *ast.IncDecStmt:
		to := map[token.Token]token.Token{token.INC: token.DEC, token.DEC: token.INC}[x.Tok]
		add(x.TokPos, x.TokPos+2, to.String(), fmt.Sprintf("%s becomes %s", x.Tok, to))
	case *ast.IfStmt:
		add(x.Cond.Pos(), x.Cond.End(), "false", "the condition never holds")
	case *ast.BasicLit:
		if x.Kind == token.INT {
			add(x.Pos(), x.End(), "("+x.Value+"+1)", x.Value+" becomes one more")
		}
	case *ast.Ident:
		if x.Name == "true" || x.Name == "false" {
			to := map[string]string{"true": "false", "false": "true"}[x.Name]
			add(x.Pos(), x.End(), to, x.Name+" becomes "+to)
		}
	case *ast.UnaryExpr:
		if x.Op == token.NOT {
			add(x.OpPos, x.OpPos+1, "", "the not is gone")
		}
	case *ast.ExprStmt:
		add(x.Pos(), x.End(), "", "the call is gone")
	case *ast.AssignStmt:
		if x.Tok != token.DEFINE && len(x.Lhs) == 1 {
			add(x.Lhs[0].Pos(), x.Rhs[0].Pos(), "_ = ", "the assignment is gone")
		}
	case *ast.BranchStmt:
		if x.Label == nil && x.Tok == token.CONTINUE {
			add(x.Pos(), x.End(), "break", "continue becomes break")
		}
	}
	return true
}
