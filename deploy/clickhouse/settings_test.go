package clickhouse_test

import (
	"context"
	"encoding/xml"
	"os"
	"strings"
	"testing"

	"go.uber.org/goleak"

	"fairlead/deploy/engine/enginetest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(enginetest.Wrap(m)) }

// element is any XML.
type element struct {
	XMLName  xml.Name
	Text     string    `xml:",chardata"`
	Children []element `xml:",any"`
}

func (e element) at(t *testing.T, path ...string) element {
	t.Helper()
	for _, name := range path {
		found := false
		for _, c := range e.Children {
			if c.XMLName.Local == name {
				e, found = c, true
				break
			}
		}
		if !found {
			t.Fatalf("no <%s> in <%s>", name, e.XMLName.Local)
		}
	}
	return e
}

func read(t *testing.T, file string) element {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var e element
	if err := xml.Unmarshal(b, &e); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return e
}

func TestTheEngineKnowsEverySetting(t *testing.T) {
	conn := enginetest.New(t).Open(t)
	for _, c := range []struct {
		settings element
		table    string
	}{
		{read(t, "config.d/fairlead.xml").at(t, "merge_tree"), "system.merge_tree_settings"},
		{read(t, "users.d/fairlead.xml").at(t, "profiles", "fairlead"), "system.settings"},
	} {
		if len(c.settings.Children) == 0 {
			t.Errorf("<%s> is empty", c.settings.XMLName.Local)
		}
		for _, s := range c.settings.Children {
			var n uint64
			err := conn.QueryRow(context.Background(), "SELECT count() FROM "+c.table+" WHERE name = ?", s.XMLName.Local).Scan(&n)
			if err != nil || n != 1 {
				t.Errorf("%s does not know %s (%v)", c.table, s.XMLName.Local, err)
			}
		}
	}
}

// Grants are executed nowhere here, so at least their grammar is checked.
func TestTheEngineParsesTheGrants(t *testing.T) {
	conn := enginetest.New(t).Open(t)
	grants := read(t, "users.d/fairlead.xml").at(t, "users", "fairlead", "grants")
	for _, g := range grants.Children {
		var formatted string
		if err := conn.QueryRow(context.Background(), "SELECT formatQuery(?)", g.Text+" TO fairlead").Scan(&formatted); err != nil {
			t.Errorf("%s: %v", g.Text, err)
		}
	}
	users, err := os.ReadFile("users.sql")
	if err != nil {
		t.Fatal(err)
	}
	statements := strings.Split(strings.TrimSpace(string(users)), ";\n")
	if len(statements) < 20 {
		t.Errorf("users.sql has %d statements", len(statements))
	}
	for _, statement := range statements {
		var formatted string
		if err := conn.QueryRow(context.Background(), "SELECT formatQuery(?)", strings.TrimSuffix(statement, ";")).Scan(&formatted); err != nil {
			t.Errorf("users.sql: %s: %v", statement, err)
		}
	}
}
