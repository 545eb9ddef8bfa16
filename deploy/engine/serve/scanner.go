package serve

import "strings"

type kind int

const (
	word kind = iota
	quoted
	open
	closing
	other
)

type token struct {
	kind     kind
	text     string
	pos, end int
}

// is compares a bare word with a keyword in lower case.
func (t token) is(keyword string) bool { return t.kind == word && strings.EqualFold(t.text, keyword) }

// scanner splits ClickHouse SQL into tokens, just well enough to know what stands in quotes, comments and
// brackets. It never fails: an unfinished quote reaches to the end.
type scanner struct {
	text  string
	pos   int
	depth int
}

func (s *scanner) peek() (token, bool) {
	ahead := *s
	return ahead.next()
}

func (s *scanner) next() (token, bool) {
	s.skip()
	if s.pos >= len(s.text) {
		return token{}, false
	}
	start, c := s.pos, s.text[s.pos]
	k := other
	switch {
	case c == '\'' || c == '"' || c == '`':
		k = quoted
		s.pos = endOfQuote(s.text, s.pos)
	case c == '$' && s.heredoc():
		k = quoted
	case isWord(c):
		k = word
		for s.pos < len(s.text) && isWord(s.text[s.pos]) {
			s.pos++
		}
	default:
		s.pos++
		switch c {
		case '(', '[', '{':
			k = open
			s.depth++
		case ')', ']', '}':
			k = closing
			s.depth = max(0, s.depth-1)
		}
	}
	return token{kind: k, text: s.text[start:s.pos], pos: start, end: s.pos}, true
}

// skip passes blanks and comments.
func (s *scanner) skip() {
	for s.pos < len(s.text) {
		rest := s.text[s.pos:]
		switch {
		case rest[0] == ' ' || rest[0] == '\t' || rest[0] == '\n' || rest[0] == '\r' || rest[0] == '\f' || rest[0] == '\v':
			s.pos++
		case strings.HasPrefix(rest, "--") || strings.HasPrefix(rest, "# ") || strings.HasPrefix(rest, "#!"):
			s.pos = end(s.text, s.pos, "\n")
		case strings.HasPrefix(rest, "/*"):
			s.pos = end(s.text, s.pos+2, "*/")
		default:
			return
		}
	}
}

// heredoc passes $tag$ … $tag$.
func (s *scanner) heredoc() bool {
	i := s.pos + 1
	for i < len(s.text) && isWord(s.text[i]) && s.text[i] != '$' {
		i++
	}
	if i >= len(s.text) || s.text[i] != '$' {
		return false
	}
	tag := s.text[s.pos : i+1]
	s.pos = end(s.text, i+1, tag)
	return true
}

// end is the position behind the next mark, or the end of the text.
func end(text string, from int, mark string) int {
	if i := strings.Index(text[from:], mark); i >= 0 {
		return from + i + len(mark)
	}
	return len(text)
}

// endOfQuote is the position behind a quotation; a backslash or a doubled quote does not end it.
func endOfQuote(text string, from int) int {
	q := text[from]
	for i := from + 1; i < len(text); i++ {
		switch {
		case text[i] == '\\':
			i++
		case text[i] == q && i+1 < len(text) && text[i+1] == q:
			i++
		case text[i] == q:
			return i + 1
		}
	}
	return len(text)
}

func isWord(c byte) bool {
	return c == '_' || c >= 0x80 || '0' <= c && c <= '9' || 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z'
}
