package feed

import (
	"encoding/json"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

// TestReference keeps the page true: made of the tables, and every recipe reads
// its own lines as it says.
func TestReference(t *testing.T) {
	recipes := Recipes()
	if len(recipes) < 20 {
		t.Errorf("%d recipes", len(recipes))
	}
	for _, r := range recipes {
		if m, err := ParseMap(r.Title, []byte(r.Map)); err != nil {
			t.Error(err)
		} else if len(m.expected) == 0 {
			t.Errorf("%s: expects nothing", r.Title)
		}
	}
	golden(t, filepath.Join(exampleDir, "REFERENCE.md"), []byte(Reference()))
}

// TestSchemaKnowsEveryKey: what the recipes and examples say is in the schema,
// as are all fields, and a key that a map refuses is not.
func TestSchemaKnowsEveryKey(t *testing.T) {
	text, err := json.Marshal(Schema())
	if err != nil {
		t.Fatal(err)
	}
	var schema struct {
		Properties map[string]struct {
			Properties map[string]any `json:"properties"`
		} `json:"properties"`
	}
	if err := json.Unmarshal(text, &schema); err != nil {
		t.Fatal(err)
	}
	for _, info := range event.Fields() {
		if schema.Properties["fields"].Properties[info.Name] == nil {
			t.Errorf("%s is not in the schema", info.Name)
		}
	}
	for _, key := range allowed("") {
		if !strings.Contains(string(text), `"`+key+`"`) {
			t.Errorf("%s is not in the schema", key)
		}
	}
	// A section that a kind names is there, and no section is without a way to it.
	used := []string{"", "field", "place", "role"}
	for _, words := range grammar {
		for _, w := range words {
			if _, is := grammar[w.kind]; is {
				used = append(used, w.kind)
			}
		}
	}
	for name := range grammar {
		if !slices.Contains(used, name) {
			t.Errorf("nothing leads to section %q", name)
		}
		if reflect.DeepEqual(section(name)["properties"], map[string]any{}) {
			t.Errorf("section %q is empty", name)
		}
	}
}
