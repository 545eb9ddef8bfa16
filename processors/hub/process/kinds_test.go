package process

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"fairlead/deploy/proof"
)

// kinds counts what of the table of damages was seen to be found, and made right.
var kinds struct {
	sync.Mutex
	found, healed map[int]bool
}

// found notes that a kind of damage was found; its number is that of the table in
// processors/ask/audit/DESIGN.md. healed notes that it was made right.
func found(t *testing.T, kind int) { noteKind(t, kind, &kinds.found) }

func healed(t *testing.T, kind int) { noteKind(t, kind, &kinds.healed) }

func noteKind(t *testing.T, kind int, in *map[int]bool) {
	t.Helper()
	if t.Failed() {
		return
	}
	kinds.Lock()
	defer kinds.Unlock()
	if *in == nil {
		*in = map[int]bool{}
	}
	(*in)[kind] = true
	proof.RecordRow(t, "damages", fmt.Sprintf("%02d", kind), map[string]any{"damage": damageTable(t)[kind].name,
		"found": kinds.found[kind], "healed": kinds.healed[kind]})
}

// listed is a row of the table.
type listed struct{ name, right string }

func damageTable(t *testing.T) map[int]listed {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "ask", "audit", "DESIGN.md"))
	if err != nil {
		t.Fatal(err)
	}
	out := map[int]listed{}
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(line, "|")
		if len(cells) != 6 {
			continue
		}
		if n, err := strconv.Atoi(strings.TrimSpace(cells[1])); err == nil {
			out[n] = listed{strings.TrimSpace(cells[2]), strings.TrimSpace(cells[4])}
		}
	}
	return out
}

// Each kind of damage of the table is done to a studio by a test, which counts it as
// found, and as made right unless only a person can.
func TestEveryKindOfDamageIsCounted(t *testing.T) {
	files, err := filepath.Glob("*_test.go")
	if err != nil {
		t.Fatal(err)
	}
	call := regexp.MustCompile(`\b(found|healed)\(t, (\d+)\)|\{kind: (\d+),`)
	seen := map[string]map[int]bool{"found": {}, "healed": {}}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range call.FindAllStringSubmatch(string(text), -1) {
			n, _ := strconv.Atoi(m[2] + m[3])
			if m[1] != "" {
				seen[m[1]][n] = true
				continue
			}
			seen["found"][n], seen["healed"][n] = true, true // byHand, counted in a loop
		}
	}
	table := damageTable(t)
	if len(table) != 22 {
		t.Errorf("the table has %d kinds", len(table))
	}
	for n, row := range table {
		if !seen["found"][n] {
			t.Errorf("no test finds %d, %s", n, row.name)
		}
		if !seen["healed"][n] && !strings.Contains(row.right, "a person has to") {
			t.Errorf("no test sees %d, %s, made right", n, row.name)
		}
	}
}
