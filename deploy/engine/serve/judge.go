package serve

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"fairlead/deploy/engine/chdb"
)

// judge decides what a user who may not do everything gets through. It does not read SQL itself: the engine's
// own parser writes the statement anew (formatQuery takes exactly one, and no comment survives it) and lists
// its tree (EXPLAIN AST). What is run is the text that was judged. The engine's readonly mode stands behind it.
type judge struct {
	mu       sync.Mutex
	session  *session
	database string
	denied   map[string]bool // table functions that reach out of the database
}

// safeSources are the table functions that only make rows.
var safeSources = []string{"numbers", "numbers_mt", "zeros", "zeros_mt", "generateseries", "generate_series", "values",
	"sqlstandardvalues", "null", "format", "primes", "generaterandom"}

// deniedFunctions are the functions of one row that read files, other machines, dictionaries or the server.
var deniedFunctions = []string{"file", "catboostevaluate", "evalmlmethod", "getserversetting", "getmacro", "serveruuid",
	"getclienthttpheader", "hascolumnintable", "filesystemavailable", "filesystemcapacity", "filesystemunreserved",
	"getserverport", "lemmatize", "synonyms", "addresstoline", "addresstolinewithinlines", "addresstosymbol", "demangle"}

var deniedPrefixes = []string{"dictget", "dicthas", "dictisin", "joinget", "regionto", "regionin", "regionhierarchy", "ai"}

// openSystem are the tables of the engine that everybody may read.
var openSystem = []string{"one", "numbers", "numbers_mt", "zeros", "zeros_mt", "tables", "columns", "databases", "functions",
	"data_type_families", "formats", "settings", "time_zones", "build_options", "contributors"}

// hidden are tables of the studio's database that an analyst does not read: notes and words in them may tell who
// a pseudonym is, and which pseudonyms of two studios are one player.
var hidden = []string{"visit_events", "erasures", "fleet_joins"}

// readers are the kinds of statements that read, as the tree's first line names them.
var readers = []string{"SelectWithUnionQuery", "SelectIntersectExceptQuery", "DescribeQuery", "ShowTables", "ShowColumns",
	"ShowCreateTableQuery", "ExistsTableQuery", "Explain"}

// ours are the tables in which the pages keep what the fleet answered.
const ours = "`?(?:answers|profiles|fleet_[a-z_]+)`?"

var (
	pagesRows   = regexp.MustCompile("(?is)^\\s*INSERT INTO " + ours + "\\s*\\([a-z0-9_`, \n]*\\)\\s*$")
	pagesSelect = regexp.MustCompile("(?is)^INSERT INTO " + ours + "\\s")
	pagesDrop   = regexp.MustCompile("(?is)^ALTER TABLE " + ours + "\\s+\\(?DROP PARTITION '?[0-9]+'?\\)?\\s*$")
	pagesDelete = regexp.MustCompile("(?is)^DELETE FROM " + ours + "\\s+WHERE ")
)

func newJudge(p *Pool) (*judge, error) {
	s, err := p.open()
	if err != nil {
		return nil, err
	}
	j := &judge{session: s, database: p.database, denied: map[string]bool{}}
	// A statement is judged inside of another one, quoted.
	if _, err := s.Query("SET max_query_size = 16777216, readonly = 1", "Null"); err != nil {
		s.Close()
		return nil, fmt.Errorf("session for judging: %w", err)
	}
	out, err := s.Query("SELECT name FROM system.table_functions", "TabSeparated")
	if err != nil {
		s.Close()
		return nil, fmt.Errorf("list the engine's table functions: %w", err)
	}
	for _, name := range strings.Fields(string(out)) {
		if name = strings.ToLower(name); !slices.Contains(safeSources, name) {
			j.denied[name] = true
		}
	}
	if len(j.denied) == 0 {
		s.Close()
		return nil, fmt.Errorf("the engine names no table functions: nobody but the pipeline could be judged")
	}
	return j, nil
}

func (j *judge) close() {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.session != nil {
		j.session.Close()
		j.session = nil
	}
}

var errReadonly = errors.New("Code: 164. DB::Exception: Cannot execute query in readonly mode: by GET only what reads is taken; send it " +
	"by POST. (READONLY)")

