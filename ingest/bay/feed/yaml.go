package feed

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// MapError says what is wrong with a field map, where, and what to try.
type MapError struct {
	File   string
	Line   int    // from 1; 0: the file as a whole
	Key    string // path of the key, such as fields.carry.unit
	Value  string // what stands there
	Reason string
	Hint   string
}

// Error puts the place first: file:line: key: what is wrong; what to try.
func (e *MapError) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ":%d", e.Line)
	}
	b.WriteString(": ")
	if e.Key != "" {
		b.WriteString(e.Key + ": ")
	}
	if e.Value != "" {
		fmt.Fprintf(&b, "%q ", e.Value)
	}
	b.WriteString(e.Reason)
	if e.Hint != "" {
		b.WriteString("; " + e.Hint)
	}
	return b.String()
}

// node is a place in a map file: a YAML node and the path of keys to it.
type node struct {
	file string
	path string
	line int
	n    ast.Node
	// without holds the paths that are read as if they were not there: what was
	// found wrong, so that the rest is looked at too. All nodes share it.
	without map[string]bool
}

// parseYAML returns the root of a map file, which must be one mapping.
func parseYAML(file string, data []byte) (node, error) {
	tree, err := parser.ParseBytes(data, 0)
	if err != nil {
		bad := &MapError{File: file, Reason: err.Error(), Hint: "check the indentation and the quotes there"}
		var syntax *yaml.SyntaxError
		if errors.As(err, &syntax) {
			bad.Reason = syntax.Message
			if syntax.Token != nil && syntax.Token.Position != nil {
				bad.Line, bad.Value = syntax.Token.Position.Line, strings.TrimSpace(syntax.Token.Value)
			}
		}
		return node{}, bad
	}
	var body ast.Node
	for _, doc := range tree.Docs {
		if doc.Body == nil {
			continue
		}
		if body != nil {
			return node{}, &MapError{File: file, Line: doc.Body.GetToken().Position.Line, Reason: "a second document", Hint: "write one map a file"}
		}
		body = doc.Body
	}
	if body == nil {
		return node{}, &MapError{File: file, Reason: "the map is empty", Hint: "begin with `map: 1` and `device: NAME`"}
	}
	return node{file: file, n: body, line: 1, without: map[string]bool{}}, nil
}

func (n node) bad(reason, hint string) error {
	return &MapError{File: n.file, Line: n.line, Key: n.path, Value: n.text(), Reason: reason, Hint: hint}
}

// text is the node's scalar text; empty for mappings and lists.
func (n node) text() string {
	switch v := n.n.(type) {
	case *ast.StringNode:
		return v.Value
	case *ast.LiteralNode:
		return v.Value.Value
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return v.GetToken().Value
	}
	return ""
}

func (n node) child(key string, value ast.Node) node {
	c := node{file: n.file, path: key, line: n.line, n: value, without: n.without}
	if n.path != "" {
		c.path = n.path + "." + key
	}
	if value != nil && value.GetToken() != nil {
		c.line = value.GetToken().Position.Line
	}
	return c
}

type pair struct {
	key   string
	value node
}

// pairs returns the keys and values of a mapping in their order.
func (n node) pairs() ([]pair, error) {
	var values []*ast.MappingValueNode
	switch v := n.n.(type) {
	case *ast.MappingNode:
		values = v.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{v}
	default:
		return nil, n.bad("is not a list of keys and values", "write `key: value` lines below it")
	}
	var out []pair
	for _, v := range values {
		key := node{n: v.Key}.text()
		child := n.child(key, v.Value)
		child.line = v.Key.GetToken().Position.Line
		if key == "" {
			return nil, child.bad("is not a key of this map", "write a plain word as the key")
		}
		if slices.ContainsFunc(out, func(p pair) bool { return p.key == key }) {
			return nil, child.bad("stands here a second time", "keep one of the two")
		}
		if n.without[child.path] {
			continue
		}
		out = append(out, pair{key, child})
	}
	return out, nil
}

// keys returns a mapping by key and refuses keys that are not allowed.
func (n node) keys(allowed ...string) (map[string]node, error) {
	pairs, err := n.pairs()
	if err != nil {
		return nil, err
	}
	out := map[string]node{}
	var wrong []error
	for _, p := range pairs {
		if !slices.Contains(allowed, p.key) {
			wrong = append(wrong, p.value.bad("unknown key", "use one of "+strings.Join(allowed, ", ")))
		}
		out[p.key] = p.value
	}
	return out, errors.Join(wrong...)
}

// str returns a text; a bare number counts as text, true and null do not.
func (n node) str() (string, error) {
	switch n.n.(type) {
	case *ast.StringNode, *ast.LiteralNode, *ast.IntegerNode, *ast.FloatNode:
		return n.text(), nil
	}
	return "", n.bad("is not a text", "write one word, in quotes if it has special characters")
}

// oneOf returns a text that must be one of the given words.
func (n node) oneOf(words ...string) (string, error) {
	s, err := n.str()
	if err == nil && !slices.Contains(words, s) {
		err = n.bad("is not known here", "use one of "+strings.Join(words, ", "))
	}
	return s, err
}

func (n node) boolean() (bool, error) {
	if v, ok := n.n.(*ast.BoolNode); ok {
		return v.Value, nil
	}
	return false, n.bad("is neither true nor false", "write true or false")
}

// integer returns a whole number within lo and hi.
func (n node) integer(lo, hi int) (int, error) {
	if v, ok := n.n.(*ast.IntegerNode); ok {
		var i int
		if _, err := fmt.Sscan(fmt.Sprint(v.Value), &i); err == nil && i >= lo && i <= hi {
			return i, nil
		}
	}
	return 0, n.bad(fmt.Sprintf("is not a whole number from %d to %d", lo, hi), "")
}

func (n node) number() (float64, error) {
	switch n.n.(type) {
	case *ast.IntegerNode, *ast.FloatNode:
		var f float64
		if _, err := fmt.Sscan(n.text(), &f); err == nil && !math.IsInf(f, 0) && !math.IsNaN(f) {
			return f, nil
		}
	}
	return 0, n.bad("is not a number", "write it with a decimal point, without its unit")
}

// list returns the items of a list; a single value is a list of one.
func (n node) list() []node {
	seq, ok := n.n.(*ast.SequenceNode)
	if !ok {
		return []node{n}
	}
	var out []node
	for i, v := range seq.Values {
		if c := n.child(fmt.Sprint(i+1), v); !n.without[c.path] {
			out = append(out, c)
		}
	}
	return out
}

func (n node) strs() ([]string, error) {
	var out []string
	for _, item := range n.list() {
		s, err := item.str()
		if err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, nil
}
