package people

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestNamesOutliveTheStore(t *testing.T) {
	file := filepath.Join(t.TempDir(), "deeper", "people.json")
	s, err := Open(file)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Put(Person{Role: Player, Name: " Ada Quill ", Hand: "left"})
	if err != nil || p.Name != "Ada Quill" || !strings.HasPrefix(p.ID, "p-") {
		t.Fatalf("%+v %v", p, err)
	}
	f, err := s.Put(Person{Role: Fitter, Name: "Bo"})
	if err != nil || !strings.HasPrefix(f.ID, "f-") {
		t.Fatalf("%+v %v", f, err)
	}
	p.Note = "asks for a draw"
	if _, err := s.Put(p); err != nil {
		t.Fatal(err)
	}
	again, err := Open(file)
	if err != nil {
		t.Fatal(err)
	}
	if got, ok := again.Get(p.ID); !ok || got != p {
		t.Errorf("read back %+v", got)
	}
	if len(again.List(Player)) != 1 || len(again.List("")) != 2 || again.Name(f.ID) != "Bo" || again.Name("p-none") != "p-none" {
		t.Errorf("list %+v", again.List(""))
	}
	if err := again.Erase(p.ID); err != nil {
		t.Fatal(err)
	}
	if text, _ := os.ReadFile(file); strings.Contains(string(text), "Quill") {
		t.Error("the name is still in the file")
	}
	if err := again.Erase(p.ID); !errors.Is(err, ErrUnknown) {
		t.Errorf("erased twice: %v", err)
	}
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v %v", info, err)
	}
}

func TestRefusals(t *testing.T) {
	file := filepath.Join(t.TempDir(), "people.json")
	s, err := Open(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []Person{{Role: Player}, {Role: "cat", Name: "x"}, {Role: Player, Name: "x", Hand: "both"},
		{Role: Player, Name: "x\x00"}, {Role: Player, Name: "x", ID: "no id"}} {
		if _, err := s.Put(p); err == nil {
			t.Errorf("%+v was taken", p)
		}
	}
	if len(s.List("")) != 0 {
		t.Error("something was kept")
	}
	if err := os.WriteFile(file, []byte("{broken"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(file); err == nil || !strings.Contains(err.Error(), file) {
		t.Errorf("broken file: %v", err)
	}
}