func forbidden(format string, args ...any) error {
	return fmt.Errorf("Code: 497. DB::Exception: Not enough privileges: "+format+" (ACCESS_DENIED)", args...)
}

// reach is how far a user's statements go.
type reach struct {
	everywhere bool // all databases and the engine's own tables
	answers    bool // writes what the fleet answered
}

// read judges a statement without rows and returns the text to run.
func (j *judge) read(sql string, params []chdb.Param, to reach) (string, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.session == nil {
		return "", errClosing
	}
	out, err := j.session.Query("SELECT formatQuery("+literal(sql)+")", "RawBLOB")
	if err != nil {
		return "", err
	}
	text := string(out)
	st, err := Parse(text)
	if err != nil {
		return "", err
	}
	if st.Rows {
		return "", forbidden("an INSERT with rows is not for this user.")
	}
	tree, err := j.session.Query("EXPLAIN AST "+text, "TSVRaw", params...)
	if err != nil {
		return "", err
	}
	databases, err := j.session.Query("SELECT name FROM system.databases", "TabSeparated")
	if err != nil {
		return "", err
	}
	lines := strings.Split(strings.TrimRight(string(tree), "\n"), "\n")
	root, _, _ := strings.Cut(strings.TrimSpace(lines[0]), " ")
	if !slices.Contains(readers, root) && !(to.answers && j.writesAnswers(root, text)) {
		if to.everywhere {
			return "", errReadonly
		}
		return "", forbidden("only statements that read are for this user, not %s.", firstWords(text))
	}
	if err := applied(text, j.refuses); err != nil {
		return "", err
	}
	for _, line := range lines {
		if err := j.node(strings.TrimSpace(line), strings.Fields(string(databases)), to); err != nil {
			return "", err
		}
	}
	return text, nil
}

func (j *judge) writesAnswers(root, text string) bool {
	switch root {
	case "InsertQuery":
		return pagesSelect.MatchString(text)
	case "AlterQuery":
		return pagesDrop.MatchString(text)
	case "DeleteQuery":
		return pagesDelete.MatchString(text)
	}
	return false
}

// rows judges an INSERT whose rows follow.
func (j *judge) rows(sql string, to reach) error {
	if to.answers && pagesRows.MatchString(sql) {
		return nil
	}
	return forbidden("an INSERT with rows is not for this user.")
}

// node judges a line of the tree.
func (j *judge) node(line string, databases []string, to reach) error {
	kind, rest, _ := strings.Cut(line, " ")
	name, _, _ := strings.Cut(rest, " (")
	switch kind {
	case "Function":
		if j.refuses(name) {
			return forbidden("%s() reaches out of the database.", name)
		}
	case "TableIdentifier", "Identifier":
		if to.everywhere {
			return nil
		}
		if slices.Contains(hidden, strings.TrimPrefix(name, j.database+".")) && !to.answers {
			return forbidden("%s may tell who a pseudonym is: it is not for this user.", name)
		}
		db, table, dotted := strings.Cut(name, ".")
		if !dotted || db == j.database {
			return nil
		}
		if db == "system" && slices.Contains(openSystem, table) {
			return nil
		}
		if kind == "TableIdentifier" || slices.Contains(databases, db) {
			return forbidden("table %s is not for this user: tables of %s are, and %s of system.", name, j.database,
				strings.Join(openSystem[6:10], ", "))
		}
	}
	return nil
}

// refuses says whether a function is closed to all but the pipeline.
func (j *judge) refuses(name string) bool {
	name = strings.ToLower(strings.Trim(name, "`\""))
	if j.denied[name] || slices.Contains(deniedFunctions, name) {
		return true
	}
	return slices.ContainsFunc(deniedPrefixes, func(p string) bool { return strings.HasPrefix(name, p) })
}

// applied looks for functions that columns are put through: the tree does not name those.
func applied(text string, refuses func(string) bool) error {
	s := scanner{text: text}
	for {
		t, ok := s.next()
		if !ok {
			return nil
		}
		if !t.is("apply") {
			continue
		}
		next, ok := s.next()
		if ok && next.kind == open {
			next, _ = s.next()
		}
		if refuses(next.text) {
			return forbidden("%s() reaches out of the database.", next.text)
		}
	}
}

func firstWords(text string) string {
	words := strings.Fields(text)
	return strings.Join(words[:min(2, len(words))], " ")
}
