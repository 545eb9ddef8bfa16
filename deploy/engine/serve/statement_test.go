package serve

import (
	"strings"
	"testing"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	type want struct {
		sql    string
		rows   bool
		format string
		rest   string
	}
	for name, c := range map[string]struct {
		text string
		want want
	}{
		"format in the URL":     {"INSERT INTO t (a, b) FORMAT Native", want{"INSERT INTO t (a, b) ", true, "Native", ""}},
		"rows on the next line": {"insert into t format CSV\n1,2\n", want{"insert into t ", true, "CSV", "1,2\n"}},
		"rows on the same line": {"INSERT INTO t FORMAT JSONEachRow {\"a\":1}", want{"INSERT INTO t ", true, "JSONEachRow", "{\"a\":1}"}},
		"carriage return":       {"INSERT INTO t FORMAT CSV\r\n1", want{"INSERT INTO t ", true, "CSV", "1"}},
		"only one end of line":  {"INSERT INTO t FORMAT TSV\n\n1", want{"INSERT INTO t ", true, "TSV", "\n1"}},
		"values":                {"INSERT INTO t VALUES (1, 'FORMAT x')", want{"INSERT INTO t ", true, "Values", " (1, 'FORMAT x')"}},
		"table called values":   {"INSERT INTO values VALUES (1)", want{"INSERT INTO values ", true, "Values", " (1)"}},
		"database and table":    {"INSERT INTO format.`select` VALUES (1)", want{"INSERT INTO format.`select` ", true, "Values", " (1)"}},
		"keyword TABLE":         {"INSERT INTO TABLE d.t FORMAT CSV\n1", want{"INSERT INTO TABLE d.t ", true, "CSV", "1"}},
		"table function": {"INSERT INTO FUNCTION null('a Int8') VALUES (1)",
			want{"INSERT INTO FUNCTION null('a Int8') ", true, "Values", " (1)"}},
		"settings": {"INSERT INTO t SETTINGS async_insert = 1 FORMAT CSV\n1",
			want{"INSERT INTO t SETTINGS async_insert = 1 ", true, "CSV", "1"}},
		"column called format": {"INSERT INTO t (format, values) VALUES (1, 2)",
			want{"INSERT INTO t (format, values) ", true, "Values", " (1, 2)"}},
		"comments": {"/* FORMAT x */ INSERT -- VALUES\nINTO t FORMAT CSV\n1",
			want{"/* FORMAT x */ INSERT -- VALUES\nINTO t ", true, "CSV", "1"}},
		"from a query":             {"INSERT INTO t SELECT 1 FORMAT CSV", want{"INSERT INTO t SELECT 1 FORMAT CSV", false, "CSV", ""}},
		"from a query in brackets": {"INSERT INTO t (SELECT 1)", want{"INSERT INTO t (SELECT 1)", false, "", ""}},
		"select":                   {"SELECT 1", want{"SELECT 1", false, "", ""}},
		"output format":            {"SELECT 'a' FORMAT CSVWithNames;", want{"SELECT 'a' FORMAT CSVWithNames;", false, "CSVWithNames", ""}},
		"format, then settings": {"SELECT 1 FORMAT JSON SETTINGS max_threads = 1",
			want{"SELECT 1 FORMAT JSON SETTINGS max_threads = 1", false, "JSON", ""}},
		"format as a function": {"SELECT format('{} FORMAT JSON', 'x')", want{"SELECT format('{} FORMAT JSON', 'x')", false, "", ""}},
		"format as a column":   {"SELECT format FROM t", want{"SELECT format FROM t", false, "", ""}},
		"heredoc":              {"SELECT $x$ FORMAT JSON $x$", want{"SELECT $x$ FORMAT JSON $x$", false, "", ""}},
		"quoted quote":         {`SELECT 'it''s FORMAT JSON', 'a\' FORMAT CSV'`, want{`SELECT 'it''s FORMAT JSON', 'a\' FORMAT CSV'`, false, "", ""}},
	} {
		t.Run(name, func(t *testing.T) {
			st, err := Parse(c.text)
			if err != nil {
				t.Fatal(err)
			}
			got := want{st.SQL, st.Rows, st.Format, ""}
			if st.Rows {
				got.rest = c.text[st.Offset:]
			}
			if got != c.want {
				t.Errorf("Parse(%q)\n got %+v\nwant %+v", c.text, got, c.want)
			}
		})
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{"", "Empty query"},
		{" -- nothing\n", "Empty query"},
		{"SELECT 1 INTO OUTFILE '/etc/passwd'", "OUTFILE"},
		{"INSERT INTO t FROM INFILE 'x' FORMAT CSV", "INFILE"},
		{"INSERT INTO t", "without rows"},
		{"INSERT INTO t (a, b)", "without rows"},
	} {
		if _, err := Parse(c.text); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("Parse(%q): %v, should say %q", c.text, err, c.says)
		}
	}
}

// Whatever stands in the rows, it is never read as SQL.
func TestRowsAreNotReadAsSQL(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOf(rapid.Byte()).Draw(t, "rows")
		head := "INSERT INTO t (a) FORMAT Native\n"
		st, err := Parse(head + string(rows))
		if err != nil || !st.Rows || st.Format != "Native" || st.Offset != len(head) {
			t.Fatalf("%+v, %v", st, err)
		}
	})
}

func FuzzParse(f *testing.F) {
	f.Add("INSERT INTO t VALUES ('\\")
	f.Add("SELECT $a$ /* ` FORMAT")
	f.Add("((((")
	f.Fuzz(func(t *testing.T, text string) {
		st, err := Parse(text)
		if err == nil && (st.Offset > len(text) || len(st.SQL) > len(text)) {
			t.Fatalf("beyond the text: %+v", st)
		}
	})
}
