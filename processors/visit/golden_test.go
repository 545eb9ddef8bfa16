package visit

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
)

// golden compares with what is kept in testdata. FAIRLEAD_GOLDEN=write records it
// anew: read the difference.
func golden(t *testing.T, name, out string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if os.Getenv("FAIRLEAD_GOLDEN") == "write" {
		if err := os.WriteFile(file, []byte(out), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	kept, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	was, is := strings.Split(string(kept), "\n"), strings.Split(out, "\n")
	for i := range max(len(was), len(is)) {
		if i >= len(was) || i >= len(is) || was[i] != is[i] {
			t.Fatalf("line %d of %s is otherwise: %q", i+1, file, is[min(i, len(is)-1)])
		}
	}
}

// plain writes a value with all that it leads to, one line a leaf list: messages as
// JSON, sessions and trials that were shown before by their id.
func plain(v any) string {
	var out strings.Builder
	plainValue(&out, reflect.ValueOf(v), map[any]bool{}, 0)
	return out.String()
}

func plainValue(out *strings.Builder, v reflect.Value, seen map[any]bool, depth int) {
	if !v.IsValid() {
		out.WriteString("nil")
		return
	}
	if v.CanInterface() {
		switch m := v.Interface().(type) {
		case proto.Message:
			if v.Kind() == reflect.Pointer && v.IsNil() {
				out.WriteString("nil")
				return
			}
			out.WriteString(compact(m))
			return
		case *Session:
			if m == nil || seen[m] || depth > 3 {
				fmt.Fprintf(out, "session %s", nameOf(m))
				return
			}
		case *Trial:
			if m != nil && seen[m] {
				fmt.Fprintf(out, "trial %s", m.ID)
				return
			}
		}
	}
	line := "\n" + strings.Repeat("  ", depth)
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			out.WriteString("nil")
			return
		}
		if v.CanInterface() {
			seen[v.Interface()] = true
		}
		plainValue(out, v.Elem(), seen, depth)
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); (f.IsExported() || f.Anonymous) && !v.Field(i).IsZero() {
				fmt.Fprintf(out, "%s%s: ", line, f.Name)
				plainValue(out, v.Field(i), seen, depth+1)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			fmt.Fprintf(out, "%s- ", line)
			plainValue(out, v.Index(i), seen, depth+1)
		}
	case reflect.Map:
		keys := v.MapKeys()
		slices.SortFunc(keys, func(a, b reflect.Value) int { return strings.Compare(fmt.Sprint(a), fmt.Sprint(b)) })
		for _, k := range keys {
			fmt.Fprintf(out, "%s%v: ", line, k)
			plainValue(out, v.MapIndex(k), seen, depth+1)
		}
	default:
		fmt.Fprint(out, v)
	}
}

func nameOf(s *Session) string {
	if s == nil {
		return "none"
	}
	return s.ID
}

// compact is a message as JSON; the library varies its spaces on purpose.
func compact(m proto.Message) string {
	text, err := protojson.Marshal(m)
	var v any
	if err == nil {
		err = json.Unmarshal(text, &v)
	}
	if err != nil {
		return err.Error()
	}
	text, _ = json.Marshal(v)
	return string(text)
}
