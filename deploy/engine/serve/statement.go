package serve

import (
	"errors"
	"strings"
)

// Statement is what a request asks for.
type Statement struct {
	// SQL is the statement; of an INSERT with rows only the part before FORMAT or VALUES.
	SQL string
	// Rows says that the statement is an INSERT and its rows follow.
	Rows bool
	// Format is the format of the rows, or of the output; empty if the statement names none.
	Format string
	// Offset is where the rows begin in the text, if Rows.
	Offset int
	// Keyword is the first word in lower case.
	Keyword string
}

var (
	errEmpty = errors.New("Code: 62. DB::Exception: Empty query: send the statement as the request's body or as ?query=… (SYNTAX_ERROR)")
	errFiles = errors.New("Code: 344. DB::Exception: INTO OUTFILE and FROM INFILE would reach into the engine's own folders: " +
		"take the output from the response, and send rows as the body. (SUPPORT_IS_DISABLED)")
	errNoRows = errors.New("Code: 62. DB::Exception: INSERT without rows: it goes on with FORMAT name and the rows, " +
		"with VALUES, or with a SELECT. (SYNTAX_ERROR)")
)

// Parse tells the statement at the head of text from the rows behind it. It reads only as much of SQL as that
// takes; whether the statement is right is for the engine to say.
func Parse(text string) (Statement, error) {
	s := scanner{text: text}
	first, ok := s.next()
	if !ok {
		return Statement{}, errEmpty
	}
	for first.kind == open && first.text == "(" { // (SELECT …) UNION ALL (SELECT …)
		if first, ok = s.next(); !ok {
			break
		}
	}
	keyword := strings.ToLower(first.text)
	if first.is("insert") {
		return parseInsert(text)
	}
	return parseOther(text, keyword)
}

func parseInsert(text string) (Statement, error) {
	st := Statement{SQL: text, Keyword: "insert"}
	s := scanner{text: text}
	s.next() // INSERT
	t, ok := s.next()
	for ok && (t.is("into") || t.is("table") || t.is("function")) {
		t, ok = s.next()
	}
	// t is the table, whatever it is called: a table may be named 'values'. Its dotted parts follow.
	for ok {
		if t, ok = s.next(); !ok || t.text != "." {
			break
		}
		t, ok = s.next()
	}
	afterName := true
	for ; ok; t, ok = s.next() {
		switch {
		case s.depth == 1 && t.kind == open && afterName:
			// Columns, or a whole SELECT in parentheses.
			inner, _ := s.peek()
			if inner.is("select") || inner.is("with") {
				return st, nil
			}
		case s.depth > 0 || t.kind == closing:
		case t.is("select") || t.is("with") || t.is("explain") || t.is("watch"):
			return parseOther(text, "insert")
		case t.is("infile"):
			return st, errFiles
		case t.is("values"):
			st.SQL, st.Rows, st.Format, st.Offset = text[:t.pos], true, "Values", t.end
			return st, nil
		case t.is("format"):
			name, named := s.next()
			if !named || name.kind != word {
				return st, nil // the engine will complain
			}
			st.SQL, st.Rows, st.Format, st.Offset = text[:t.pos], true, name.text, rowsAfter(text, name.end)
			return st, nil
		}
		if t.kind == word {
			afterName = false
		}
	}
	return st, errNoRows
}

// rowsAfter skips what separates the name of a format from its rows: blanks and one end of line.
func rowsAfter(text string, i int) int {
	for i < len(text) && (text[i] == ' ' || text[i] == '\t' || text[i] == '\r' || text[i] == ';') {
		i++
	}
	if i < len(text) && text[i] == '\n' {
		i++
	}
	return i
}

// parseOther finds the output format: FORMAT and a word at the very end, or before SETTINGS.
func parseOther(text, keyword string) (Statement, error) {
	st := Statement{SQL: text, Keyword: keyword}
	s := scanner{text: text}
	var before token
	for {
		t, ok := s.next()
		if !ok {
			return st, nil
		}
		if s.depth == 0 && before.is("into") && t.is("outfile") {
			return st, errFiles
		}
		if s.depth == 0 && before.is("format") && t.kind == word {
			after, more := s.peek()
			if !more || after.text == ";" || after.is("settings") {
				st.Format = t.text
			}
		}
		before = t
	}
}
